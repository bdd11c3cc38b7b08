"""The answers about one stage with one can size at many settings, as arrays."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Bools, Floats, Ints
from packsim.can import Stance, Stances
from packsim.pack.lattice import LAYOUTS
from packsim.pack.state import STUDY_LENGTH_MM, pack_between
from packsim.tipping.gathered_slack import gathered_lean
from packsim.tipping.lattice_lean import LatticePacks
from packsim.tipping.lean import own_lean
from packsim.tipping.safe_slack import slack_verdict
from packsim.tipping.stops import hold_down_blocks, lean_index


@dataclass(frozen=True)  # no slots: what takes longer is kept beside the fields once asked
class ManyAnswers:
    """One stage with one can size at many settings, arrays of one shape.

    Each array holds what `packsim.answers.stage_pack` says of every setting.

    Parameters
    ----------
    layout : ndarray of str
        How the close-packed lines run.
    diameter_mm, height_mm : ndarray
        Of the can [mm].
    clear_width_mm, fill : ndarray
        Clear width at the narrowest bracket, and how full the lanes are [mm], [-].
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

    layout: NDArray[np.str_]
    diameter_mm: Floats
    height_mm: Floats
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

    @property
    def window_width_mm(self) -> Floats:
        """Width of the guide window, below 0 by what is missing [mm]."""
        wide = self.window_high_mm - self.window_low_mm
        return np.where(self.window_missing_mm > 0.0, -self.window_missing_mm, wide)

    @cached_property
    def index_as_laid(self) -> Floats:
        """Tip index of the pack as laid: slack gathered, or one can alone, the larger [-].

        NaN where not one can fits. Packs of a few lanes, thin packs and very loose ones are looked
        at can by can: a millisecond or two each.
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
        mass = np.ones(self.lanes.shape)  # weighs nothing here
        cans = Stances(self.diameter_mm, self.height_mm, mass, self.height_mm / 2.0)
        blocks = hold_down_blocks(cans, self.hold_down_mm, self.weakest_rad)
        return np.where((words == "can tip") & blocks, "loose", words)

    def _as_laid(self, where: Bools) -> Floats:
        """Index of the pack as laid at some settings, NaN at the others."""
        own, gathered = (np.full(self.lanes.shape, math.nan) for _ in range(2))
        for layout in LAYOUTS:
            here = where & (self.layout == layout)
            packs = LatticePacks(
                layout=layout,
                lanes=self.lanes[here],
                fill=self.fill[here],
                clear_width_mm=self.clear_width_mm[here],
                diameter_mm=self.diameter_mm[here],
                height_mm=self.height_mm[here],
                wires_mm=[wire[here] for wire in self.wires_mm],
            )
            own[here], gathered[here] = packs.own_rad(), packs.gathered_rad()
            odd = np.flatnonzero(here.ravel())[~packs.regular]
            for k in odd.tolist():
                own.flat[k], gathered.flat[k] = self._can_by_can_rad(k)
        alone = lean_index(own, self.weakest_rad)
        both = np.maximum(alone, lean_index(gathered, self.balance_rad))
        return np.where(where, both, math.nan)

    def _can_by_can_rad(self, k: int) -> tuple[float, float]:
        """Largest own and gathered lean of one pack."""
        at = {name: float(getattr(self, name).flat[k]) for name in ("clear_width_mm", "fill")}
        diameter, height = float(self.diameter_mm.flat[k]), float(self.height_mm.flat[k])
        pack = pack_between(
            at["clear_width_mm"],
            diameter,
            str(self.layout.flat[k]),
            STUDY_LENGTH_MM,
            at["fill"],
            state="slack",
            lanes=int(self.lanes.flat[k]),
        ).once()
        wires = [float(wire.flat[k]) for wire in self.wires_mm]
        laid: dict[str, Any] = {
            "left_mm": 0.0,
            "right_mm": pack.clear_width_mm,
            "wire_heights_mm": [z for z in wires if not math.isnan(z)],
            "period_mm": pack.length_mm,
        }
        cans = pack.centres_mm, Stance(diameter, height, 1.0, height / 2.0)
        leans = own_lean(*cans, **laid).worst_rad, gathered_lean(*cans, **laid).worst_rad
        return float(leans[0].max()), float(leans[1].max())
