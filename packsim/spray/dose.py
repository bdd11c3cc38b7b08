"""What each can receives as it passes under and over the headers: inside, on top, and outside.

On a pack that has moved past a spray only the place across the mat counts.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.errors import InputError, positive
from packsim.line import Header, Mat, medium_of
from packsim.nozzles.lane_lines import checked_places
from packsim.spray.catch import NODES, sine_nodes
from packsim.spray.jets import Footprint, flow_L_per_min, flow_mm3_per_s, footprint_of

_MM3_PER_ML = 1000.0
_CELLS = 400
"""Cells a lane's strip is cut into for what falls between the cans (error measured in tests)."""


PLACE_OF: Final = {"below": "inside", "above": "top"}
"""Where on a can the spray of each side lands: through the mouth, on the dome."""


@dataclass(frozen=True, slots=True, eq=False)
class Dose:
    """What a can of each lane receives in one pass of all the headers given.

    Parameters
    ----------
    inside_mL : ndarray, shape (m,)
        Through the mouth from below [mL per can].
    top_mL : ndarray, shape (m,)
        On the dome from above [mL per can].
    outside_mL : ndarray, shape (m,)
        From above into the voids about the can, to run down its wall [mL per can].
    """

    inside_mL: Floats
    top_mL: Floats
    outside_mL: Floats


def dose(
    lines_on_mat_mm: ArrayLike,
    cans_per_mm: ArrayLike,
    stance: Stance,
    headers: Iterable[Header],
    mat: Mat,
) -> Dose:
    """Dose of each lane from a set of headers, at the mat's speed.

    Parameters
    ----------
    lines_on_mat_mm : array_like, shape (m,)
        Lines of can centres from the mat's left edge, rising [mm].
    cans_per_mm : array_like, shape (m,)
        Cans on each line per millimetre of mat, above 0 (`lane_cans_per_mm`) [1/mm].
    stance : Stance
        Gives the can's diameter and height.
    headers : iterable of Header
        Those of a stage, above and below.
    mat : Mat
        Its speed, and the share of its area that lets the spray from below through.

    Returns
    -------
    Dose
        By lane, in the order given.

    Raises
    ------
    InputError
        If lines and cans per millimetre do not match, or a header above is too low.

    Notes
    -----
    The mouth is taken as the full outside circle: the wall is a tenth of a millimetre. From below
    only ``open_fraction`` passes the mat, evenly. What falls between the cans: at each place
    across the mat the cans cover the share c(y) = Σ cans per mm x chord of the time; the rest of
    the flow there goes to the cans of the nearest line. Top and outside together are all of the
    flow within the pack's width: nothing is lost or counted twice. Straight rays, no splash, no
    carry-over from can to can.
    """
    lines = checked_places("lines_on_mat_mm", lines_on_mat_mm)
    per_mm = _per_mm(cans_per_mm, lines)
    inside, top, outside = (np.zeros(len(lines)) for _ in range(3))
    cells, width, free = _strips(lines, per_mm, stance.radius_mm)
    for header in headers:
        passed = passed_mL_per_mm(header, mat)
        caught = passed * np.sum(caught_bands_mm(header, stance, lines), axis=1)
        if header.side == "below":
            inside += caught
            continue
        top += caught
        patch = footprint_of(header, stance.height_mm)
        for nozzle in header.positions_mm:
            missed = across_density_per_mm(patch, cells - nozzle) * free
            outside += passed * np.sum(missed, axis=1) * width / per_mm
    return Dose(inside, top, outside)


def caught_bands_mm(header: Header, stance: Stance, lines_mm: Floats) -> Floats:
    """Return what each lane catches of each nozzle of a header, shape (lanes, count) [mm]."""
    across = lines_mm[:, None] - header.positions_mm
    return band_mm(footprint_of(header, stance.height_mm), across, stance.radius_mm)


def passed_mL_per_mm(header: Header, mat: Mat) -> float:
    """Return the dose of a can for a length caught of one nozzle [mL/mm]."""
    passes = mat.open_fraction if header.side == "below" else 1.0
    flow = flow_mm3_per_s(header.nozzle, header.pressure_MPa)
    return passes * flow / mat.speed_mm_per_s / _MM3_PER_ML


def lane_doses_mL(
    lines_mm: Floats, stance: Stance, headers: Iterable[Header], mat: Mat
) -> dict[str, Floats]:
    """Return the doses inside and on top alone, of each lane, where there are headers for them.

    Parameters
    ----------
    lines_mm : ndarray, shape (m,)
        Lines of can centres from the mat's left edge [mm].
    stance : Stance
        Gives the can's diameter and height.
    headers : iterable of Header
        Those of a stage that the cans pass.
    mat : Mat
        As for `dose`.

    Returns
    -------
    dict of str to ndarray, shape (m,)
        ``inside`` and ``top`` [mL per can]: of the liquid, or of the gas where only gas is sprayed.
    """
    found: dict[str, Floats] = {}
    for header in sorted(counted(headers), key=lambda header: header.side == "above"):
        caught = np.sum(caught_bands_mm(header, stance, lines_mm), axis=1)
        place = PLACE_OF[header.side]
        found[place] = found.get(place, 0.0) + passed_mL_per_mm(header, mat) * caught
    return found


