"""Headers of one side of a stage that have the same nozzles, and the packs that pass them."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import cycle
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.errors import InputError
from packsim.headers.arrangement import Arrangement, arrange, wander_mm
from packsim.headers.wish import DesignWish
from packsim.line import Header, Scenario
from packsim.nozzles.lane_lines import equal_pitch_mm
from packsim.setting import recommend
from packsim.spray.dose import passed_mL_per_mm
from packsim.spray.jets import flow_mm3_per_s, footprint_of, passes
from packsim.spray.spray_load import least_hold_margin

_IN_LINE_MM: Final = 2.0  # middles of stages that one drilling serves


@dataclass(frozen=True, slots=True, eq=False)
class Bank:
    """Headers of one side of a stage that have the same nozzles, and the packs that pass them.

    Parameters
    ----------
    index : int
        Number of the stage.
    today : tuple of Header
        The headers as they are.
    new : Header
        One of the new ones, but for its places.
    packs : tuple of Arrangement
        Each size as recommended.
    lines : tuple of Scenario
        The line as recommended for each.
    """

    index: int
    today: tuple[Header, ...]
    new: Header
    packs: tuple[Arrangement, ...]
    lines: tuple[Scenario, ...]

    @property
    def side(self) -> str:
        """Side of the mat."""
        return self.new.side

    @property
    def flow(self) -> float:
        """Flow of one of its new nozzles [mm³/s]."""
        return flow_mm3_per_s(self.new.nozzle, self.new.pressure_MPa)

    def mL_per_mm(self, k: int, header: Header) -> float:
        """Dose of a can of the k-th size per length caught under a header [mL/mm]."""
        return passed_mL_per_mm(header, self.lines[k].mat)

    def drilled(self, nozzles_mm: Sequence[Floats]) -> tuple[Header, ...]:
        """Return its headers with nozzles at places, a row for each; the rows come round again."""
        found: list[Header] = []
        for header, places in zip(self.today, cycle(nozzles_mm), strict=False):
            new = replace(self.new, station_mm=header.station_mm)
            pitch = equal_pitch_mm(places)
            rows = [(float(x), 1.0, 1) for x in places]
            rows = rows if pitch is None else [(float(places[0]), pitch, len(places))]
            found += [replace(new, first_mm=x, pitch_mm=p, count=n) for x, p, n in rows]
        return tuple(found)


def banks(scenario: Scenario, index: int, sizes: Sequence[str], wish: DesignWish) -> Iterator[Bank]:
    """Yield the headers of a stage by side and nozzle."""
    lines = [recommend(scenario, size).line for size in sizes]
    packs = [arrange(line, index, size) for line, size in zip(lines, sizes, strict=True)]
    stage = scenario.stages[index]
    for at in packs:
        if not at.pack.fits:
            allowed = f"a can that fits between the guides of {stage.name!r}"
            raise InputError("size", repr(at.can.name), allowed)
    kinds: dict[Header, list[Header]] = {}
    for header in stage.headers:
        if wish.side in ("", header.side):
            kind = replace(header, station_mm=0.0, first_mm=0.0, pitch_mm=1.0, count=1)
            kinds.setdefault(kind, []).append(header)
    for kind, headers in kinds.items():
        new = wish.applied(kind)
        for at in packs:
            if not passes(new, at.can.height_mm):
                allowed = f"more than the height of {at.can.name}, {at.can.height_mm:g} mm"
                raise InputError("stand-off", f"{new.mat_distance_mm:g} mm", allowed)
        yield Bank(index, tuple(headers), new, tuple(packs), tuple(lines))


def kind_of(bank: Bank, wish: DesignWish) -> tuple[object, ...]:
    """Return what decides where its nozzles go; today's places do not."""
    patches = [footprint_of(bank.new, at.can.height_mm) for at in bank.packs]
    wet = tuple(round(p.half_across_mm, 6) for p in patches)
    middle = round(np.mean([at.lines_mm.mean() for at in bank.packs]) / _IN_LINE_MM)
    lanes = tuple(at.pack.lanes for at in bank.packs)
    rows = len(bank.today) if wish.stagger else 0
    return bank.side, wet, lanes, middle, rows, bank.packs[0].stage.layout


def hold_margins(group: Sequence[Bank], nozzles_mm: Sequence[Floats] | None) -> list[float]:
    """Return the least hold margin of each size in any stage, within its wander."""
    least = [math.inf] * len(group[0].packs)
    for bank in group:
        kept = [h for h in bank.packs[0].stage.headers if h not in bank.today]
        mine = bank.today if nozzles_mm is None else bank.drilled(nozzles_mm)
        for k, best in enumerate(least):
            least[k] = min(best, hold_margin(bank, k, [*kept, *mine]))
    return least


def hold_margin(bank: Bank, k: int, headers: Sequence[Header]) -> float:
    """Return the least hold margin of the k-th size under headers, within its wander."""
    at = bank.packs[k]
    clear = [h for h in headers if passes(h, at.can.height_mm)]
    wander = wander_mm(at)
    lines = (at.lines_mm[:, None] + np.array([-wander, 0.0, wander])).ravel()
    return least_hold_margin(lines, at.stance, clear, bank.lines[k].mat.open_fraction)
