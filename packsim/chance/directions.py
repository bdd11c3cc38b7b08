"""A pack looked at from every can in the same few directions: what is met is found only once.

`packsim.passage.tip.needed_mJ` marches from can to can. Where all cans are asked in the same
directions, every free travel is needed by many marches; so what a can meets in each direction is
looked up beforehand.
"""

import math
from dataclasses import replace

import numpy as np

from packsim.arrays import Floats, Indices
from packsim.compiled import compiled, kernel, within
from packsim.pack.cells import span, to_nearest
from packsim.passage.laid import SortedPack, over_guide_mm
from packsim.passage.seen import looked_over
from packsim.passage.state import State
from packsim.passage.track import Track

_CLOSE = 0.4
"""How far beyond touch those are that are looked at first, as a share of a diameter."""


def along_sprays_mm(state: State, track: Track, begin_mm: float = 0.0) -> Floats:
    """Return where along the line each can meets the sprays.

    Parameters
    ----------
    state : State
        The pack.
    track : Track
        The line.
    begin_mm : float
        In a slice, how far its beginning is moved along its cans [mm].

    Returns
    -------
    ndarray, shape (n,)
        Its station; in a periodic slice, whose cans share one station, the place it would have in a
        pack as long as the slice about that station, folded back at the ends of the stage [mm].

    Notes
    -----
    With one place for all, whole rows would be under the edge of a header at once, and weak along
    travel together: tips between the edges came out 40 times too many. Folding keeps each can as
    long under every header as it would be.
    """
    moved = replace(state, place_mm=state.place_mm + begin_mm) if begin_mm else state
    return looked_over(moved, track).sprayed_mm


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
    unit = np.exp(1j * turn_rad)
    travel, met = compiled(_met)(pack, unit.real.copy(), unit.imag.copy(), reach)
    found = pack._replace(station_mm=along_mm.ravel(), travel_mm=travel.ravel(), met=met.ravel())
    wires = np.unique(standing.wire_rows(), axis=0)
    give = compiled(_give)(found, np.sin(turn_rad), wires, standing.height_mm)
    return found._replace(give_mm=give)


@kernel
def _met(pack: SortedPack, cos: Floats, sin: Floats, reach: float) -> tuple[Floats, Indices]:
    """Free travel of every can in every direction, and the can it meets there.

    Those close by are looked at first; whoever is farther off is met later in any direction.
    """
    # by their own names, and no tuple of arrays handed on: each is counted in and out, can by can
    place, radius, largest, cells = pack.place_mm, pack.radius_mm, pack.largest_mm, pack.cells
    order, begin, columns, rows = cells.order, cells.begin, cells.columns, cells.rows
    corner, side, moved = (cells.x_mm, cells.y_mm), (cells.wide_mm, cells.tall_mm), cells.moved_mm
    count, period, turns, loose = len(place), cells.period_mm, len(cos), cells.loose_mm
    travel, met = np.empty((turns, count)), np.empty((turns, count), np.uint32)
    free, whom = np.empty(turns), np.empty(turns, np.uint32)
    for i in range(count):
        here, mine = place[i], radius[i] + largest
        free[:], whom[:] = math.inf, count
        seen_mm, look_mm = 0.0, mine + min(reach, _CLOSE * mine)
        while look_mm > seen_mm:
            then, far = here - moved, look_mm + loose
            low, high = span(then.imag, far, corner[1], side[1], rows, 0.0)
            first, last = span(then.real, far, corner[0], side[0], columns, period)
            for column in range(first, last + 1 if high >= low else first):
                row = column % columns * rows
                for k in range(begin[row + low], begin[row + high + 1]):
                    j = order[k]
                    across = place[j].imag - here.imag
                    along = to_nearest(place[j].real - here.real, period)
                    if j != i and seen_mm**2 <= along * along + across * across < look_mm**2:
                        total = radius[i] + radius[j]
                        _nearer(free, whom, along, across, total * total, j, cos, sin)
            farthest = 0.0
            for d in range(turns):  # numpy's own takes half a second to compile
                farthest = max(farthest, free[d])
            most = mine + min(reach, farthest)
            seen_mm, look_mm = look_mm, most if most > look_mm else 0.0
        for d in range(turns):
            travel[d, i], met[d, i] = max(free[d], 0.0), whom[d]
    return travel, met


@within
def _nearer(
    free: Floats,
    whom: Indices,
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
    travel, met, closed, place = pack.travel_mm, pack.met, pack.closed, pack.place_mm
    low, high, guide, count = pack.low_mm, pack.high_mm, pack.guide, len(place)
    give, path = np.empty(len(met)), np.empty(count, np.uint32)
    give[:] = -1.0
    for turn in range(len(across)):
        row, end, cos_off = turn * count, (turn + 1) * count, abs(across[turn])
        own, ways, whom = give[row:end], travel[row:end], met[row:end]
        for first in range(count):
            can, size = np.uint32(first), 0
            while own[can] < 0.0:
                own[can], path[size] = math.inf, can
                size += 1
                ahead = whom[can]
                if ahead < count and not closed[ahead]:
                    can = ahead
            for k in range(size - 1, -1, -1):
                can = path[k]
                ahead, most, over = whom[can], ways[can], 0.0
                if ahead < count and not closed[ahead]:
                    most += own[ahead]
                y = place[can].imag
                at = guide[can]
                gap = high[at] - y if across[turn] > 0.0 else y - low[at]
                # elsewhere the guide is out of reach
                if gap < min(most, height) * cos_off:
                    for w in range(len(wires)):
                        over = max(over, over_guide_mm(gap, cos_off, wires[w], height))
                    most = min(most, over) if over < height else most
                own[can] = most
    return give
