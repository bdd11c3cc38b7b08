"""What the wires as they hang do for each size, and the least to move so that all are served."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from packsim.errors import InputError, positive
from packsim.width.wire_heights import WireBand, fewest_wires

MAX_WIRES = 12
"""Every choice of wires to leave alone is tried, 2¹² of them at most."""


@dataclass(frozen=True, slots=True)
class WireDuty:
    """What one wire does.

    Parameters
    ----------
    height_mm : float
        Its height [mm].
    serves : tuple of WireBand
        The bands it lies in; empty when it serves no size.
    alone : tuple of WireBand
        Those that no other wire serves.
    """

    height_mm: float
    serves: tuple[WireBand, ...]
    alone: tuple[WireBand, ...]

    @property
    def idle(self) -> bool:
        """Whether it serves no size."""
        return not self.serves


@dataclass(frozen=True, slots=True)
class WireMoves:
    """How to get from the wires as they hang to wires that serve every size.

    Parameters
    ----------
    duties : tuple of WireDuty
        The wires as they hang, lowest first.
    unserved : tuple of WireBand
        Bands no wire serves now.
    moves_mm : tuple of (float, float)
        Wires to move, from and to [mm].
    added_mm : tuple of float
        Heights of wires to add [mm].
    impossible : tuple of WireBand
        Bands with no height at all.
    """

    duties: tuple[WireDuty, ...]
    unserved: tuple[WireBand, ...]
    moves_mm: tuple[tuple[float, float], ...]
    added_mm: tuple[float, ...]
    impossible: tuple[WireBand, ...]

    @property
    def good(self) -> bool:
        """Whether every size is served as the wires hang."""
        return not self.unserved and not self.impossible


def wire_moves(heights_mm: Sequence[float], bands: Sequence[WireBand]) -> WireMoves:
    """Return what present wires do, and the least change that serves every band.

    Parameters
    ----------
    heights_mm : sequence of float
        Wires as they hang on one side, in any order, at most 12 [mm].
    bands : sequence of WireBand
        Every duty of every size.

    Returns
    -------
    WireMoves
        Least number of wires to add, then of wires to move, then of millimetres moved.

    Notes
    -----
    Every set of wires to leave alone is tried; what they do not serve is stabbed with the fewest
    further wires, at the heights `fewest_wires` chooses. Wires set free are matched in order,
    which is the shortest way on a line.
    """
    if len(heights_mm) > MAX_WIRES:
        raise InputError("heights_mm", f"{len(heights_mm)} wires", f"at most {MAX_WIRES}")
    wires = sorted(positive("heights_mm", z) for z in heights_mm)
    real = [band for band in bands if not band.empty]
    served = [[band for band in real if band.holds(z)] for z in wires]
    duties = []
    for i, z in enumerate(wires):
        others = [band for j, some in enumerate(served) if j != i for band in some]
        alone = tuple(band for band in served[i] if band not in others)
        duties.append(WireDuty(z, tuple(served[i]), alone))
    moves, added = _least_change(wires, real)
    return WireMoves(
        tuple(duties),
        tuple(band for band in real if not any(band.holds(z) for z in wires)),
        moves,
        added,
        tuple(band for band in bands if band.empty),
    )


_Change = tuple[tuple[tuple[float, float], ...], tuple[float, ...]]


def _least_change(wires: list[float], bands: list[WireBand]) -> _Change:
    best: tuple[tuple[int, int, float], _Change] | None = None
    for count in range(len(wires), -1, -1):
        for kept in combinations(range(len(wires)), count):
            left = [b for b in bands if not any(b.holds(wires[i]) for i in kept)]
            wanted = fewest_wires(left).heights_mm
            free = [wires[i] for i in range(len(wires)) if i not in kept]
            if len(wanted) < len(free):
                continue  # leaving more wires alone does the same
            change = _match(free, wanted)
            moves, added = change
            cost = (len(added), len(moves), sum(abs(b - a) for a, b in moves))
            if best is None or cost < best[0]:
                best = (cost, change)
    return best[1] if best is not None else ((), ())


def _match(free: list[float], wanted: Sequence[float]) -> _Change:
    """Pair every free wire with a wanted height, the rest being added; least total way."""
    pairs = min(
        (tuple(zip(free, chosen, strict=True)) for chosen in combinations(wanted, len(free))),
        key=lambda some: sum(abs(b - a) for a, b in some),
    )
    used = {to for _, to in pairs}
    return pairs, tuple(z for z in wanted if z not in used)
