"""The nozzle pitch of a new header, for one size or for all that a line runs."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.can import Can
from packsim.constants import PITCH_TOL_MM
from packsim.errors import InputError
from packsim.headers.arrangement import chosen_sizes, sprayed_stages
from packsim.headers.pitch_advice import Candidate, PitchAdvice, PitchWish, SizeLines
from packsim.line import DUTIES, Header, Scenario
from packsim.nozzles.drilling import Drilling, drill_header
from packsim.nozzles.phase import best_phase
from packsim.nozzles.pitch import best_pitch, exact_pitches
from packsim.pack.lattice import lane_pitch_mm, lane_places_mm
from packsim.setting import recommend
from packsim.spray.dose import band_mm
from packsim.spray.jets import footprint_of
from packsim.spray.uniformity import christiansen

LOW_OVER_SMALLEST: Final = 0.9
HIGH_OVER_LARGEST: Final = 1.25
"""Range looked at when none is given, over the smallest and the largest line pitch of the sizes.
No pitch p is worse than p/2 off, so the shortest always wins if it may be as short as it likes; it
costs a nozzle for each. The lower end is a tenth below one nozzle for each lane of the slimmest
size, enough to see on which side of it a compromise lies."""

FARTHEST: Final = 8
"""Pitches looked at are from an eighth of the smallest line pitch to eight of the largest: a nozzle
finer than that is a slot, and one coarser leaves whole lanes between."""

_MOST_LONGER: Final = 5  # longer pitches listed: more is a table nobody reads
_MOST_BANDS: Final = 60  # bands looked through for them


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
    for name in asked.weights or {}:
        if name not in (known := [can.name for can in cans]):
            raise InputError("weight", repr(name), "one of " + ", ".join(known))
    groups: dict[tuple[tuple[float, int, float], ...], list[int]] = {}
    for i in _stages(scenario, stages):
        groups.setdefault(tuple(_key(scenario, i, can) for can in cans), []).append(i)
    return tuple(_advise(scenario, cans, tuple(group), asked) for group in groups.values())


def _stages(scenario: Scenario, stages: Sequence[str]) -> tuple[int, ...]:
    names = [scenario.stage(name).name for name in stages]
    every = list(enumerate(scenario.stages))
    if names:
        return tuple(i for i, stage in every if stage.name in names)
    found = sprayed_stages(scenario) or tuple(i for i, s in every if DUTIES[s.duty].sprays)
    if not found:
        raise InputError("stages", "ovens and drains only", "a stage that may have a header")
    return found


def _key(scenario: Scenario, index: int, can: Can) -> tuple[float, int, float]:
    """Return what decides the lines of a size in a stage: middle, lanes, line pitch."""
    stage, part = scenario.stages[index], recommend(scenario, can.name).stages[index]
    if part.jams:
        allowed = f"a can that fits between the guides of {stage.name!r}"
        raise InputError("size", repr(can.name), allowed)
    pitch = lane_pitch_mm(can.diameter_mm, stage.layout)
    return round(stage.guides.centre_mm, 6), part.lanes, round(pitch, 9)


def _advise(
    scenario: Scenario, cans: Sequence[Can], group: tuple[int, ...], wish: PitchWish
) -> PitchAdvice:
    layout = scenario.stages[group[0]].layout
    pitches = [lane_pitch_mm(can.diameter_mm, layout) for can in cans]
    low = LOW_OVER_SMALLEST * min(pitches) if wish.low_mm is None else wish.low_mm
    high = HIGH_OVER_LARGEST * max(pitches) if wish.high_mm is None else wish.high_mm
    _check_range(low, high, wish.pitch_mm, pitches)
    sizes = tuple(_size(scenario, group[0], can, (low, high), wish.allowance_mm) for can in cans)
    lines = [size.lines_mm for size in sizes]
    weights = tuple((wish.weights or {}).get(can.name, 1.0) for can in cans)
    best = best_pitch(lines, low, high, weights, wish.allowance_mm)
    advice = PitchAdvice(
        stages=tuple(scenario.stages[i].name for i in group),
        sizes=sizes,
        weights=weights,
        low_mm=low,
        high_mm=high,
        best=best,
        candidates=(),
        drilling=_row(lines, best.pitch_mm if wish.pitch_mm is None else wish.pitch_mm, wish),
        allowance_mm=wish.allowance_mm,
    )
    headers = [h for i in group for h in scenario.stages[i].headers]
    rows = _compared(advice, headers, wish.pitch_mm)
    return replace(advice, candidates=tuple(_candidate(sizes, headers, wish, one) for one in rows))


def _check_range(low: float, high: float, drilled: float | None, pitches: list[float]) -> None:
    """Refuse pitches no header is drilled with, and an empty range."""
    least, most = min(pitches) / FARTHEST, max(pitches) * FARTHEST
    for key, value in (("lowest", low), ("highest", high), ("drill", drilled)):
        if value is not None and not least <= value <= most:
            raise InputError(key, f"{value:g} mm", f"a pitch from {least:.3g} to {most:.4g} mm")
    if high < low:
        raise InputError("highest", f"{high:g} mm", f"at least the lower end, {low:g} mm")


def _size(
    scenario: Scenario, index: int, can: Can, span: tuple[float, float], allowance: float
) -> SizeLines:
    centre, lanes, pitch = _key(scenario, index, can)
    lines = lane_places_mm(lanes, can.diameter_mm, scenario.stages[index].layout, centre)
    alone = best_pitch([lines], *span, allowance_mm=allowance)
    return SizeLines(can, lanes, pitch, lines, alone, exact=exact_pitches(pitch, *span))


def _compared(
    advice: PitchAdvice, headers: Sequence[Header], asked_mm: float | None
) -> Iterator[tuple[str, str, float]]:
    """Yield the pitches worth comparing: why, the size whose own line pitch it is, the pitch."""
    best_mm = advice.best.pitch_mm
    yield "best", "", best_mm
    if asked_mm is not None:
        yield "asked", "", asked_mm
    for pitch in _longer(advice):
        yield "longer", "", pitch
    for size in advice.sizes:
        if abs(size.line_pitch_mm - best_mm) > PITCH_TOL_MM:  # else it is the best itself
            yield "own", size.can.name, size.line_pitch_mm
    for pitch in sorted({header.pitch_mm for header in headers}):
        yield "today", "", pitch


def _longer(advice: PitchAdvice) -> Iterator[float]:
    """Yield best pitches beyond the band of the one before that need fewer nozzles than it."""

    def nozzles(pitch_mm: float) -> int:
        return len(drill_header(lines, pitch_mm).positions_mm)

    lines, high, found = advice.lines_by_size_mm, advice.high_mm, 0
    start, fewest = advice.best.band_mm[1], nozzles(advice.best.pitch_mm)
    for _ in range(_MOST_BANDS):
        if start >= high * (1.0 - 1e-9) or found == _MOST_LONGER:
            break
        one = best_pitch(lines, start, high, advice.weights, advice.allowance_mm)
        # a best pitch at the start of the range is only the slope of the band before
        if one.pitch_mm > start * (1.0 + 1e-9) and nozzles(one.pitch_mm) < fewest:
            found, fewest = found + 1, nozzles(one.pitch_mm)
            yield one.pitch_mm
        start = max(one.band_mm[1], start * 1.001)


def _candidate(
    sizes: Sequence[SizeLines],
    headers: Sequence[Header],
    wish: PitchWish,
    named: tuple[str, str, float],
) -> Candidate:
    what, size, pitch_mm = named
    phases = [best_phase(s.lines_mm, [pitch_mm]) for s in sizes]
    row = _row([s.lines_mm for s in sizes], pitch_mm, wish)
    first, count = float(row.positions_mm[0]), len(row.positions_mm)
    drilled = [replace(h, first_mm=first, pitch_mm=pitch_mm, count=count) for h in headers]
    even = [
        least_evenness(s.lines_mm + shift, s.can.diameter_mm, s.can.height_mm, drilled)
        for s, shift in zip(sizes, row.shifts_mm, strict=True)
    ]
    worst, rms = [p.worst_mm[0] for p in phases], [p.rms_mm[0] for p in phases]
    return Candidate(what, size, pitch_mm, count, *map(np.array, (worst, rms, even)))


def _row(lines: Sequence[Floats], pitch_mm: float, wish: PitchWish) -> Drilling:
    """Return the holes for a pitch, those beyond the outermost lanes at each end included."""
    row = drill_header(lines, pitch_mm, wish.tolerance_mm)
    count = len(row.positions_mm) + 2 * wish.beyond
    first = float(row.positions_mm[0]) - wish.beyond * pitch_mm
    return replace(row, positions_mm=first + pitch_mm * np.arange(count, dtype=np.float64))


def least_evenness(
    lines_mm: Floats, diameter_mm: float, height_mm: float, headers: Iterable[Header]
) -> float:
    """Lowest uniformity over the lanes that any of the headers gives by itself.

    Parameters
    ----------
    lines_mm : ndarray, shape (m,)
        Lines of can centres, as many cans on each, from the mat's left edge [mm].
    diameter_mm, height_mm : float
        The can [mm].
    headers : iterable of Header
        Headers above and below; those above no higher than the can tops are left out.

    Returns
    -------
    float
        Least of Christiansen's coefficients of what lands in the mouths from a header below, or
        on the tops from one above; nan where there is no header [-].

    Notes
    -----
    Each lane gets of each nozzle the flow through the band its cans sweep; pressure, mat speed and
    the mat's open share scale all lanes alike and drop out. Headers that differ only in these, or
    in their station, are looked at once.
    """
    seen: dict[tuple[object, ...], float] = {}
    for header in headers:
        if header.side == "above" and header.mat_distance_mm <= height_mm:
            continue
        nozzle = replace(header.nozzle, flow_mm3_per_s=1.0, reference_MPa=1.0)
        row = (header.mat_distance_mm, header.first_mm, header.pitch_mm, header.count)
        key = (header.side, *row, nozzle)
        if key not in seen:
            across = lines_mm[:, None] - header.positions_mm
            caught = band_mm(footprint_of(header, height_mm), across, diameter_mm / 2.0)
            seen[key] = christiansen(np.sum(caught, axis=1))
    return min(seen.values(), default=float("nan"))
