"""What is measured upwards: the wires both sizes want, and the hold-down over the new cans."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from packsim.answers import rest_share
from packsim.can import Can, Stance
from packsim.line import Scenario, Stage
from packsim.tipping.hold_down import clearance_limit_mm
from packsim.width.wire_heights import MAX_WIRES, Margins, WireBand, wire_bands, wire_moves


@dataclass(frozen=True, slots=True)
class WireMove:
    """One wire of each side.

    Parameters
    ----------
    now_mm : float or None
        Its height above the mat; None for a wire to be added [mm].
    new_mm : float
        Its new height [mm].
    idle : bool
        Whether it serves neither size at its new height.
    """

    now_mm: float | None
    new_mm: float
    idle: bool = False

    @property
    def move_mm(self) -> float:
        """How far it moves, 0 for one that is added [mm]."""
        return 0.0 if self.now_mm is None else abs(self.new_mm - self.now_mm)

    @property
    def direction(self) -> str:
        """``up``, ``down``, ``stay`` or ``add``."""
        return "add" if self.now_mm is None else _direction(self.now_mm, self.new_mm)


@dataclass(frozen=True, slots=True)
class WirePart:
    """The wires of one stage.

    Parameters
    ----------
    moves : tuple of WireMove
        Every wire of one side, lowest new height first; the other side is the same.
    why : str
        Why so many and no fewer, or where the heights come from.
    unserved : tuple of str
        Duties that no wire does at the new heights, in words.
    keeps_old : bool
        Whether the new heights serve the size that leaves, so that they need not be put back.
    """

    moves: tuple[WireMove, ...]
    why: str
    unserved: tuple[str, ...]
    keeps_old: bool

    @property
    def heights_mm(self) -> tuple[float, ...]:
        """New heights, lowest first [mm]."""
        return tuple(move.new_mm for move in self.moves)


@dataclass(frozen=True, slots=True)
class HoldDownMove:
    """The hold-down mat of one stage.

    Parameters
    ----------
    now_mm, new_mm : float
        Height of its underside above the mat [mm].
    clearance_mm : float
        New clearance over the tops of the new size [mm].
    why : str
        How the new height was chosen.
    """

    now_mm: float
    new_mm: float
    clearance_mm: float
    why: str

    @property
    def direction(self) -> str:
        """``up``, ``down`` or ``stay``."""
        return _direction(self.now_mm, self.new_mm)


def _direction(now_mm: float, new_mm: float) -> str:
    if new_mm == now_mm:
        return "stay"
    return "up" if new_mm > now_mm else "down"


def step_of(stage: Stage, step_mm: float | None) -> float:
    """Step that settings of a stage are whole multiples of [mm]."""
    return stage.guides.setting_step_mm if step_mm is None else step_mm


def wires_for(
    scenario: Scenario, from_size: str, to_size: str, step_mm: float | None
) -> tuple[WirePart, ...]:
    """Plan the wires of every stage.

    Parameters
    ----------
    scenario : Scenario
        The line as it stands.
    from_size, to_size : str
        Both sizes; the wires are to serve either, so that they are moved once.
    step_mm : float or None
        Step heights are set to; None for each stage's own [mm].

    Returns
    -------
    tuple of WirePart
        One for each stage. Heights on record for the new size are taken as they are. Else stages
        whose wires hang alike are planned together, because a wire runs through them all: a band
        then is what the stages have in common.
    """
    old, new = scenario.size(from_size), scenario.size(to_size)
    cans = (new,) if old is new else (old, new)
    groups: dict[tuple[float, ...], list[int]] = {}
    for i, stage in enumerate(scenario.stages):
        groups.setdefault(stage.guides.wires.heights_mm, []).append(i)
    parts: dict[int, WirePart] = {}
    for heights, members in groups.items():
        stages = [scenario.stages[i] for i in members]
        bands = [band for can in cans for band in _bands(stages, can)]
        planned = _planned(heights, bands, from_size, max(step_of(s, step_mm) for s in stages))
        for i in members:
            known = scenario.stages[i].setting_for(to_size) if old is not new else None
            on_record = None if known is None else known.wire_heights_mm
            parts[i] = planned
            if on_record is not None:  # in order; those beyond the present ones are added
                pairs = zip([*heights, *[None] * len(on_record)], on_record, strict=False)
                parts[i] = _part(list(pairs), bands, from_size, "heights on record for this size")
    return tuple(parts[i] for i in range(len(scenario.stages)))


def _bands(stages: Sequence[Stage], can: Can) -> list[WireBand]:
    """Bands of one size that all stages share, or each stage's own where they share none."""
    found = []
    pairs = [wire_bands(can.name, can.stance(rest_share(can, s)), Margins()) for s in stages]
    for own in zip(*pairs, strict=True):
        low, high = max(band.low_mm for band in own), min(band.high_mm for band in own)
        if low <= high or any(band.empty for band in own):
            found.append(WireBand(can.name, own[0].use, low, high))
        else:
            found += list(dict.fromkeys(own))
    return found


