"""Which kicks tip a can: march from can to can until the gaps between them let the first one over.

Only a kick that may be above the energy of a can that nothing holds is looked at, and a march stops
once the cans that must lean along cost more than the kick has; so few are asked, and briefly.
"""

import math

import numpy as np

from packsim.arrays import Floats, Ints, Places
from packsim.compiled import compiled, kernel
from packsim.passage.laid import SortedPack, first_met, over_guide_mm
from packsim.passage.track import Track
from packsim.spray.in_place import LineLoad, load_in, stretch_at, turn_of, worked_out
from packsim.tipping.part_way import part_of_energy_mJ, righting

Asked = tuple[Ints, Floats, Ints, Floats]
"""Cans, directions, stages and budgets."""

Found = tuple[Ints, Floats, Floats]
"""Who goes on: places in what is asked, what is left of the way of the top, and energies so far."""

Read = tuple[Ints, Floats, int]
"""In which direction and place each can was read last, what `righting` says of it, and this one."""

_SOON = 40.0
"""A budget of fewer times what the first can needs is small: it nearly always ends its march."""

_SURELY = 1.0 + 1e-9
"""Above so many times a budget, what is lost to rounding does not bring a sum back within it."""


def needed_mJ(
    laid: SortedPack,
    track: Track,
    can: Ints,
    direction_rad: Floats,
    stage: Ints,
    budget_mJ: Floats | float = math.inf,
) -> Floats:
    """Energy it takes to tip cans in given directions, neighbours giving way.

    Parameters
    ----------
    laid : SortedPack
        The pack.
    track : Track
        The line, for the load on the cans, its hold-downs and its wires.
    can : ndarray of int64, shape (m,)
        Cans that are kicked; in a pack with free travels looked up beforehand can i in direction j
        at place k on the line is (k · d + j) · n + i.
    direction_rad : ndarray, shape (m,)
        Directions of the kicks [rad].
    stage : ndarray of int64, shape (m,)
        Stage each can is in; its wires and hold-down count for the whole chain.
    budget_mJ : ndarray, shape (m,), or float
        A sum above this is not carried on [mJ].

    Returns
    -------
    ndarray, shape (m,)
        Σ_k U(θ_k) along the chain of cans that the gaps do not spare; infinite where a guide, the
        hold-down or a closed can ends the chain first, or the budget is passed [mJ].

    Notes
    -----
    The first can must move its top out by H sin α_e; each next one by what the gaps before leave of
    it, along the same direction. Each has the balance angle and energy of its own place in that
    direction (`packsim.spray.in_place.LineLoad`). A guide at gap g along the direction lets a top
    out by `packsim.tipping.gathered_slack.overhang_mm`. Without sprays the same sum as
    `packsim.tipping.overturning.chain_energy_mJ`, with gaps from the positions.
    """
    standing = track.standing
    budget = budget_mJ if isinstance(budget_mJ, np.ndarray) else np.full(can.size, budget_mJ)
    around = np.empty(0 if laid.met.size else laid.place_mm.size, np.int64)
    alike = standing.wire_rows(), standing.meeting_rad, standing.height_mm
    asked = can, direction_rad, stage, budget
    found: Floats = compiled(_needed)(around, laid, standing.load, alike, asked)
    return found


@kernel
def _needed(
    around: Ints,
    pack: SortedPack,
    load: LineLoad,
    standing: tuple[Floats, Floats, float],
    asked: Asked,
) -> Floats:
    (wires, meeting, height), (cans, direction, stage, budget) = standing, asked
    # arrays by their own names: one read out of a tuple inside a loop is counted in and out
    spot, _, low, high, closed, station, _, _, _, _, _, travel, met, _, guide = pack
    ends, count, tables, stretch = load.ends_mm, len(spot), len(met), 0
    # one kick after the other marches elsewhere: what a march finds is kept for nobody
    slots, needed = count if tables > 0 else 1, np.empty(len(cans))
    known, rights = np.empty(slots, np.int64), np.empty((slots, 3))
    needed[:], known[:] = math.inf, 0
    going, lefts, totals = np.empty(slots, np.int64), np.empty(slots), np.empty(slots)
    block, first, place, row = 0, 0, 0, 0
    begun = 0 * len(cans)  # for a plain 0, a type of its own, `_begun` is compiled once more
    alone = meeting, height, _righting_at_rest(load.rest)
    while begun < len(cans):
        # many are asked in one direction at one place one after the other, and march through the
        # same cans: their own loads are read in one go
        if tables > 0:
            first = cans[begun] // count * count
            place, row = first // tables * count, first % tables
        towards, block, here = direction[begun], block + 1, (first, place, row)
        ways, ahead = travel[row : row + count], met[row : row + count]
        across, facing = math.sin(towards), abs(math.sin(towards))
        turn, share = turn_of(towards)
        found, read = (going, lefts, totals), (known, rights, block)
        begun, some = _begun(begun, here, pack, load, alone, asked, found, read)
        if tables > 0:
            some = _cheap(some, here, pack, 1.0 / height, asked, found, read)
        for k in range(some):
            at = going[k]
            # a number that is never below 0 is not looked at for that each time it is an index
            can, left, total = np.uint32(cans[at] - first), lefts[k], totals[k]
            y, side = spot[can].imag, guide[can]
            wall = high[side] - y if across > 0.0 else y - low[side]
            while total <= budget[at] and (
                wall >= left * facing
                or over_guide_mm(wall, facing, wires[stage[at]], height) >= left - 1e-9
            ):
                if tables > 0:
                    gap, blocker = ways[can], ahead[can]
                else:
                    along = complex(math.cos(towards), across)
                    one = np.int64(can)  # else `first_met` is compiled once more
                    gap, other = first_met(pack, one, along, left, around)  # type: ignore[arg-type]
                    blocker = np.uint32(max(other, 0))
                if gap >= left or closed[blocker]:  # infinite where none is met
                    needed[at] = total if gap >= left else math.inf
                    break
                can, left = blocker, left - gap
                slot = can if tables > 0 else np.uint32(0)
                if known[slot] != block or tables == 0:
                    x, y = station[place + can], spot[can].imag
                    stretch = stretch_at(ends, x, stretch)
                    balance, energy = load_in(load, stretch, x, y, turn, share)
                    if energy != energy:  # nobody asked for this load before
                        balance, energy = worked_out(load, stretch, x, y, towards)
                    known[slot] = block
                    # a row set to a tuple takes a second to compile
                    top, cos, whole = righting(math.sin(balance), energy)
                    rights[slot, 0], rights[slot, 1], rights[slot, 2] = top, cos, whole
                total += part_of_energy_mJ(
                    left / height, rights[slot, 0], rights[slot, 1], rights[slot, 2]
                )
                y, side = spot[can].imag, guide[can]
                wall = high[side] - y if across > 0.0 else y - low[side]
    return needed


