"""One stage with one can size at many values of all its inputs at once: thousands of answers."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from packsim.answers.answer_settings import joined
from packsim.answers.many_answers import ManyAnswers
from packsim.answers.near_moments import PLACED, PUSHES, NearMoments
from packsim.answers.stage_arrays import OF_STAGE, StageArrays, judged
from packsim.answers.stage_pack import clear_headers
from packsim.answers.worst_can import towards_guides
from packsim.arrays import Floats
from packsim.can import Stance, Stances
from packsim.errors import InputError
from packsim.line import Header, Scenario
from packsim.line.input_range import InputRange, with_value
from packsim.spray.leaning import lean_nodes_rad, tipped_under_load

OF_CAN: Final = (
    "diameter_mm",
    "diameter_tol_mm",
    "height_mm",
    "mass_kg",
    "cg_mm",
    "dome_depth_mm",
    "dome_rim_radius_mm",
    "expansion_per_K",
)
"""Fields of a can that an answer depends on."""

_ALSO: Final = re.compile(
    r"layout|guides\.wires\.heights_mm\.\d+|guides\.brackets\.\d+\.(left|right|station)_mm"
)
_AT_ONCE: Final = 1000  # cases looked at together: arrays of a megabyte
_FEW: Final = 0.02  # share of cases in other lanes for which sprays are not looked at anew


def as_it_is(one: InputRange) -> float:
    """Return the value of an input that leaves an answer as it is.

    NaN for dome water: an answer takes, for each question, the end of its range that is worse.
    """
    water = any(place.endswith(".water_in_dome()") for place in one.places)
    return math.nan if water else one.value


@dataclass(frozen=True)  # no slots: what takes longer is kept beside the fields once asked
class InputAnswers:
    """Answers of one stage and size near its inputs as they are.

    Parameters
    ----------
    scenario : Scenario
        The line; its ranges say which inputs there are, and how far they may be off.
    stage, size : str
        Names of both.
    """

    scenario: Scenario
    stage: str
    size: str

    @cached_property
    def _at(self) -> tuple[int, int]:
        """Where stage and size stand; unknown names are refused."""
        one, other = self.scenario.stage(self.stage), self.scenario.size(self.size)
        return self.scenario.stages.index(one), self.scenario.sizes.index(other)

    @cached_property
    def inputs(self) -> tuple[InputRange, ...]:
        """Inputs the answer depends on that can be other than they are, as the file has them."""
        return tuple(
            one
            for one in self.scenario.ranges
            if not one.exact and any(self._matters(place) for place in one.places)
        )

    def _matters(self, place: str) -> bool:
        i, j = self._at
        headers = self.scenario.stages[i].headers
        if place == "mat.open_fraction":
            return any(h.side == "below" for h in headers)
        if place.startswith(f"sizes.{j}."):
            return place.removeprefix(f"sizes.{j}.") in OF_CAN
        if not place.startswith(f"stages.{i}."):
            return False
        field = place.removeprefix(f"stages.{i}.")
        if field.startswith("headers."):
            number, _, field = field.removeprefix("headers.").partition(".")
            passed = int(number) in self._passed
            return passed and (field in PLACED or field in PUSHES)
        return field in OF_STAGE or _ALSO.fullmatch(field) is not None

    @cached_property
    def _passed(self) -> dict[int, Header]:
        """Headers the cans pass, by their place in the stage."""
        i, j = self._at
        headers = self.scenario.stages[i].headers
        clear = clear_headers(self.scenario.stages[i], self.scenario.sizes[j].height_mm)
        return {k: h for k, h in enumerate(headers) if h in clear}

    def answers(self, values: Mapping[str, Floats]) -> ManyAnswers:
        """Answer many cases.

        Parameters
        ----------
        values : mapping of str to ndarray, shape (n,)
            Values of each input that differs, by its key, in the units inside; of a choice, the
            place of its word.

        Returns
        -------
        ManyAnswers
            Arrays of shape (n,).

        Raises
        ------
        InputError
            If a key is none of ``inputs``, or the arrays are of several lengths.
        """
        known = {one.key: one for one in self.inputs}
        for key in values:
            if key not in known:
                raise InputError(key, "no input of this answer", "one of " + ", ".join(known))
        counts = {len(one) for one in values.values()} or {1}
        if len(counts) > 1:
            raise InputError("values", f"arrays of {sorted(counts)}", "arrays of one length")
        (count,) = counts
        rows = [key for key, one in known.items() if self._is_layout(one) and key in values]
        if not rows:
            return self._of_layout(self.scenario, known, values, count)
        parts = []
        for way in np.unique(values[rows[0]]).tolist():
            here = np.flatnonzero(values[rows[0]] == way)
            case = with_value(self.scenario, rows[0], way)
            some = {key: each[here] for key, each in values.items() if key != rows[0]}
            parts.append((here, self._of_layout(case, known, some, len(here))))
        return joined(parts, (count,))

    def _is_layout(self, one: InputRange) -> bool:
        return f"stages.{self._at[0]}.layout" in one.places

    def _of_layout(
        self,
        scenario: Scenario,
        known: Mapping[str, InputRange],
        values: Mapping[str, Floats],
        count: int,
    ) -> ManyAnswers:
        at: dict[str, Floats] = {}
        for key, each in values.items():
            one = known[key]
            if one.options:
                each = np.array(one.options, dtype=np.float64)[each.astype(np.int64)]
            at |= dict.fromkeys(one.places, each)
        case = StageArrays(scenario, *self._at, count, at)
        balance, weakest = self._balances_rad(case)
        return judged(case, balance, weakest, scenario.factor)

    def _balances_rad(self, case: StageArrays) -> tuple[Floats, Floats]:
        """Least balance angles of every case, towards a guide and in any direction [rad]."""
        across = towards_guides(case.stage.layout)
        own = np.min([can.balance_angle_rad for can in case.wet], axis=0)
        balance, weakest = own.copy(), own.copy()
        if not self._passed:
            return balance, weakest
        each, counts = np.unique(case.lanes[case.lanes > 0], return_counts=True)
        each, counts = (found[np.argsort(-counts)] for found in (each, counts))
        often = each[counts >= _FEW * case.count] if case.count > 1 else each
        for n in each.tolist():
            like = n if n in often or not len(often) else int(often[np.abs(often - n).argmin()])
            near = self._near(case.scenario, like)
            here = np.flatnonzero(case.lanes == n)
            for part in np.array_split(here, math.ceil(len(here) / _AT_ONCE)):
                moments = near.moments(case.only(part))
                found = []
                for can in case.wet:
                    cans = Stances(*(field[part, None] for field in can))
                    found.append(tipped_under_load(moments, near.leans_rad, cans)[0])
                least = np.min(found, axis=0)
                balance[part] = least[:, across].min(axis=1)
                weakest[part] = least.min(axis=1)
        return balance, weakest

    @cached_property
    def _kept(self) -> dict[tuple[str, int], NearMoments]:
        return {}

    def _near(self, scenario: Scenario, lanes: int) -> NearMoments:
        """Moments near those of some lanes, worked out once."""
        key = scenario.stages[self._at[0]].layout, lanes
        if key not in self._kept:
            case = StageArrays(scenario, *self._at, 1, {})
            widest = self._widest(case)
            self._kept[key] = NearMoments(
                case,
                self._passed,
                lanes,
                ranges=self.inputs,
                widest=widest,
                leans_rad=lean_nodes_rad(widest.balance_angle_rad),
                like=next(iter(self._kept.values()), None),
            )
        return self._kept[key]

    def _widest(self, case: StageArrays) -> Stance:
        """Return the heaviest can with the largest balance angle that the ranges allow."""
        top = {
            place: one.low if place.endswith(".cg_mm") else one.high
            for one in self.inputs
            for place in one.places
        }
        far = StageArrays(case.scenario, *self._at, 1, {k: np.array([v]) for k, v in top.items()})
        depth, rim = far.of_can("dome_depth_mm"), far.of_can("dome_rim_radius_mm")
        full = far.dry.with_pool(depth, rim, 1.0)
        low = np.minimum(full.cg_mm, far.dry.cg_mm)
        diameter, height = float(far.dry.diameter_mm[0]), float(far.dry.height_mm[0])
        return Stance(diameter, height, float(full.mass_kg[0]), float(low[0]))