def _planned(
    heights: tuple[float, ...], bands: list[WireBand], from_size: str, step_mm: float
) -> WirePart:
    if len(heights) > MAX_WIRES:
        why = f"more than {MAX_WIRES} wires: left as they hang"
        return _part([(z, z) for z in heights], bands, from_size, why)

    def marked(z: float) -> float:
        serves = [band for band in bands if band.holds(z)]
        return _on_mark(z, step_mm, lambda at: at > 0.0 and all(band.holds(at) for band in serves))

    moves, added = wire_moves(heights, bands)
    moved = dict(moves)
    pairs: list[tuple[float | None, float]] = [
        (z, marked(moved[z]) if moved.get(z, z) != z else z) for z in heights
    ]
    pairs += [(None, marked(z)) for z in added]
    if all(any(band.holds(z) for z in heights) for band in bands):
        why = "the wires as they hang do every duty of both sizes"
    else:
        why = "fewest moves that do every duty of both sizes"
    return _part(pairs, bands, from_size, why)


def _on_mark(aim_mm: float, step_mm: float, good: Callable[[float], bool]) -> float:
    """Nearest whole step that is good; the height aimed at where none beside it is [mm]."""
    if aim_mm + step_mm <= aim_mm:  # no step, or finer than a height can tell
        return aim_mm
    marks = [whole(aim_mm / step_mm) * step_mm for whole in (math.floor, math.ceil)]
    return min(filter(good, marks), key=lambda z: abs(z - aim_mm), default=aim_mm)


def _part(
    pairs: Sequence[tuple[float | None, float]], bands: list[WireBand], from_size: str, why: str
) -> WirePart:
    moves = [WireMove(a, b, not any(band.holds(b) for band in bands)) for a, b in pairs]
    open_bands = [band for band in bands if not any(band.holds(b) for _, b in pairs)]
    words = tuple(
        f"{band.use} wire of {band.size}" + (": no height is right for it" if band.empty else "")
        for band in open_bands
    )
    keeps = not any(band.size == from_size for band in open_bands)
    return WirePart(tuple(sorted(moves, key=lambda m: m.new_mm)), why, words, keeps)


def hold_down_for(
    stage: Stage, old: Can, new: Can, stance: Stance, balance_rad: float, step_mm: float
) -> HoldDownMove | None:
    """Choose the height of a stage's hold-down mat for the new size.

    Parameters
    ----------
    stage : Stage
        The stage as it stands.
    old, new : Can
        Size that leaves and size that comes.
    stance : Stance
        The new size as it stands in the stage.
    balance_rad : float
        Its least balance angle in any direction [rad].
    step_mm : float
        Step of the setting [mm].

    Returns
    -------
    HoldDownMove or None
        The height on record, or the present clearance over the new tops where cans cannot tip
        under it, or half of the greatest clearance that keeps them from it. None without a
        hold-down.
    """
    now = stage.hold_down_mm
    if now is None:
        return None
    top, known = new.height_mm, stage.setting_for(new.name)
    if known is not None and known.hold_down_mm is not None and new.name != old.name:
        height = known.hold_down_mm
        return HoldDownMove(now, height, height - top, "height on record for this size")
    limit = clearance_limit_mm(stance, balance_rad)
    if limit <= 0.0:  # the sprays alone carry the can over: no clearance would hold it
        limit = clearance_limit_mm(stance)
    clearance = now - old.height_mm
    why = "same clearance over the can tops"
    if not 0.0 < clearance < limit:
        clearance, why = limit / 2.0, "half of the greatest clearance that keeps cans from tipping"
    elif new.height_mm == old.height_mm:
        return HoldDownMove(now, now, clearance, why)
    height = _on_mark(top + clearance, step_mm, lambda z: top < z < top + limit)
    return HoldDownMove(now, height, height - top, why)
