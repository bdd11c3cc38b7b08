"""Pitches worth comparing for a new header, and what each of them means for every size."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.constants import PITCH_TOL_MM
from packsim.headers.pitch_advice import Candidate, PitchWish, SizeLines
from packsim.line import Header
from packsim.nozzles.drilling import Drilling, drill_header
from packsim.nozzles.phase import best_phase
from packsim.nozzles.pitch import PitchChoice, best_pitch
from packsim.spray.dose import band_mm
from packsim.spray.jets import footprint_of
from packsim.spray.uniformity import christiansen

_MOST_LONGER: Final = 5  # longer pitches listed: more is a table nobody reads
_MOST_BANDS: Final = 60  # bands looked through for them


def candidates(
    headers: Sequence[Header],
    sizes: Sequence[SizeLines],
    best: PitchChoice,
    weights: Sequence[float],
    high_mm: float,
    wish: PitchWish,
) -> tuple[Candidate, ...]:
    """Return the pitches worth comparing, the best first.

    Parameters
    ----------
    headers : sequence of Header
        Headers the stages have now, to compare with.
    sizes : sequence of SizeLines
        What must be served.
    best : PitchChoice
        Best pitch of the range.
    weights : sequence of float
        Weight of each size [-].
    high_mm : float
        Longest pitch of the range [mm].
    wish : PitchWish
        What is asked.

    Returns
    -------
    tuple of Candidate
        The best; the one asked for; longer ones that need fewer nozzles; each size's own line
        pitch; today's pitches.
    """
    lines = [s.lines_mm for s in sizes]
    named = [("best", "", best.pitch_mm)]
    if wish.pitch_mm is not None:
        named.append(("asked", "", wish.pitch_mm))
    longer = _longer(lines, best, high_mm, tuple(weights), wish.allowance_mm)
    named += [("longer", "", pitch) for pitch in longer]
    named += [
        ("own", size.can.name, size.line_pitch_mm)
        for size in sizes
        if abs(size.line_pitch_mm - best.pitch_mm) > PITCH_TOL_MM  # else it is the best itself
    ]
    named += [("today", "", pitch) for pitch in sorted({h.pitch_mm for h in headers})]
    return tuple(_candidate(headers, sizes, wish, *one) for one in named)


def _longer(
    lines: list[Floats],
    best: PitchChoice,
    high: float,
    weights: tuple[float, ...],
    allowance: float,
) -> list[float]:
    """Best pitches beyond the band of the one before that need fewer nozzles than it."""
    found: list[float] = []
    start, fewest = best.band_mm[1], _nozzles(lines, best.pitch_mm)
    for _ in range(_MOST_BANDS):
        if start >= high * (1.0 - 1e-9) or len(found) == _MOST_LONGER:
            break
        one = best_pitch(lines, start, high, weights, allowance)
        # a best pitch at the start of the range is only the slope of the band before
        if one.pitch_mm > start * (1.0 + 1e-9) and _nozzles(lines, one.pitch_mm) < fewest:
            found.append(one.pitch_mm)
            fewest = _nozzles(lines, one.pitch_mm)
        start = max(one.band_mm[1], start * 1.001)
    return found


def _nozzles(lines: list[Floats], pitch_mm: float) -> int:
    return len(drill_header(lines, pitch_mm).positions_mm)


def _candidate(
    headers: Sequence[Header],
    sizes: Sequence[SizeLines],
    wish: PitchWish,
    what: str,
    size: str,
    pitch_mm: float,
) -> Candidate:
    phases = [best_phase(s.lines_mm, [pitch_mm]) for s in sizes]
    row = row_for([s.lines_mm for s in sizes], pitch_mm, wish)
    drilled = [_drilled(h, row) for h in headers]
    even = [
        least_evenness(s.lines_mm + shift, s.can.diameter_mm, s.can.height_mm, drilled)
        for s, shift in zip(sizes, row.shifts_mm, strict=True)
    ]
    return Candidate(
        what=what,
        size=size,
        pitch_mm=pitch_mm,
        count=len(row.positions_mm),
        worst_mm=np.array([p.worst_mm[0] for p in phases]),
        rms_mm=np.array([p.rms_mm[0] for p in phases]),
        even=np.array(even),
    )


def row_for(lines: Sequence[Floats], pitch_mm: float, wish: PitchWish) -> Drilling:
    """Return the holes for a pitch, those beyond the outermost lanes included.

    Parameters
    ----------
    lines : sequence of ndarray
        Can lines of each size [mm].
    pitch_mm : float
        Nozzle pitch [mm].
    wish : PitchWish
        Tolerance, and how many nozzles stand beyond the outermost lanes at each end.

    Returns
    -------
    Drilling
        As `drill_header`, longer at both ends.

    Raises
    ------
    InputError
        If the row would need more nozzles than a header may have.
    """
    row = drill_header(lines, pitch_mm, wish.tolerance_mm)
    count = len(row.positions_mm) + 2 * wish.beyond
    first = float(row.positions_mm[0]) - wish.beyond * pitch_mm
    return replace(row, positions_mm=first + pitch_mm * np.arange(count, dtype=np.float64))


def _drilled(header: Header, row: Drilling) -> Header:
    """Return the header drilled anew; its nozzles, distance and pressure are kept."""
    first, count = float(row.positions_mm[0]), len(row.positions_mm)
    return replace(header, first_mm=first, pitch_mm=row.pitch_mm, count=count)


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
        row = (header.first_mm, header.pitch_mm, header.count)
        key = (header.side, header.mat_distance_mm, nozzle, row)
        if key not in seen:
            patch = footprint_of(header, height_mm)
            across = lines_mm[:, None] - header.positions_mm
            caught = np.sum(band_mm(patch, across, diameter_mm / 2.0), axis=1)
            seen[key] = christiansen(caught)
    return min(seen.values(), default=float("nan"))
