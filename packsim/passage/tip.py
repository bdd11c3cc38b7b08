"""Which kicks tip a can: march from can to can until the gaps between them let the first one over.

Only a kick above the energy of a can that nothing holds is looked at, and a march stops once the
cans that must lean along cost more than the kick has; so the question is asked of few, briefly.
"""

import math

import numpy as np

from packsim.arrays import Floats, Ints, Places
from packsim.compiled import compiled, kernel
from packsim.passage.laid import SortedPack, first_met, over_guide_mm
from packsim.passage.track import Track
from packsim.spray.in_place import LineLoad, load_in, stretch_at, turn_of


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
    budget = np.full(can.size, budget_mJ, dtype=np.float64)
    around = np.empty(0 if laid.met.size else laid.place_mm.size, np.int64)
    alike = standing.wire_rows(), standing.meeting_rad, standing.height_mm
    asked = can, direction_rad, stage, budget
    found: Floats
    found, where = compiled(_needed)(around, laid, standing.load, alike, asked)
    missed = np.flatnonzero(np.isnan(found))
    where = where[missed]
    while missed.size:  # a load that nobody asked for before
        asked = can[missed], direction_rad[missed], stage[missed], budget[missed]
        standing.load.work_out(where.real, where.imag, asked[1])
        more, where = compiled(_needed)(around, laid, standing.load, alike, asked)
        found[missed], again = more, np.flatnonzero(np.isnan(more))
        missed, where = missed[again], where[again]
    return found


def chain_of(
    laid: SortedPack, track: Track, can: int, direction_rad: float, stage: int
) -> tuple[Ints, Floats]:
    """Return the cans that lean with one that tips, itself first, as `needed_mJ` counts them.

    Parameters
    ----------
    laid, track
        As for `needed_mJ`.
    can : int
        The can that tips.
    direction_rad : float
        Direction in which [rad].
    stage : int
        Stage it is in.

    Returns
    -------
    can : ndarray of int64, shape (n,)
        The chain, as far as the guide, a closed can or a gap that spares the next.
    before_mm : ndarray, shape (n,)
        Gaps that the first one's top crosses before each leans [mm].
    """
    standing, towards = track.standing, np.exp(1j * np.array([direction_rad]))
    here = np.array([can])
    turned = np.array([direction_rad])
    balance, _ = standing.load.at(laid.station_mm[here], laid.place_mm[here].imag, turned)
    left, chain, before = standing.height_mm * math.sin(balance[0]), [can], [0.0]
    wires = standing.wire_rows()[stage]
    while (
        left > 0.0
        and laid.out_at_guide_mm(chain[-1], direction_rad, wires, standing.height_mm) >= left - 1e-9
    ):
        gap, met = laid.free_travel_mm(np.array(chain[-1:]), towards, np.array([left]))
        if met[0] < 0 or gap[0] >= left or laid.closed[met[0]]:
            break
        left -= float(gap[0])
        chain.append(int(met[0]))
        before.append(before[-1] + float(gap[0]))
    return np.array(chain), np.array(before)


