"""At which heights guide wires serve every can size of a line, and how few will do.

Each size wants one wire high on its wall, to hold it from tipping, and one low, to keep its foot
in line. And what is the least to move, so that the wires as they hang do the same.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
from itertools import combinations

from packsim.can import Stance
from packsim.errors import Assumption, InputError, between, non_negative, one_of, positive


@dataclass(frozen=True, slots=True)
class Margins:
    """How far wires keep from the places they must not be at.

    Parameters
    ----------
    above_cg_mm : float
        Upper wire above the centre of gravity [mm].
    below_top_mm : float
        Upper wire below the can's top [mm].
    lip_mm : float
        Lower wire above the mat: clear of the trimmed edge and of the mat's own height [mm].
    low_share : float
        Top of the lower band as a share of the can's height [-].

    Notes
    -----
    All defaults are assumed (common practice, no source); `assumed` says so in a report.
    """

    above_cg_mm: float = 5.0
    below_top_mm: float = 8.0
    lip_mm: float = 8.0
    low_share: float = 0.35

    def __post_init__(self) -> None:
        non_negative("above_cg_mm", self.above_cg_mm)
        non_negative("below_top_mm", self.below_top_mm)
        non_negative("lip_mm", self.lip_mm)
        between("low_share", self.low_share, 0.05, 0.95)

    @property
    def assumed(self) -> tuple[Assumption, ...]:
        """Every margin that still is the default."""
        return tuple(
            Assumption(
                f"wire_margins.{field.name}",
                f"{field.default:g} mm" if field.name.endswith("_mm") else f"{field.default:g}",
                "common practice, no source",
            )
            for field in fields(self)
            if getattr(self, field.name) == field.default
        )


@dataclass(frozen=True, slots=True)
class WireBand:
    """Heights at which one wire does one thing for one size.

    Parameters
    ----------
    size : str
        Name of the can size.
    use : {"upper", "lower"}
        Against tipping, or for the foot.
    low_mm, high_mm : float
        The band [mm]; crossed when no height will do.
    """

    size: str
    use: str
    low_mm: float
    high_mm: float

    def __post_init__(self) -> None:
        one_of("use", self.use, ("upper", "lower"))

    @property
    def empty(self) -> bool:
        """Whether no height will do."""
        return self.low_mm > self.high_mm

    def holds(self, height_mm: float) -> bool:
        """Whether a wire at this height [mm] does it."""
        return self.low_mm <= height_mm <= self.high_mm

    def __str__(self) -> str:
        return f"{self.size} {self.use} {self.low_mm:.1f} to {self.high_mm:.1f} mm"


@dataclass(frozen=True, slots=True)
class WirePlan:
    """The fewest wires that do everything asked.

    Parameters
    ----------
    heights_mm : tuple of float
        Wire heights, lowest first [mm].
    serves : tuple of tuple of WireBand
        For each wire the bands it lies in.
    forced_by : tuple of WireBand
        One band per wire, no two of which share a height: the proof that fewer will not do.
    unserved : tuple of WireBand
        Bands with no height at all.
    why : str
        The proof in words.
    """

    heights_mm: tuple[float, ...]
    serves: tuple[tuple[WireBand, ...], ...]
    forced_by: tuple[WireBand, ...]
    unserved: tuple[WireBand, ...]
    why: str


def wire_bands(size: str, stance: Stance, margins: Margins) -> tuple[WireBand, WireBand]:
    """Return the upper and the lower band of one size.

    Parameters
    ----------
    size : str
        Its name.
    stance : Stance
        The can as it stands, pool included: a wet can wants its upper wire higher.
    margins : Margins
        Distances kept.

    Returns
    -------
    upper, lower : WireBand
        From the centre of gravity + margin to H cos α, above which the edge limit falls again
        (`packsim.tipping.safe_slack.wire_limit_mm`), or to the clearance under the top if that is
        lower; and from the lip clearance to low share × H. A band may be empty.
    """
    height = stance.height_mm
    high = min(height - margins.below_top_mm, height * math.cos(stance.balance_angle_rad))
    upper = WireBand(size, "upper", stance.cg_mm + margins.above_cg_mm, high)
    return upper, WireBand(size, "lower", margins.lip_mm, margins.low_share * height)


def fewest_wires(bands: Sequence[WireBand]) -> WirePlan:
    """Return the fewest wires that lie in every band.

    Parameters
    ----------
    bands : sequence of WireBand
        Both bands of every size; empty bands are set aside as unserved.

    Returns
    -------
    WirePlan
        Heights, what each serves, and why fewer will not do.

    Notes
    -----
    Take the band whose top is lowest, put a wire there, drop every band it lies in, go on. The
    bands that called for a wire share no height with each other, so no fewer wires reach them all.
    Each wire may then move within what its bands have in common: to the top of it when it has an
    upper band, because the edge limit grows with height; else to the middle.
    """
    todo = sorted((band for band in bands if not band.empty), key=lambda band: band.high_mm)
    heights, forced = [], []
    while todo:
        first = todo[0]
        group = [band for band in todo if band.low_mm <= first.high_mm]
        todo = [band for band in todo if band.low_mm > first.high_mm]
        low = max(band.low_mm for band in group)
        upper = any(band.use == "upper" for band in group)
        heights.append(first.high_mm if upper else (low + first.high_mm) / 2.0)
        forced.append(first)
    serves = tuple(tuple(band for band in bands if band.holds(z)) for z in heights)
    unserved = tuple(band for band in bands if band.empty)
    return WirePlan(tuple(heights), serves, tuple(forced), unserved, _why(forced, unserved))


def _why(forced: list[WireBand], unserved: tuple[WireBand, ...]) -> str:
    text = "1 wire serves every size" if forced else "no wire can serve"
    if len(forced) > 1:
        text = f"{len(forced)} wires, because no two of these share a height: "
        text += "; ".join(str(band) for band in forced)
    if unserved:
        text += ". No height at all for " + "; ".join(f"{b.size} {b.use}" for b in unserved)
    return text


MAX_WIRES = 12
"""Every choice of wires to leave alone is tried, 2¹² of them at most."""

Moves = tuple[tuple[float, float], ...]
"""Wires to move, from and to [mm]."""


def wire_moves(
    heights_mm: Sequence[float], bands: Sequence[WireBand]
) -> tuple[Moves, tuple[float, ...]]:
    """Return the least change of present wires that serves every band that can be served.

    Parameters
    ----------
    heights_mm : sequence of float
        Wires as they hang on one side, in any order, at most `MAX_WIRES` [mm].
    bands : sequence of WireBand
        Every use of every size.

    Returns
    -------
    moves_mm : tuple of (float, float)
        Wires to move, from and to [mm].
    added_mm : tuple of float
        Heights of wires to add [mm].

    Notes
    -----
    Least are the wires to add, then the wires to move, then the millimetres moved. Every set of
    wires to leave alone is tried; what they do not serve is stabbed with the fewest further wires,
    at the heights `fewest_wires` chooses. Wires set free are matched in order, which is the
    shortest way on a line.
    """
    if len(heights_mm) > MAX_WIRES:
        raise InputError("heights_mm", f"{len(heights_mm)} wires", f"at most {MAX_WIRES}")
    wires = sorted(positive("heights_mm", z) for z in heights_mm)
    best: tuple[tuple[int, int, float], tuple[Moves, tuple[float, ...]]] | None = None
    for count in range(len(wires), -1, -1):
        for kept in combinations(range(len(wires)), count):
            left = [b for b in bands if not b.empty and not any(b.holds(wires[i]) for i in kept)]
            wanted = fewest_wires(left).heights_mm
            free = [wires[i] for i in range(len(wires)) if i not in kept]
            if len(wanted) < len(free):
                continue  # leaving more wires alone does the same
            moves, added = _match(free, wanted)
            cost = (len(added), len(moves), sum(abs(b - a) for a, b in moves))
            if best is None or cost < best[0]:
                best = (cost, (moves, added))
    return best[1] if best is not None else ((), ())


def _match(free: list[float], wanted: Sequence[float]) -> tuple[Moves, tuple[float, ...]]:
    """Pair every free wire with a wanted height, the rest being added; least total way."""
    pairs = min(
        (tuple(zip(free, chosen, strict=True)) for chosen in combinations(wanted, len(free))),
        key=lambda some: sum(abs(b - a) for a, b in some),
    )
    used = {to for _, to in pairs}
    return pairs, tuple(z for z in wanted if z not in used)
