"""Largest moments of a stage's sprays near its inputs as they are: worked out once, then bent.

Where thousands of answers differ in every input of a stage, its sprays are looked at closely for a
few values of each input alone, and bent between them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from operator import attrgetter
from typing import Final

import numpy as np

from packsim.answers.stage_arrays import StageArrays
from packsim.answers.stage_pack import alike_mm
from packsim.arrays import Floats
from packsim.can import Stance
from packsim.line import Header
from packsim.line.input_range import InputRange
from packsim.line.knob import with_field
from packsim.pack.lattice import lane_places_mm
from packsim.spray.spray_load import stretches_under
from packsim.spray.worst_moments import stretch_moments

PUSHES: Final = {
    "pressure_MPa": 1.0,
    "nozzle.flow_mm3_per_s": 1.0,
    "nozzle.reference_MPa": -0.5,
    "nozzle.velocity_coefficient": 1.0,
    "liquid_kg_per_mm3": 0.5,
    "splash_factor": 1.0,
}
"""Fields of a header its push grows with, and the powers; see `packsim.spray.jets`."""

PLACED: Final = (
    "station_mm",
    "mat_distance_mm",
    "first_mm",
    "pitch_mm",
    "nozzle.angle_rad",
    "nozzle.thin_angle_rad",
    "nozzle.twist_rad",
    "nozzle.hollow_share",
)
"""Fields of a header that say where its spray goes."""

_NODE: Final = 0.85  # of the way to the end of a range: a parabola errs least over it then
_HARDER: Final = 0.1  # share by which one header is pushed harder and less hard, to see its part


@dataclass(frozen=True, slots=True)
class _Moved:
    """How far some inputs together are off what they are: those of one list less the others.

    With a ``side``, 1 or -1, only what they are off to that side: nothing to the other.
    """

    plus: tuple[str, ...]
    minus: tuple[str, ...] = ()
    side: int = 0

    def of(self, case: StageArrays, known: Mapping[str, InputRange]) -> Floats | None:
        """Return it for every case; None where none of them differs."""
        found: Floats | None = None
        for sign, places in ((1.0, self.plus), (-1.0, self.minus)):
            for place in places:
                if place in case.values:
                    off = sign * (case.values[place] - known[place].value)
                    found = off if found is None else found + off
        if found is None or not self.side:
            return found
        return np.asarray(np.maximum(self.side * found, 0.0) * self.side)

    def ends(self, known: Mapping[str, InputRange]) -> tuple[float, float]:
        """Return how far it may go: several inputs are hardly all at their ends at once."""
        low: list[float] = []
        high: list[float] = []
        for places, down, up in ((self.plus, low, high), (self.minus, high, low)):
            for one in (known[place] for place in places if place in known):
                down.append(one.value - one.low)
                up.append(one.high - one.value)
        return (
            0.0 if self.side > 0 else -math.hypot(*low),
            0.0 if self.side < 0 else math.hypot(*high),
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Bend:
    """How the moments under one stretch of headers change with one thing, a parabola in it."""

    moved: _Moved
    slope: Floats
    curve: Floats
    header: int | None


@dataclass(frozen=True, slots=True, eq=False)
class _Stretch:
    """One stretch: its headers, the part of each in its moments, and what bends these."""

    headers: tuple[int, ...]
    parts: Floats
    bends: list[_Bend]

    def moments(
        self, case: StageArrays, pushes: Mapping[int, Floats], known: Mapping[str, InputRange]
    ) -> Floats:
        """Return the moments of every case, shape (n, d, k) [N·mm]."""
        weight = np.abs(self.parts).sum(axis=(1, 2))
        weight = weight / max(weight.sum(), 1e-300)
        harder = np.array([pushes[h] for h in self.headers])
        shares, kinds = list(harder), list(self.parts)
        for bend in self.bends:
            moved = bend.moved.of(case, known)
            if moved is not None:
                share = weight @ harder if bend.header is None else pushes[bend.header]
                shares += [share * moved, share * moved**2]
                kinds += [bend.slope, bend.curve]
        return np.tensordot(np.stack(shares), np.stack(kinds), (0, 0))


class NearMoments:
    """Largest moments of the sprays on a size in some lanes, for values near those there are.

    Parameters
    ----------
    case : StageArrays
        The stage and the size as they are, of one case.
    headers : mapping of int to Header
        Headers of the stage that the cans pass, by their place in the stage.
    lanes : int
        Lanes the cans stand in, 1 or more.
    ranges : sequence of InputRange
        What may change.
    widest : Stance
        The heaviest can with the largest balance angle there may be.
    leans_rad : ndarray, shape (k,)
        Leans to work at, up to that angle [rad].
    like : NearMoments, optional
        The same in other lanes, which inputs bend alike.

    Notes
    -----
    A moment is the largest over places of a sum over headers, each in proportion to its push. The
    parts of the headers at the worst place are kept, so a change of all pushes is exact and one of
    single ones is right to first order; where a spray goes, and the can's body, bend it along a
    parabola through a value each side. Of headers that spray together only how they stand to each
    other counts, and to the lanes. What two such changes do together is left out. Against answers
    worked out in full, see tests/answers/test_answer_inputs.py.
    """

    def __init__(
        self,
        case: StageArrays,
        headers: Mapping[int, Header],
        lanes: int,
        *,
        ranges: Sequence[InputRange],
        widest: Stance,
        leans_rad: Floats,
        like: NearMoments | None = None,
    ) -> None:
        self.case, self.headers, self.lanes = case, headers, lanes
        self.widest, self.leans_rad = widest, leans_rad
        self.known = {place: one for one in ranges for place in one.places}
        self.stretches = [self._stretch(members) for members in self._members()]
        for k, stretch in enumerate(self.stretches):
            if like is None:
                self._bend(stretch)
            else:
                stretch.bends.extend(like.stretches[k].bends)

    def _members(self) -> list[tuple[int, ...]]:
        """Headers of each stretch."""
        most, found = float(self.leans_rad[-1]), []
        for under in stretches_under(tuple(self.headers.values()), self._body, most):
            start, stop = under.start_mm, under.stop_mm
            inside = (k for k, h in self.headers.items() if start <= h.station_mm <= stop)
            found.append(tuple(inside))
        return found

    @property
    def _body(self) -> Stance:
        return Stance(*(float(one[0]) for one in self.case.dry))

    def _largest(self, headers: Sequence[Header], body: Stance) -> Floats:
        """Largest moments of some headers on a body, shape (d, k) [N·mm]."""
        stage = self.case.stage
        middle = stage.guides.centre_mm
        lines = alike_mm(lane_places_mm(self.lanes, body.diameter_mm, stage.layout, middle))
        share = self.case.scenario.mat.open_fraction
        found = stretch_moments(lines, (body, self.widest), headers, share, self.leans_rad)
        return np.asarray(np.max([moments for _, moments in found], axis=0))

    def _stretch(self, members: tuple[int, ...]) -> _Stretch:
        now = [self.headers[k] for k in members]
        whole = self._largest(now, self._body)
        parts = np.zeros((len(members), *whole.shape))
        for at, header in enumerate(now[1:], 1):
            ends = []
            for share in (1.0 + _HARDER, 1.0 - _HARDER):
                pushed = replace(header, pressure_MPa=header.pressure_MPa * share)
                ends.append(self._largest([*now[:at], pushed, *now[at + 1 :]], self._body))
            parts[at] = (ends[0] - ends[1]) / (2.0 * _HARDER)
        parts[0] = whole - parts[1:].sum(axis=0)
        return _Stretch(members, parts, [])

    def _bend(self, stretch: _Stretch) -> None:
        """Take up what each input does that is not a push."""
        own, stage = f"sizes.{self.case.size_index}.", f"stages.{self.case.stage_index}."
        for field in ("diameter_mm", "height_mm"):
            self._take(stretch, None, field, _Moved((own + field,)))
        headers = f"{stage}headers."
        first = f"{headers}{stretch.headers[0]}.station_mm"
        against = {
            "station_mm": (first,),
            "first_mm": (f"{stage}pack_centre_from_left()",),
        }
        for number in stretch.headers:
            for field in PLACED:
                if field == "station_mm" and number == stretch.headers[0]:
                    continue
                place = f"{headers}{number}.{field}"
                # headers that come apart to either side do the same, with an edge where they meet
                for side in (-1, 1) if field == "station_mm" else (0,):
                    moved = _Moved((place,), against.get(field, ()), side)
                    self._take(stretch, number, field, moved)

    def _take(self, stretch: _Stretch, header: int | None, field: str, moved: _Moved) -> None:
        nodes = _nodes(*moved.ends(self.known))
        if not nodes:
            return
        whole, (u, v) = stretch.parts.sum(axis=0), nodes
        a, b = (self._changed(stretch, header, field, more) - whole for more in nodes)
        curve = (a / u - b / v) / (u - v)
        stretch.bends.append(_Bend(moved, a / u - curve * u, curve, header))

    def _changed(self, stretch: _Stretch, header: int | None, field: str, more: float) -> Floats:
        now, body = [self.headers[k] for k in stretch.headers], self._body
        if header is None:
            return self._largest(now, replace(body, **{field: getattr(body, field) + more}))
        at = stretch.headers.index(header)
        now[at] = with_field(now[at], field, attrgetter(field)(now[at]) + more)
        return self._largest(now, body)

    def moments(self, case: StageArrays) -> Floats:
        """Return the largest moments of every case, shape (n, d, k) [N·mm]."""
        pushes = {k: self._pushes(case, k, h) for k, h in self.headers.items()}
        found = [stretch.moments(case, pushes, self.known) for stretch in self.stretches]
        return np.asarray(np.max(found, axis=0))

    def _pushes(self, case: StageArrays, number: int, header: Header) -> Floats:
        """Push of a header over that it has now."""
        found = np.ones(case.count)
        for field, power in PUSHES.items():
            values = case.of_stage(f"headers.{number}.{field}")
            if values is not None:
                found = found * np.power(values / float(attrgetter(field)(header)), power)
        share = case.values.get("mat.open_fraction")
        if share is not None and header.side == "below":
            found = found * share / self.case.scenario.mat.open_fraction
        return found


def _nodes(low: float, high: float) -> tuple[float, ...]:
    """Two changes of an input to look at, none where there can be none."""
    if low < 0.0 < high:
        return _NODE * low, _NODE * high
    far = low or high
    return (far / 2.0, far) if far else ()
