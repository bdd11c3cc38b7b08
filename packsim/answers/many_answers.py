"""The answers about one stage with one can size at many settings, as arrays."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from packsim.answers.stage_pack import stage_pack
from packsim.arrays import Bools, Floats, Ints
from packsim.can import Can, Stance
from packsim.line import Stage
from packsim.pack.state import Pack
from packsim.tipping.gathered_slack import gathered_lean
from packsim.tipping.lean import own_lean
from packsim.tipping.safe_slack import slack_verdict
from packsim.tipping.stops import hold_down, lean_index

_PACKS_AT_ONCE = 200  # so that places beside each other keep their digits


def leans_as_laid_rad(
    packs: Sequence[Pack], stance: Stance, heights_mm: Sequence[float]
) -> tuple[Floats, Floats]:
    """Return the largest own and the largest gathered lean in each of some packs.

    Parameters
    ----------
    packs : sequence of n Pack
        Packs that fit, as laid, all of one length and one size.
    stance : Stance
        The can in this stage.
    heights_mm : sequence of float
        Heights of the guide wires [mm].

    Returns
    -------
    own_rad, gathered_rad : ndarray, shape (n,)
        As of `packsim.answers.tipping.Tipping`, all packs beside each other looked at as one [rad].
    """
    found = []
    for start in range(0, len(packs), _PACKS_AT_ONCE):
        some = packs[start : start + _PACKS_AT_ONCE]
        widths = np.array([pack.clear_width_mm for pack in some])
        apart = 2.0 * widths.max() + stance.height_mm + 2.0 * stance.diameter_mm
        left, cans = apart * np.arange(len(some)), [len(pack) for pack in some]
        aside = np.column_stack((np.zeros(len(some)), left))
        centres = [pack.centres_mm + shift for pack, shift in zip(some, aside, strict=True)]
        between: dict[str, Any] = {
            "left_mm": np.repeat(left, cans),
            "right_mm": np.repeat(left + widths, cans),
            "wire_heights_mm": heights_mm,
            "period_mm": some[0].length_mm,
        }
        place = np.concatenate(centres), stance
        leans = own_lean(*place, **between).worst_rad, gathered_lean(*place, **between).worst_rad
        starts = np.cumsum([0, *cans[:-1]])
        found.append([np.maximum.reduceat(lean, starts) for lean in leans])
    own, gathered = np.concatenate(found, axis=1)
    return own, gathered


@dataclass(frozen=True)  # no slots: what takes longer is kept beside the fields once asked
class ManyAnswers:
    """One stage with one can size at many settings, arrays of one shape.

    Each array holds what `packsim.answers.stage_pack` says of every setting.

    Parameters
    ----------
    stage : Stage
        The stage as it stands in the scenario.
    can : Can
        The size.
    clear_width_mm, fill : ndarray
        Clear width at the narrowest bracket, and share of the perfect pack delivered [mm], [-].
    wires_mm : ndarray, shape (wires, ...)
        Heights of the wires where they hang lowest; NaN for one sagged onto the mat [mm].
    hold_down_mm : ndarray
        Height of the hold-down mat's underside; NaN where there is none [mm].
    lanes : ndarray of int64
        Lanes it is judged by; 0 where not one can fits.
    slack_mm, least_slack_mm, loosest_slack_mm : ndarray
        Slack as set, and that of the tightest and the loosest case; below 0 where it jams [mm].
    balance_rad, weakest_rad : ndarray
        Least angle from which a can falls back, towards a guide and in any direction; 0 where the
        sprays alone lift or overturn it [rad].
    safe_slack_mm, allowed_slack_mm : ndarray
        Slack that cannot let a can past that angle to a guide, and that over the factor [mm].
    window_low_mm, window_high_mm : ndarray
        Ends of the guide window for those lanes; NaN where no width suits [mm].
    window_missing_mm : ndarray
        By how much there is none; 0 where there is one [mm].
    index_edge, index_centre : ndarray
        Tip index of the loosest case at the guide and inside; NaN where not one can fits, infinite
        where nothing stops a can [-].
    """

    stage: Stage
    can: Can
    clear_width_mm: Floats
    fill: Floats
    wires_mm: Floats
    hold_down_mm: Floats
    lanes: Ints
    slack_mm: Floats
    least_slack_mm: Floats
    loosest_slack_mm: Floats
    balance_rad: Floats
    weakest_rad: Floats
    safe_slack_mm: Floats
    allowed_slack_mm: Floats
    window_low_mm: Floats
    window_high_mm: Floats
    window_missing_mm: Floats
    index_edge: Floats
    index_centre: Floats

    @property
    def tip_index(self) -> Floats:
        """The larger of both indices [-]."""
        return np.maximum(self.index_edge, self.index_centre)

    @cached_property
    def index_as_laid(self) -> Floats:
        """Tip index of the pack as laid: slack gathered, or one can alone, the larger [-].

        NaN where not one can fits. Cans are looked at one by one: a millisecond a setting, less
        where settings differ in clear width alone.
        """
        return self._as_laid(self.lanes > 0)

    @cached_property
    def verdict(self) -> NDArray[np.str_]:
        """``tight``, ``held``, ``loose`` or ``can tip``, as of an answer.

        The pack as laid is looked at where the loosest case alone does not decide.
        """
        words = slack_verdict(self.loosest_slack_mm, self.allowed_slack_mm, self.tip_index)
        words = np.where(self.lanes > 0, words, "tight")
        open_yet = (words == "held") | (words == "loose")
        kept = "index_as_laid" in self.__dict__
        index = self.index_as_laid if kept else self._as_laid(open_yet)
        words = np.where(open_yet & (index >= 1.0), "can tip", words)
        under = (words == "can tip") & ~np.isnan(self.hold_down_mm)
        pairs = np.column_stack((self.hold_down_mm[under], self.weakest_rad[under]))
        each, back = np.unique(pairs, axis=0, return_inverse=True)
        blocks = [hold_down(self.can.stance(), mat, weakest).blocks for mat, weakest in each]
        words[under] = np.where(np.array(blocks, dtype=bool)[back.ravel()], "loose", "can tip")
        return words

    def _as_laid(self, where: Bools) -> Floats:
        """Index of the pack as laid at some settings, NaN at the others."""
        laid = np.stack((self.clear_width_mm, self.fill, *np.nan_to_num(self.wires_mm)))[:, where]
        each, back = np.unique(laid, axis=1, return_inverse=True)
        groups: dict[tuple[float, ...], list[tuple[int, Pack]]] = {}
        for k, (width, fill, *wires) in enumerate(each.T.tolist()):
            pack = stage_pack(replace(self.stage, fill=fill), self.can, width).once()
            groups.setdefault((pack.length_mm, *(z for z in wires if z)), []).append((k, pack))
        leans = np.empty((2, each.shape[1]))
        for (_, *heights), some in groups.items():
            places, packs = zip(*some, strict=True)
            leans[:, places] = leans_as_laid_rad(packs, self.can.stance(), heights)
        own, gathered = leans[:, back.ravel()]
        index = np.full(self.lanes.shape, math.nan)
        alone = lean_index(own, self.weakest_rad[where])
        index[where] = np.maximum(alone, lean_index(gathered, self.balance_rad[where]))
        return index
