"""How evenly a row of nozzles would wash the lanes of a size, whatever its pressure."""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from packsim.line import Header
from packsim.spray.dose import band_mm
from packsim.spray.jets import footprint_of
from packsim.spray.uniformity import christiansen

Floats = NDArray[np.float64]


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
