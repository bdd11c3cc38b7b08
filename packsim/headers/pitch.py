"""The nozzle pitch of a new header, for one size or for all that a line runs."""

from collections.abc import Sequence
from typing import Final

from packsim.can import Can
from packsim.errors import InputError
from packsim.headers.arrangement import chosen_sizes, sprayed_stages
from packsim.headers.candidates import candidates, row_for
from packsim.headers.pitch_advice import PitchAdvice, PitchWish, SizeLines
from packsim.line import DUTIES, Scenario
from packsim.nozzles.pitch import best_pitch, exact_pitches
from packsim.setting import recommend
from packsim.setting.place import lane_places_mm
from packsim.width.lane_rule import lane_pitch_mm

LOW_OVER_SMALLEST: Final = 0.9
HIGH_OVER_LARGEST: Final = 1.25
"""Range looked at when none is given, over the smallest and the largest line pitch of the sizes.

No pitch p is worse than p/2 off, so the shortest always wins if it may be as short as it likes; it
costs a nozzle for each. The lower end is a tenth below one nozzle for each lane of the slimmest
size, enough to see on which side of it a compromise lies."""

FINEST: Final = 8
COARSEST: Final = 8
"""Pitches looked at are from an eighth of the smallest line pitch to eight of the largest: a nozzle
finer than that is a slot, and one coarser leaves whole lanes between."""


def advise_pitch(
    scenario: Scenario,
    stages: Sequence[str] = (),
    sizes: Sequence[str] = (),
    wish: PitchWish | None = None,
) -> tuple[PitchAdvice, ...]:
    """Advise the nozzle pitch of new headers.

    Parameters
    ----------
    scenario : Scenario
        The case.
    stages, sizes : sequence of str
        Names; all sizes, and all stages that have a header, when empty. Where no stage has one,
        all that may get one: not an oven, not a drain.
    wish : PitchWish, optional
        Range, weights, tolerances.

    Returns
    -------
    tuple of PitchAdvice
        One for each set of can lines: stages with the same lines share theirs. Lines are those of
        the touching pack of the recommended lanes in the middle of the pass: a header outlives
        today's guide setting.

    Raises
    ------
    InputError
        If a name is unknown, a size fits nowhere, a weight is not above 0, or the range is empty.
    """
    asked = PitchWish() if wish is None else wish
    cans = chosen_sizes(scenario, sizes)
    _check_weights(asked, cans)
    groups: dict[tuple[tuple[float, int, float], ...], list[int]] = {}
    for i in _stages(scenario, stages):
        groups.setdefault(tuple(_key(scenario, i, can) for can in cans), []).append(i)
    return tuple(_advise(scenario, cans, tuple(group), asked) for group in groups.values())


def _stages(scenario: Scenario, stages: Sequence[str]) -> tuple[int, ...]:
    if stages:
        names = [scenario.stage(name).name for name in stages]
        return tuple(i for i, s in enumerate(scenario.stages) if s.name in names)
    found = sprayed_stages(scenario)
    if not found:
        found = tuple(i for i, s in enumerate(scenario.stages) if DUTIES[s.duty].sprays)
    if not found:
        raise InputError("stages", "ovens and drains only", "a stage that may have a header")
    return found


def _check_weights(wish: PitchWish, cans: Sequence[Can]) -> None:
    known = [can.name for can in cans]
    for name in wish.weights or {}:
        if name not in known:
            raise InputError("weight", repr(name), "one of " + ", ".join(known))


def _key(scenario: Scenario, index: int, can: Can) -> tuple[float, int, float]:
    """Return what decides the lines of a size in a stage: middle, lanes, line pitch."""
    stage, part = scenario.stages[index], recommend(scenario, can.name).stages[index]
    if part.jams:
        raise InputError(
            "size", repr(can.name), f"a can that fits between the guides of {stage.name!r}"
        )
    pitch = lane_pitch_mm(can.diameter_mm, stage.layout)
    return round(stage.guides.centre_mm, 6), part.lanes, round(pitch, 9)


def _advise(
    scenario: Scenario, cans: Sequence[Can], group: tuple[int, ...], wish: PitchWish
) -> PitchAdvice:
    stage = scenario.stages[group[0]]
    pitches = [lane_pitch_mm(can.diameter_mm, stage.layout) for can in cans]
    low = LOW_OVER_SMALLEST * min(pitches) if wish.low_mm is None else wish.low_mm
    high = HIGH_OVER_LARGEST * max(pitches) if wish.high_mm is None else wish.high_mm
    _check_range(low, high, wish.pitch_mm, pitches)
    sizes = tuple(_size(scenario, group[0], can, (low, high), wish.allowance_mm) for can in cans)
    lines = [size.lines_mm for size in sizes]
    weights = tuple((wish.weights or {}).get(can.name, 1.0) for can in cans)
    best = best_pitch(lines, low, high, weights, wish.allowance_mm)
    drilled = best.pitch_mm if wish.pitch_mm is None else wish.pitch_mm
    headers = [h for i in group for h in scenario.stages[i].headers]
    return PitchAdvice(
        stages=tuple(scenario.stages[i].name for i in group),
        sizes=sizes,
        weights=weights,
        low_mm=low,
        high_mm=high,
        best=best,
        candidates=candidates(headers, sizes, best, weights, high, wish),
        drilling=row_for(lines, drilled, wish),
        allowance_mm=wish.allowance_mm,
    )


def _check_range(low: float, high: float, drilled: float | None, pitches: list[float]) -> None:
    """Refuse pitches no header is drilled with, and an empty range."""
    least, most = min(pitches) / FINEST, max(pitches) * COARSEST
    for key, value in (("lowest", low), ("highest", high), ("drill", drilled)):
        if value is not None and not least <= value <= most:
            raise InputError(key, f"{value:g} mm", f"a pitch from {least:.3g} to {most:.4g} mm")
    if high < low:
        raise InputError("highest", f"{high:g} mm", f"at least the lower end, {low:g} mm")


def _size(
    scenario: Scenario, index: int, can: Can, span: tuple[float, float], allowance: float
) -> SizeLines:
    centre, lanes, pitch = _key(scenario, index, can)
    layout = scenario.stages[index].layout
    lines = lane_places_mm(lanes, can.diameter_mm, layout, centre)
    alone = best_pitch([lines], *span, allowance_mm=allowance)
    return SizeLines(
        can=can,
        lanes=lanes,
        line_pitch_mm=pitch,
        lines_mm=lines,
        alone=alone,
        exact=exact_pitches(pitch, *span),
    )
