"""What becomes of doses and tip margin when something about the headers is not as drawn."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from packsim.arrays import Floats
from packsim.headers.arrangement import Arrangement, wander_mm
from packsim.headers.demand import caught_by_distance, looked_up
from packsim.headers.wish import Faults
from packsim.line import SIDES, Header, Scenario
from packsim.spray.dose import PLACE_OF, caught_bands_mm, counted, lane_doses_mL, passed_mL_per_mm
from packsim.spray.jets import footprint_of, passes
from packsim.spray.plugged import margins_plugged
from packsim.spray.spray_load import least_hold_margin


@dataclass(frozen=True, slots=True)
class WorstDose:
    """The lane that gets least of one place.

    Parameters
    ----------
    place : {"inside", "top"}
        Where it lands.
    worst_mL : float
        What it gets [mL per can].
    lane : int
        Which lane, counted from 1 at the left guide.
    change_share : float
        How much more than the worst lane gets as it is [-].
    """

    place: str
    worst_mL: float
    lane: int
    change_share: float


@dataclass(frozen=True, slots=True)
class WhatIf:
    """One thing that is not as drawn, and what it does.

    Parameters
    ----------
    what : str
        ``as it is``, ``plugged``, ``left``, ``right``, ``holes``, ``pressure`` or ``stand-off``.
    doses : tuple of WorstDose
        Inside and on top, as far as there are headers.
    hold_margin : float
        Least hold margin of any lane [-].
    amount : float
        By how much: lengths in mm, pressure as a share; 0 for a plugged nozzle.
    size : str
        The size whose distance it is, for ``stand-off``.
    side : str
        Side of the header with the plugged nozzle.
    station_mm : float or None
        Its station along the stage [mm].
    nozzle, hold_nozzle : int
        The nozzle that costs the worst lane most, and the one that costs most of the tip margin,
        counted from 1 at the left; 0 where none is plugged.
    hold_margin_change : float
        How much more than as it is [-].
    """

    what: str
    doses: tuple[WorstDose, ...]
    hold_margin: float
    amount: float = 0.0
    size: str = ""
    side: str = ""
    station_mm: float | None = None
    nozzle: int = 0
    hold_nozzle: int = 0
    hold_margin_change: float = 0.0


def what_if(scenario: Scenario, at: Arrangement, faults: Faults) -> tuple[WhatIf, ...]:
    """Return what becomes of doses and tip margin, one thing after the other not as drawn.

    Parameters
    ----------
    scenario : Scenario
        The case.
    at : Arrangement
        One size in one of its stages.
    faults : Faults
        What may not be as drawn.

    Returns
    -------
    tuple of WhatIf
        As it is first; empty where the pack does not fit or passes no header.

    Notes
    -----
    One nozzle in each header in turn is plugged, and the worst told; with one less the others are
    taken to spray as before. Holes: each by itself, the worst way for the lane; for the tip margin
    the headers of each side as a whole. A pack that wanders is looked at at both ends.
    """
    if not at.pack.fits or not at.clear:
        return ()
    work = _Work(scenario, at)
    rows = list(_rows(work, faults))
    return tuple(
        replace(row, hold_margin_change=row.hold_margin - rows[0].hold_margin) for row in rows
    )


def _rows(work: _Work, faults: Faults) -> Iterator[WhatIf]:
    headers = work.at.clear
    now = work.doses(headers)
    yield WhatIf("as it is", _worst(now, now), work.hold(headers))
    if faults.plugged:
        yield from work.plugged(now)
    off = wander_mm(work.at) if faults.wander_mm is None else faults.wander_mm
    for way, move in (("left", -off), ("right", off)) if faults.wanders else ():
        doses = _worst(work.doses(headers, move), now)
        yield WhatIf(way, doses, work.hold(headers, move), amount=off)
    if faults.tolerance_mm > 0.0:
        yield work.holes(now, faults.tolerance_mm)
    share = faults.pressure_share
    for more in (-share, share) if share > 0.0 else ():
        turned = [replace(h, pressure_MPa=h.pressure_MPa * (1.0 + more)) for h in headers]
        doses = _worst(work.doses(turned), now)
        yield WhatIf("pressure", doses, work.hold(turned), amount=more)
    if faults.next_height:
        yield from work.heights(now)


class _Work:
    """What every row takes: the headers of one medium, and how things are."""

    def __init__(self, scenario: Scenario, at: Arrangement) -> None:
        self.at, self.mat = at, scenario.mat
        self.others = [can for can in scenario.sizes if can.name != at.can.name]
        self.counted = counted(at.clear)

    def doses(self, headers: Sequence[Header], move_mm: float = 0.0) -> dict[str, Floats]:
        """Return the doses of the lanes inside and on top, the pack moved to the right [mL]."""
        lines = self.at.lines_mm + move_mm
        return lane_doses_mL(lines, self.at.stance, headers, self.mat)

    def hold(self, headers: Sequence[Header], move_mm: float = 0.0) -> float:
        """Return the least hold margin of any lane [-]."""
        lines = self.at.lines_mm + move_mm
        return least_hold_margin(lines, self.at.stance, headers, self.mat.open_fraction)

    def plugged(self, now: Mapping[str, Floats]) -> Iterator[WhatIf]:
        """Yield each header with the nozzle plugged that costs most."""
        at = self.at
        margins = margins_plugged(at.lines_mm, at.stance, at.clear, self.mat.open_fraction)
        for header in at.clear:
            place, least = PLACE_OF[header.side], margins[header]
            left, hold_nozzle = dict(now), _least(least)
            nozzle = hold_nozzle
            if header in self.counted:
                passed = passed_mL_per_mm(header, self.mat)
                lost = passed * caught_bands_mm(header, at.stance, at.lines_mm)
                each = now[place][:, None] - lost  # (lanes, nozzles)
                nozzle = _least(each.min(axis=0))
                left[place] = each[:, nozzle]
            yield WhatIf(
                what="plugged",
                doses=_worst(left, now),
                hold_margin=float(least.min()),
                side=header.side,
                station_mm=header.station_mm,
                nozzle=nozzle + 1,
                hold_nozzle=hold_nozzle + 1,
            )

    def holes(self, now: Mapping[str, Floats], tolerance_mm: float) -> WhatIf:
        """Return what holes off by a tolerance may do at worst."""
        at = self.at
        left = {place: np.zeros(len(at.lines_mm)) for place in now}
        for header in self.counted:
            patch = footprint_of(header, at.stance.height_mm)
            table = caught_by_distance(patch, at.stance.radius_mm, tolerance_mm)
            apart = at.lines_mm[:, None] - header.positions_mm
            passed = passed_mL_per_mm(header, self.mat)
            left[PLACE_OF[header.side]] += passed * looked_up(table, apart).sum(axis=1)
        holds = []
        for ways in product((-tolerance_mm, tolerance_mm), repeat=2):
            way = dict(zip(SIDES, ways, strict=True))
            off = [replace(h, first_mm=h.first_mm + way[h.side]) for h in at.clear]
            holds.append(self.hold(off))
        return WhatIf("holes", _worst(left, now), min(holds), amount=tolerance_mm)

    def heights(self, now: Mapping[str, Floats]) -> Iterator[WhatIf]:
        """Yield the headers above as far from these cans as they are from those of other sizes."""
        own = self.at.can.height_mm
        for can in self.others:
            nearer = can.height_mm - own
            headers = [
                replace(h, mat_distance_mm=h.mat_distance_mm - nearer) if h.side == "above" else h
                for h in self.at.clear
                if passes(h, can.height_mm)
            ]
            if nearer == 0.0 or all(h.side == "below" for h in self.at.clear):
                continue
            doses = _worst({**_nothing(now), **self.doses(headers)}, now)
            yield WhatIf("stand-off", doses, self.hold(headers), amount=-nearer, size=can.name)


def _least(values: Floats) -> int:
    """Return where the least is, the first of those equal but for rounding."""
    return int(np.argmin(np.round(values, 9)))


def _nothing(now: Mapping[str, Floats]) -> dict[str, Floats]:
    """Return no dose for each place: where every header would strike the cans."""
    return {place: np.zeros_like(lanes) for place, lanes in now.items()}


def _worst(doses: Mapping[str, Floats], now: Mapping[str, Floats]) -> tuple[WorstDose, ...]:
    """Return the lane of each place that gets least, beside the least as it is."""
    found = []
    for place, lanes in doses.items():
        lane, was = _least(lanes), float(now[place].min())
        change = float(lanes[lane]) / was - 1.0 if was > 0.0 else math.nan
        found.append(WorstDose(place, float(lanes[lane]), lane + 1, change))
    return tuple(found)
