"""What a header's pipe does to its nozzles: pressure lost along it, and the smallest pipe for it.

New, replaces nothing: every other answer takes the nozzles of a header as alike.
"""

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.constants import N_PER_KG_MM_PER_S2
from packsim.errors import Assumption, between, non_negative, positive
from packsim.line import Header, medium_of
from packsim.spray.jets import flow_mm3_per_s

STANDARD_INSIDE_MM: Final = (
    *(15.8, 21.0, 26.6, 35.1, 40.9, 52.5, 62.7, 77.9, 90.1, 102.3, 128.2, 154.1, 202.7),
)
"""Inside diameters of standard steel pipe, nominal 1/2 to 8 in, schedule 40 (ASME B36.10M, from
memory; checked in tests against an independent table)."""

LEAST_SHARE: Final = 0.98
"""Share of the flow of the nozzle that gets most which every nozzle of a header should get."""

_LAMINAR: Final = 2300.0
_VISCOSITY_MM2_PER_S: Final = {"liquid": 1.0, "gas": 15.0}
_ROUNDS: Final = 60

PIPE_ASSUMED: Final = (
    Assumption(
        "headers.nozzles_alike",
        "every nozzle at the header's pressure",
        "doses and pushes; what the pipe loses is told beside them, not taken off",
    ),
    Assumption("headers.feed", "from one end", "fed from both ends, the same pipe is more even"),
    Assumption(
        "headers.pipe_roughness",
        "0.045 mm",
        "new steel pipe, from memory of any table; where a header gives none",
    ),
    Assumption(
        "headers.viscosity",
        "1 mm²/s, of a gas 15 mm²/s",
        "water and air at 20 °C, from memory; hot water loses less",
    ),
    Assumption(
        "headers.pressure_regained",
        "none, and all",
        "liquid that slows along the pipe gains pressure; the truth lies between, both must do",
    ),
)
"""What every pipe rests on."""


def friction_factor(reynolds: float, roughness_share: float) -> float:
    """Friction factor of Darcy and Weisbach of a round pipe.

    Parameters
    ----------
    reynolds : float
        Reynolds number, above 0 [-].
    roughness_share : float
        Roughness over inside diameter, 0 to 0.05 [-].

    Returns
    -------
    float
        64/Re below 2300, else the explicit formula of [haaland1983]_, within 2 % of Colebrook's
        implicit one [-].
    """
    positive("reynolds", reynolds)
    non_negative("roughness_share", roughness_share)
    if reynolds < _LAMINAR:
        return 64.0 / reynolds
    inner = (roughness_share / 3.7) ** 1.11 + 6.9 / reynolds
    return (-1.8 * math.log10(inner)) ** -2


def nozzle_pressures_MPa(header: Header, inside_mm: float, regained: float = 0.0) -> Floats:
    """Pressure at every nozzle of a header that is fed at its first one.

    Parameters
    ----------
    header : Header
        The header; its pressure is that at the first nozzle.
    inside_mm : float
        Inside diameter of its pipe [mm].
    regained : float
        Share of the velocity head lost at a nozzle that comes back as pressure there, 0 to 1 [-].

    Returns
    -------
    ndarray, shape (count,)
        Gauge pressure, from the fed end [MPa]; nan where a pipe is so small that no steady flow
        of this kind exists in it.

    Notes
    -----
    Darcy-Weisbach from nozzle to nozzle with the flow that is left there, summed from the far end;
    its pressure is scaled until the fed end has the header's. With alike flows and one friction
    factor the sum over outlets is that of [christiansen1942]_, F = 1/3 + 1/2N + 1/6N².
    Incompressible: of a gas only as far as its pressure changes little.
    """
    bore = positive("inside_mm", inside_mm)
    between("regained", regained, 0.0, 1.0)
    last = header.pressure_MPa
    found = np.full(header.count, last)
    for _ in range(_ROUNDS if last > 0.0 else 0):
        found = _from_the_end(header, bore, regained, last)
        if not found[0] > 0.0:
            return np.full(header.count, math.nan)
        scale = header.pressure_MPa / found[0]
        last *= scale
        if abs(scale - 1.0) < 1e-10:
            break
    return found


def _from_the_end(header: Header, bore: float, regained: float, last_MPa: float) -> Floats:
    """Return the pressures at the nozzles that end in one; nan if one is not above 0."""
    area = math.pi * bore**2 / 4.0
    viscosity = _VISCOSITY_MM2_PER_S[medium_of(header)]
    dynamic = 0.5 * header.liquid_kg_per_mm3 * N_PER_KG_MM_PER_S2
    found = np.full(header.count, math.nan)
    pressure, flow, speed = last_MPa, 0.0, 0.0
    for k in range(header.count - 1, -1, -1):
        if pressure <= 0.0:
            return np.full(header.count, math.nan)
        found[k] = pressure
        flow += flow_mm3_per_s(header.nozzle, pressure)
        beyond, speed = speed, flow / area
        factor = friction_factor(speed * bore / viscosity, header.pipe_roughness_mm / bore)
        pressure += factor * header.pitch_mm / bore * dynamic * speed**2
        pressure -= regained * dynamic * (speed**2 - beyond**2)
    return found


@dataclass(frozen=True, slots=True)
class PipeRun:
    """What a pipe does to the nozzles of a header.

    Parameters
    ----------
    inside_mm : float
        Its inside diameter [mm].
    loss_MPa : float
        Pressure lost by friction from the first nozzle to the last [MPa].
    last_share : tuple of float
        Flow of the last nozzle over that of the first: no pressure regained, and all of it [-].
    """

    inside_mm: float
    loss_MPa: float
    last_share: tuple[float, float]

    @property
    def even_share(self) -> float:
        """Share of the flow of the nozzle with most that the other end gets, whichever it is [-].

        0 where no steady flow exists.
        """
        return min((min(x, 1.0 / x) if x > 0.0 else 0.0) for x in self.last_share)


def pipe_run(header: Header, inside_mm: float) -> PipeRun:
    """Return what a pipe does to a header's nozzles, without and with all pressure regained.

    Parameters
    ----------
    header : Header
        The header.
    inside_mm : float
        Inside diameter of the pipe [mm].

    Returns
    -------
    PipeRun
        Loss and evenness.
    """
    plain, regained = (nozzle_pressures_MPa(header, inside_mm, share) for share in (0.0, 1.0))
    share = tuple(math.sqrt(p[-1] / p[0]) if p[0] > 0.0 else 1.0 for p in (plain, regained))
    if math.isnan(regained[0]):
        share = (share[0], 0.0)
    return PipeRun(inside_mm, float(plain[0] - plain[-1]), (share[0], share[1]))


def smallest_pipe(header: Header, least_share: float = LEAST_SHARE) -> PipeRun | None:
    """Return the smallest standard pipe in which every nozzle gets enough.

    Parameters
    ----------
    header : Header
        The header.
    least_share : float
        Share of the flow of the nozzle with most that the other end must get, below 1 [-].

    Returns
    -------
    PipeRun or None
        The first of `STANDARD_INSIDE_MM` that does, with no pressure regained and with all of it;
        None where none is large enough.
    """
    between("least_share", least_share, 0.0, 0.9999)
    # where it stands is no matter to its pipe: headers of a stage share one answer
    return _smallest(replace(header, side="below", station_mm=0.0, first_mm=0.0), least_share)


@lru_cache(maxsize=256)
def _smallest(header: Header, least_share: float) -> PipeRun | None:
    runs = (pipe_run(header, bore) for bore in STANDARD_INSIDE_MM)
    return next((run for run in runs if run.even_share >= least_share), None)