@kernel
def _righting_at_rest(rest: Places) -> Floats:
    """`righting` of a can that nothing sprays, for every stretch; shape (w, 3)."""
    still = np.empty((len(rest), 3))
    for i in range(len(rest)):
        top, cos, whole = righting(math.sin(rest[i].real), rest[i].imag)
        still[i, 0], still[i, 1], still[i, 2] = top, cos, whole
    return still


@kernel
def _begun(
    q: int,
    here: tuple[int, int, int],
    pack: SortedPack,
    load: LineLoad,
    alone: tuple[Floats, float, Floats],
    asked: Asked,
    found: Found,
    read: Read,
) -> tuple[int, int]:
    """Read the loads on those asked in one direction at one place; who can tip alone goes on.

    ``alone`` is meeting_rad and height_mm of `Standing`, and `_righting_at_rest`. Returns where the
    next direction or place begins, and how many go on.
    """
    (meeting, height, still), (cans, direction, stage, budget) = alone, asked
    (first, place, row), (going, lefts, totals), (known, rights, block) = here, found, read
    spot, station, met, give = pack.place_mm, pack.station_mm, pack.met, pack.give_mm
    ends, nodes, rest = load.ends_mm, load.nodes, load.rest
    count, tables, towards, stretch, some = len(spot), len(met), direction[q], 0, 0
    turn, share = turn_of(towards)
    station, give, more = station[place : place + count], give[row : row + count], True
    while more:
        can = np.uint32(cans[q] - first)
        slot = can if tables > 0 else np.uint32(0)
        x, y = station[can], spot[can].imag
        stretch = stretch_at(ends, x, stretch)
        if nodes[stretch, 0] == 0:  # most of the line
            balance, energy = rest[stretch].real, rest[stretch].imag
            top, cos, whole = still[stretch, 0], still[stretch, 1], still[stretch, 2]
        else:
            balance, energy = load_in(load, stretch, x, y, turn, share)
            if energy != energy:
                balance, energy = worked_out(load, stretch, x, y, towards)
            top, cos, whole = righting(math.sin(balance), energy)
        known[slot] = block
        rights[slot, 0], rights[slot, 1], rights[slot, 2] = top, cos, whole
        out = (balance > meeting[stage[q]]) | (energy > budget[q])
        if tables > 0:
            out |= height * top > give[can] + 1e-6
        going[some], lefts[some], totals[some] = q, height * top, energy
        some += not out
        q += 1
        more = tables > 0 and q < len(cans) and some < count and direction[q] == towards
        more = more and first <= cans[q] < first + count
    return q, some


@kernel
def _cheap(
    some: int,
    here: tuple[int, int, int],
    pack: SortedPack,
    per_mm: float,
    asked: Asked,
    found: Found,
    read: Read,
) -> int:
    """Leave out those whose march passes its budget surely, as nearly all of small budgets do.

    Sums told a little too low are enough to see that: cos α (1 − cos θ) is at most sin² θ / 2,
    without the roots and quotients that take most of the time of a march.
    """
    (first, _, row), (going, lefts, totals), (known, rights, block) = here, found, read
    cans, budget, closed, end = asked[0], asked[3], pack.closed, row + len(pack.place_mm)
    travel, met, count = pack.travel_mm[row:end], pack.met[row:end], 0
    for k in range(some):
        at = going[k]
        can, left = np.uint32(cans[at] - first), lefts[k]
        least, enough = totals[k], _SURELY * budget[at]
        small = budget[at] < _SOON * least
        while small and least <= enough and travel[can] < left:
            can, left = met[can], left - travel[can]
            if known[can] != block or closed[can]:
                break
            top = rights[can, 0]
            sine = min(left * per_mm, top)
            least += rights[can, 2] * sine * (top - 0.5 * sine)
        going[count], lefts[count], totals[count] = at, lefts[k], totals[k]
        count += least <= enough
    return count