def _strips(lines: Floats, per_mm: Floats, radius: float) -> tuple[Floats, Floats, Floats]:
    """Cells of each lane's strip (m, c), their width (m,), and the share of time none covers."""
    middles = (lines[1:] + lines[:-1]) / 2.0
    start = np.concatenate([[lines[0] - radius], middles])
    end = np.concatenate([middles, [lines[-1] + radius]])
    width = (end - start) / _CELLS
    cells = start[:, None] + width[:, None] * (np.arange(_CELLS) + 0.5)
    covered = np.zeros_like(cells)
    for line, cans in zip(lines, per_mm, strict=True):
        covered += cans * 2.0 * np.sqrt(np.maximum(radius**2 - (cells - line) ** 2, 0.0))
    return cells, width, np.maximum(1.0 - covered, 0.0)


def _per_mm(cans_per_mm: ArrayLike, lines: Floats) -> Floats:
    if np.any(np.diff(lines) <= 0.0):
        raise InputError("lines_on_mat_mm", lines, "lines rising across the mat")
    cans = np.asarray(cans_per_mm, dtype=np.float64)
    if cans.shape != lines.shape or not np.all(np.isfinite(cans) & (cans > 0.0)):
        raise InputError("cans_per_mm", cans_per_mm, f"{len(lines)} values above 0")
    return cans


def across_density_per_mm(patch: Footprint, across_mm: ArrayLike) -> Floats:
    """Share of the flow per millimetre across the mat, all along travel taken together.

    Parameters
    ----------
    patch : Footprint
        The footprint.
    across_mm : array_like
        Place across the mat from the nozzle [mm].

    Returns
    -------
    ndarray
        Density, integrating to 1 [1/mm].

    Notes
    -----
    What a point of the moving pack receives in a pass depends on this alone. An even disc or
    ellipse gives the half-circle law 2√(a² − y²)/(πa²), a its half extent across.
    """
    y = np.asarray(across_mm, dtype=np.float64)
    if len(patch.layers) > 1:
        return np.asarray(sum(s * across_density_per_mm(part, y) for s, part in patch.parts))
    half = patch.half_across_mm
    chord = np.sqrt(np.maximum(half**2 - y**2, 0.0))
    return np.asarray(2.0 * chord / (math.pi * half**2))


def band_mm(patch: Footprint, line_mm: ArrayLike, radius_mm: float) -> Floats:
    """Measure what a disc catches in one pass as a length: volume = flow / mat speed x band.

    Parameters
    ----------
    patch : Footprint
        The footprint.
    line_mm : array_like
        Line of the disc's centre from the nozzle, across the mat [mm].
    radius_mm : float
        Radius R of the disc: the can top, or its mouth [mm].

    Returns
    -------
    ndarray
        ∫ 2√(R² − u²) λ(y + u) du over −R..R, λ the across density [mm]. Never above 2R.

    Notes
    -----
    Derived here: the flow into the disc integrated along travel is the flow density integrated
    over the disc after travel has been integrated out, so the exact circle-circle overlap need
    not be summed along the way; it gives the same number. The two half circles are integrated by
    Gauss nodes in the sine of the place.
    """
    y = np.asarray(line_mm, dtype=np.float64)
    radius = positive("radius_mm", radius_mm)
    if len(patch.layers) > 1:
        return np.asarray(sum(share * band_mm(part, y, radius) for share, part in patch.parts))
    reach = patch.half_across_mm
    low = np.maximum(-radius, -y - reach)
    high = np.minimum(radius, -y + reach)
    middle, half = (low + high) / 2.0, np.maximum((high - low) / 2.0, 0.0)
    # to 1e-6 where two arcs nearly end together, rounding elsewhere
    angle, weight = sine_nodes(NODES)
    u = middle[..., None] + half[..., None] * np.sin(angle)
    here = np.maximum(radius**2 - u**2, 0.0)
    there = np.maximum(reach**2 - (y[..., None] + u) ** 2, 0.0)
    each = np.sum(weight * 4.0 * np.sqrt(here * there), axis=-1) * half / (math.pi * reach**2)
    return np.asarray(np.maximum(each, 0.0))


def flow_of_L_per_min(headers: Iterable[Header], medium: str) -> float | None:
    """Return the flow of the headers that spray a medium.

    Parameters
    ----------
    headers : iterable of Header
        Those the cans pass.
    medium : {"liquid", "gas"}
        The medium.

    Returns
    -------
    float or None
        Flow of all of them; None where none sprays it [L/min].
    """
    flows = [flow_L_per_min(header) for header in headers if medium_of(header) == medium]
    return sum(flows) if flows else None


def counted(headers: Iterable[Header]) -> list[Header]:
    """Return the headers whose doses count: those of a liquid, all where only gas is sprayed."""
    every = list(headers)
    return [header for header in every if medium_of(header) == "liquid"] or every
