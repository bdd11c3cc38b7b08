"""A pack looked at from every can in the same few directions: what is met is found only once.

`packsim.passage.tip.needed_mJ` marches from can to can. Where all cans are asked in the same
directions, every free travel is needed by many marches; so what a can meets in each direction is
looked up beforehand.
"""

import math

import numpy as np

from packsim.arrays import Floats, Ints, Places
from packsim.compiled import compiled, kernel
from packsim.pack.cells import gather, to_nearest
from packsim.passage.laid import SortedPack, over_guide_mm
from packsim.passage.track import Track

_CLOSE = 0.4
"""How far beyond touch those are that are looked at first, as a share of a diameter."""


def turned_pack(pack: SortedPack, track: Track, turn_rad: Floats, along_mm: Floats) -> SortedPack:
    """Look up what every can of a standing pack meets, for some directions.

    Parameters
    ----------
    pack : SortedPack
        The pack, in which every can stands.
    track : Track
        The line.
    turn_rad : ndarray, shape (d,)
        The directions [rad].
    along_mm : ndarray, shape (s, n)
        Where the cans are along the line, for the sprays they are under [mm].

    Returns
    -------
    SortedPack
        The same with its free travels, to be asked for can i in direction j at place k by the
        number (k · d + j) · n + i.
    """
    standing = track.standing
    # no top moves farther out than at its balance; the grid is read a little above its nodes
    reach = 1.05 * standing.height_mm * math.sin(standing.load.most_rad)
    travel, met = compiled(_met)(pack, np.exp(1j * turn_rad), reach)
    found = pack._replace(station_mm=along_mm.ravel(), travel_mm=travel, met=met)
    wires = np.unique(standing.wire_rows(), axis=0)
    give = compiled(_give)(found, np.sin(turn_rad), wires, standing.height_mm)
    return found._replace(give_mm=give)


@kernel
def _met(pack: SortedPack, direction: Places, reach: float) -> tuple[Floats, Ints]:
    """Free travel of every can in every direction, and the can it meets there.

    Those close by are looked at first; whoever is farther off is met later in any direction.
    """
    count, period, turns = len(pack.place_mm), pack.cells.period_mm, len(direction)
    travel, met = np.empty((turns, count)), np.empty((turns, count), np.int64)
    around, cos, sin = np.empty(count, np.int64), direction.real.copy(), direction.imag.copy()
    free, whom = np.empty(turns), np.empty(turns, np.int64)
    for i in range(count):
        here, mine = pack.place_mm[i], pack.radius_mm[i] + pack.largest_mm
        free[:], whom[:] = math.inf, -1
        seen_mm, look_mm = 0.0, mine + min(reach, _CLOSE * mine)
        while look_mm > seen_mm:
            for k in range(gather(pack.cells, here.real, here.imag, look_mm, around)):
                j = around[k]
                across = pack.place_mm[j].imag - here.imag
                along = to_nearest(pack.place_mm[j].real - here.real, period)
                if j != i and seen_mm**2 <= along * along + across * across < look_mm**2:
                    total = pack.radius_mm[i] + pack.radius_mm[j]
                    _nearer(free, whom, along, across, total * total, j, cos, sin)
            farthest = 0.0
            for d in range(turns):  # numpy's own takes half a second to compile
                farthest = max(farthest, free[d])
            most = mine + min(reach, farthest)
            seen_mm, look_mm = look_mm, most if most > look_mm else 0.0
        for d in range(turns):
            travel[d, i], met[d, i] = max(free[d], 0.0), whom[d]
    return travel.ravel(), met.ravel()


@kernel
def _nearer(
    free: Floats,
    whom: Ints,
    along: float,
    across: float,
    square: float,
    j: int,
    cos: Floats,
    sin: Floats,
) -> None:
    """Put down a can where it is met first, `packsim.passage.tipped.contact_mm` in a row.

    Of two that overlap the one that moves the nearer is met.
    """
    overlap = -1.0 / max(along * along + across * across, 1e-12)
    for d in range(len(free)):  # no branches: several directions are done at once
        ahead = along * cos[d] + across * sin[d]
        aside = across * cos[d] - along * sin[d]
        room = square - aside * aside
        here = ahead - math.sqrt(room if room > 0.0 else 0.0)
        here = here if here > 0.0 else overlap
        here = here if (room > 0.0) & (ahead > 0.0) else math.inf
        whom[d] = j if here < free[d] else whom[d]
        free[d] = here if here < free[d] else free[d]


@kernel
def _give(pack: SortedPack, across: Floats, wires: Floats, height: float) -> Floats:
    """Most that tops can move: own gap and what the can met gives, or over the loosest guide.

    Chains are followed to a can that is known already, and told backwards. In a period a chain may
    come to itself, and has no bound but the guides.
    """
    travel, met, closed, y = pack.travel_mm, pack.met, pack.closed, pack.place_mm.imag
    left, right, count = y - pack.low_mm, pack.high_mm - y, len(y)
    give, path = np.full(len(met), -1.0), np.empty(count, np.int64)
    for turn in range(len(across)):
        row, cos_off = turn * count, abs(across[turn])
        gaps = right if across[turn] > 0.0 else left
        for first in range(count):
            can, size = first, 0
            while give[row + can] < 0.0:
                give[row + can], path[size] = math.inf, can
                size += 1
                ahead = met[row + can]
                if ahead >= 0 and not closed[ahead]:
                    can = ahead
            for k in range(size - 1, -1, -1):
                can = path[k]
                ahead, most, over = met[row + can], travel[row + can], 0.0
                if ahead >= 0 and not closed[ahead]:
                    most += give[row + ahead]
                if gaps[can] < most * cos_off:  # elsewhere the guide is out of reach
                    for w in range(len(wires)):
                        over = max(over, over_guide_mm(gaps[can], cos_off, wires[w], height))
                    most = min(most, over) if over < height else most
                give[row + can] = most
    return give