@kernel
def _needed(
    around: Ints,
    pack: SortedPack,
    load: LineLoad,
    standing: tuple[Floats, Floats, float],
    asked: tuple[Ints, Floats, Ints, Floats],
) -> tuple[Floats, Places]:
    """Energies; nan where a load is not worked out, and the place of it."""
    (wires, meeting, height), (cans, direction, stage, budget) = standing, asked
    # arrays by their own names: one read out of a tuple inside a loop is counted in and out
    spot, _, low, high, closed, station, _, _, _, _, _, travel, met, give = pack
    ends, nodes, rest = load.ends_mm, load.nodes, load.rest
    rest_top = np.sin(rest.real)
    count, tables = len(spot), len(met)
    needed, stretch, where = np.full(len(cans), math.inf), 0, np.empty(len(cans) + 1, np.complex128)
    # many are asked in one direction at one place after the other, and march through the same cans
    towards, across, turn, share = math.nan, 0.0, 0, 0.0
    first, place, row, block = -count, 0, 0, 0
    known, rights = np.zeros(count, np.int64), np.empty((count, 3))
    for q in range(len(cans)):
        if direction[q] != towards:
            towards, across, block = direction[q], math.sin(direction[q]), block + 1
            turn, share = turn_of(towards)
        if tables > 0 and not first <= cans[q] < first + count:
            first, block = cans[q] // count * count, block + 1
            place, row = first // tables * count, first % tables
        can = cans[q] - first if tables > 0 else cans[q]
        x, y, limit, facing = station[place + can], spot[can].imag, budget[q], abs(across)
        stretch = stretch_at(ends, x, stretch)
        sprayed, still = nodes[stretch, 0] > 0, rest[stretch]  # most of the line: without a call
        balance, total = (
            load_in(load, stretch, x, y, turn, share) if sprayed else (still.real, still.imag)
        )
        left = height * (math.sin(balance) if sprayed else rest_top[stretch])
        if balance > meeting[stage[q]] or (tables > 0 and left > give[row + can] + 1e-6):
            continue
        while total <= limit:
            wall = high[can] - spot[can].imag if across > 0.0 else spot[can].imag - low[can]
            if (
                wall < left * facing
                and over_guide_mm(wall, facing, wires[stage[q]], height) < left - 1e-9
            ):
                break
            if tables > 0:
                gap, blocker = travel[row + can], met[row + can]
            else:
                along = complex(math.cos(towards), across)
                gap, blocker = first_met(pack, can, along, left, around)
            if gap >= left or closed[blocker]:  # infinite where none is met
                needed[q] = total if gap >= left else math.inf
                break
            can, left = blocker, left - gap
            if known[can] != block:
                x, y = station[place + can], spot[can].imag
                stretch = stretch_at(ends, x, stretch)
                balance, energy = load_in(load, stretch, x, y, turn, share)
                known[can] = block if energy == energy else 0
                # a row set to a tuple takes a second to compile
                sine, cos, whole = righting(math.sin(balance), energy)
                rights[can, 0], rights[can, 1], rights[can, 2] = sine, cos, whole
            total += part_of_energy_mJ(
                left / height, rights[can, 0], rights[can, 1], rights[can, 2]
            )
        # a sum with what is not worked out is nan, and ends there; other places go to the last
        needed[q] = needed[q] if total == total else math.nan
        where[q if total != total else len(cans)] = complex(x, y)
    return needed, where


@kernel
def righting(top: float, energy_mJ: float) -> tuple[float, float, float]:
    """Work out what is alike for every lean of a can, for `part_of_energy_mJ`.

    Parameters
    ----------
    top, energy_mJ : float
        Sine of its balance angle α [-], and energy U that it takes to reach it [mJ].

    Returns
    -------
    tuple of float
        sin α and cos α [-], and U / (1 − cos α), 0 where the sprays alone overturn the can [mJ].
    """
    cos = math.sqrt(1.0 - top * top)
    # written without the cancellation of 1 − cos α
    return top, cos, energy_mJ * (1.0 + cos) / (top * top) if top > 0.0 else 0.0


@kernel
def part_of_energy_mJ(sine: float, top: float, cos: float, whole_mJ: float) -> float:
    """Energy to lean a can part of the way to balance, all of it from there on [mJ].

    Parameters
    ----------
    sine : float
        Sine of the lean θ [-].
    top, cos, whole_mJ : float
        What `righting` says of the can.

    Returns
    -------
    float
        U (cos(α − θ) − cos α) / (1 − cos α): exact where weight alone rights the can. Under the
        sprays of the shipped line within 7 % of U (root mean square), and within 2 % where the can
        is among the easiest to tip (measured in tests) [mJ].
    """
    sine = min(sine, top)
    # 1 − cos θ without its cancellation keeps the digits of a small lean
    return whole_mJ * (top * sine - cos * sine * sine / (1.0 + math.sqrt(1.0 - sine * sine)))
