"""A nozzle that is plugged: the sprays without it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from packsim.arrays import Floats
from packsim.can import Stance
from packsim.line import Header
from packsim.spray.jets import footprint_of
from packsim.spray.spray_load import SAMPLES, Under, load_on, stretches_under, upright_load


def margins_plugged(
    lines_mm: Floats, stance: Stance, headers: Sequence[Header], open_fraction: float
) -> dict[Header, Floats]:
    """Least hold margin of any lane with one nozzle plugged, each nozzle in turn.

    Parameters
    ----------
    lines_mm : ndarray, shape (m,)
        Lines of can centres from the mat's left edge [mm].
    stance : Stance
        The can as it stands.
    headers : sequence of Header
        Headers of the stage, those above higher than the can.
    open_fraction : float
        Share of the spray from below that the mat lets through [-].

    Returns
    -------
    dict of Header to ndarray, shape (count,)
        By header [-].

    Notes
    -----
    Loads of nozzles add up, so what is left is the load of all less that of the one, on the lanes
    it reaches; the others keep theirs.
    """
    known: dict[tuple[Header, ...], tuple[float, list[Floats]]] = {}
    under = stretches_under(headers, stance)
    for one in under:
        if one.headers not in known:
            known[one.headers] = _stretch(lines_mm, stance, one, open_fraction)
    found, rest = {}, sorted(headers, key=lambda header: header.station_mm)
    for one in under:  # headers come in the order of their stations
        others = [least for group, (least, _) in known.items() if group != one.headers]
        elsewhere = min(others, default=1.0)
        for header in one.headers:
            at = next(k for k, h in enumerate(rest) if _alike(h, header))
            margins = known[one.headers][1][one.headers.index(header)]
            found[rest.pop(at)] = np.minimum(margins, elsewhere)
    return found


def _alike(header: Header, other: Header) -> bool:
    """Whether two headers differ only in where they stand along the stage."""
    return replace(header, station_mm=other.station_mm) == other


def _stretch(
    lines: Floats, stance: Stance, under: Under, open_fraction: float
) -> tuple[float, list[Floats]]:
    """Least margin under headers, and for each of them with each nozzle plugged."""
    headers = under.headers
    count = SAMPLES * len({h.station_mm for h in headers})
    along = np.linspace(0.0, under.length_mm, count)[:, None]
    load = upright_load(headers, stance, open_fraction, along, lines)
    own = load_on(stance, load[0], load[1:]).hold_margin
    plugged = []
    for header in headers:
        reach = footprint_of(header, stance.height_mm).half_across_mm + stance.radius_mm
        least = []
        for x in header.positions_mm:
            near = np.abs(lines - x) < reach
            alone = replace(header, first_mm=float(x), count=1)
            rest = load[:, :, near] - upright_load(
                [alone], stance, open_fraction, along, lines[near]
            )
            left = load_on(stance, rest[0], rest[1:])
            least.append(
                min(np.min(left.hold_margin, initial=1.0), np.min(own[~near], initial=1.0))
            )
        plugged.append(np.array(least))
    return float(own.min()), plugged
