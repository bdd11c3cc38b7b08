"""A pack looked at from every can in the same few directions: what is met is found only once.

`packsim.passage.tip.needed_mJ` marches from can to can. Where all cans are asked in the same
directions, every free travel is needed by many marches; so what a can meets in each direction is
looked up beforehand.
"""

import math

import numpy as np

from packsim.arrays import Floats, Ints, Places
from packsim.compiled import compiled, kernel
from packsim.passage.cells import gather, to_nearest
from packsim.passage.laid import SortedPack, over_guide_mm
from packsim.passage.tipped import contact_mm
from packsim.passage.track import Track


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
    standing, load = track.standing, track.standing.load
    most_rad = max(float(load.rest.real.max()), float(load.values.real.max(initial=0.0)))
    # no top moves farther out than at its balance; the grid is read a little above its nodes
    reach = 1.05 * standing.height_mm * math.sin(most_rad)
    travel, met = compiled(_met)(pack, np.exp(1j * turn_rad), reach)
    found = pack._replace(station_mm=along_mm.ravel(), travel_mm=travel, met=met)
    wires = np.unique(standing.wire_rows(), axis=0)
    give = compiled(_give)(found, np.sin(turn_rad), wires, standing.height_mm)
    return found._replace(give_mm=give)


@kernel
def _met(pack: SortedPack, direction: Places, reach: float) -> tuple[Floats, Ints]:
    """Free travel of every can in every direction, and the can it meets there."""
    count, period = len(pack.place_mm), pack.cells.period_mm
    travel, met = np.full(len(direction) * count, math.inf), np.full(len(direction) * count, -1)
    around, order = np.empty(count, np.int64), np.empty(count, np.int64)
    vector, square = np.empty(count, np.complex128), np.empty(count)
    wide = reach + 2.0 * pack.largest_mm
    for i in range(count):
        here, some = pack.place_mm[i], 0
        for k in range(gather(pack.cells, here.real, here.imag, wide, around)):
            j = around[k]
            across = pack.place_mm[j].imag - here.imag
            along = to_nearest(pack.place_mm[j].real - here.real, period)
            apart = along * along + across * across
            if j != i and apart <= wide * wide:
                at = some
                while at > 0 and square[at - 1] > apart:
                    order[at], vector[at], square[at] = (
                        order[at - 1],
                        vector[at - 1],
                        square[at - 1],
                    )
                    at -= 1
                order[at], vector[at], square[at] = j, complex(along, across), apart
                some += 1
        for d in range(len(direction)):
            turned, most = d * count + i, wide * wide
            for k in range(some):
                if square[k] >= most:
                    break  # whoever is farther off is met later in any direction
                seen = vector[k] * direction[d].conjugate()
                total = pack.radius_mm[i] + pack.radius_mm[order[k]]
                free = max(contact_mm(seen.real, seen.imag, total), 0.0)
                if free < travel[turned]:
                    travel[turned], met[turned] = free, order[k]
                    most = (free + pack.radius_mm[i] + pack.largest_mm) ** 2
    return travel, met


@kernel
def _give(pack: SortedPack, across: Floats, wires: Floats, height: float) -> Floats:
    """Most that tops can move: own gap and what the can met gives, or over the loosest guide.

    Chains are followed to a can that is known already, and told backwards. In a period a chain may
    come to itself, and has no bound but the guides.
    """
    count = len(pack.place_mm)
    give, path = np.full(len(pack.met), -1.0), np.empty(count, np.int64)
    for first in range(len(give)):
        at, size = first, 0
        while give[at] < 0.0:
            give[at], path[size] = math.inf, at
            size += 1
            if pack.met[at] >= 0 and not pack.closed[pack.met[at]]:
                at += pack.met[at] - at % count
        for k in range(size - 1, -1, -1):
            at = path[k]
            most = pack.travel_mm[at]
            if pack.met[at] >= 0 and not pack.closed[pack.met[at]]:
                most += give[at + pack.met[at] - at % count]
            over = 0.0
            for row in wires:
                here = over_guide_mm(pack, at % count, across[at // count], row, height, most)
                over = max(over, here)
            give[at] = min(most, over) if over < height else most
    return give
