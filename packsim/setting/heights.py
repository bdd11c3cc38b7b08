"""What is measured upwards: the wires both sizes want, and the hold-down over the new cans."""

import math
from collections.abc import Sequence

from packsim.answers import rest_share
from packsim.can import Can, Stance
from packsim.line import Scenario, Stage
from packsim.setting.moves import HoldDownMove, WireMove, WirePart
from packsim.tipping.hold_down import clearance_limit_mm
from packsim.width.wire_heights import Margins, WireBand, wire_bands
from packsim.width.wire_moves import MAX_WIRES, wire_moves


def step_of(stage: Stage, step_mm: float | None) -> float:
    """Step that settings of a stage are whole multiples of [mm]."""
    return stage.guides.setting_step_mm if step_mm is None else step_mm


def wires_for(
    scenario: Scenario, from_size: str, to_size: str, margins: Margins, step_mm: float | None
) -> tuple[WirePart, ...]:
    """Plan the wires of every stage.

    Parameters
    ----------
    scenario : Scenario
        The line as it stands.
    from_size, to_size : str
        Both sizes; the wires are to serve either, so that they are moved once.
    margins : Margins
        Distances wires keep.
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
        bands = [band for can in cans for band in _bands(stages, can, margins)]
        step = max(step_of(stage, step_mm) for stage in stages)
        planned = _planned(heights, bands, from_size, step)
        for i in members:
            known = scenario.stages[i].setting_for(to_size) if old is not new else None
            on_record = None if known is None else known.wire_heights_mm
            parts[i] = planned
            if on_record is not None:
                parts[i] = _recorded(heights, on_record, bands, from_size)
    return tuple(parts[i] for i in range(len(scenario.stages)))


def _bands(stages: Sequence[Stage], can: Can, margins: Margins) -> list[WireBand]:
    """Bands of one size that all stages share, or each stage's own where they share none."""
    found = []
    pairs = [wire_bands(can.name, can.stance(rest_share(can, s)), margins) for s in stages]
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
    plan = wire_moves(heights, bands)
    moved = dict(plan.moves_mm)
    pairs: list[tuple[float | None, float]] = [
        (z, _on_mark(moved[z], bands, step_mm) if moved.get(z, z) != z else z) for z in heights
    ]
    pairs += [(None, _on_mark(z, bands, step_mm)) for z in plan.added_mm]
    if plan.good:
        why = "the wires as they hang do every duty of both sizes"
    else:
        why = "fewest moves that do every duty of both sizes"
    return _part(pairs, bands, from_size, why)


def _on_mark(height_mm: float, bands: list[WireBand], step_mm: float) -> float:
    """Nearest whole step that serves the same bands; the height itself where none does."""
    if height_mm + step_mm <= height_mm:  # no step, or finer than a height can tell
        return height_mm
    marks = [math.floor(height_mm / step_mm) * step_mm, math.ceil(height_mm / step_mm) * step_mm]
    serves = [band for band in bands if band.holds(height_mm)]
    good = [z for z in marks if z > 0.0 and all(band.holds(z) for band in serves)]
    return min(good, key=lambda z: abs(z - height_mm), default=height_mm)


def _recorded(
    heights: tuple[float, ...], known: tuple[float, ...], bands: list[WireBand], from_size: str
) -> WirePart:
    """Match wires to the heights on record in order, those beyond being added."""
    old = [*heights, *[None] * len(known)][: max(len(known), 0)]
    pairs = list(zip(old, known, strict=True))
    return _part(pairs, bands, from_size, "heights on record for this size")


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
        Its effective balance angle [rad].
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
    height = _mark_between(top + clearance, top, top + limit, step_mm)
    return HoldDownMove(now, height, height - top, why)


def _mark_between(aim_mm: float, low_mm: float, high_mm: float, step_mm: float) -> float:
    """Nearest whole step strictly between two heights, or the height aimed at [mm]."""
    if step_mm <= 0.0:
        return aim_mm
    near = round(aim_mm / step_mm)
    marks = [(near + i) * step_mm for i in (-1, 0, 1)]
    good = [z for z in marks if low_mm < z < high_mm]
    return min(good, key=lambda z: abs(z - aim_mm), default=aim_mm)
