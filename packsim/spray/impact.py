"""What each header takes and does: flow, pipe, pressure where it strikes, push on can and pool.

New, replaces nothing: `packsim.spray.dose` says how much lands, this how hard.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.can import Can, Stance
from packsim.constants import (
    GRAVITY_M_PER_S2,
    N_PER_KG_MM_PER_S2,
    WATER_KG_PER_MM3,
)
from packsim.errors import Assumption
from packsim.line import Header, Mat, medium_of
from packsim.spray.jets import (
    Footprint,
    flow_L_per_min,
    footprint_of,
    jet_speed_mm_per_s,
    thrust_of_nozzle_N,
)
from packsim.spray.pipe import PIPE_ASSUMED, PipeRun, pipe_run, smallest_pipe
from packsim.spray.spray_load import upright_load

_MM3_PER_ML = 1000.0
_STEPS = 41
"""Places of a can along travel at which a header's push on it is looked at."""

IMPACT_ASSUMED: Final = (
    Assumption(
        "inside.dome",
        "flat, at the height of the can less the depth of its dome",
        "what reaches that height meets the dome, all else the wall",
    ),
    Assumption(
        "gas.hollow",
        "the water's weight against the gas's pressure",
        "how deep a gas presses the water in a dome in; what it drags along is left out",
    ),
    *PIPE_ASSUMED,
)
"""What flow, pipe and impact rest on beside the spray itself."""


@dataclass(frozen=True, slots=True)
class HeaderWork:
    """What one header takes, and what it does to cans of one size.

    Parameters
    ----------
    station_mm : float
        Place along the stage [mm].
    medium : {"liquid", "gas"}
        What it sprays.
    flow_L_per_min : float
        Flow of all its nozzles [L/min].
    pipe : PipeRun or None
        Its pipe, None where the scenario does not give one.
    pipe_serves : bool or None
        Whether in it the nozzle at one end gets enough of what the other gets.
    smallest_pipe : PipeRun or None
        The smallest standard pipe that serves; None where none does.
    impact_MPa : float
        Pressure where its spray is densest, of one nozzle alone: on the can tops, or at the mat
        before it; its momentum there, and never more than ½ρv², which stops it [MPa].
    push_N : float
        Greatest push of all its nozzles on a can that passes, straight down or up [N].
    pool_push_N : float
        Of a header above, the part of that on the dome recess and what stands in it; else 0 [N].
    """

    station_mm: float
    medium: str
    flow_L_per_min: float
    pipe: PipeRun | None
    pipe_serves: bool | None
    smallest_pipe: PipeRun | None
    impact_MPa: float
    push_N: float
    pool_push_N: float

    @property
    def hollow_mm(self) -> float:
        """Depth of water that weighs as much as its spray presses where it is densest [mm].

        Only for a gas: how deep it presses water in, by the balance of pressures alone.
        """
        return self.impact_MPa / (WATER_KG_PER_MM3 * GRAVITY_M_PER_S2)


def header_work(
    header: Header, can: Can, lines_mm: Floats, mat: Mat, least_share: float
) -> HeaderWork:
    """Return what a header takes and does.

    Parameters
    ----------
    header : Header
        A header the cans pass.
    can : Can
        The size.
    lines_mm : ndarray, shape (lanes,)
        Lines of can centres from the mat's left edge [mm].
    mat : Mat
        Gives the share of the spray from below that comes through.
    least_share : float
        Share of the nozzle with most that the other end must get, for the pipe [-].

    Returns
    -------
    HeaderWork
        All of the momentum is given up where the spray lands, times the header's splash factor.
    """
    patch = footprint_of(header, can.height_mm)
    rim = can.dome_rim_radius_mm if header.side == "above" else 0.0
    pipe = None if header.pipe_mm is None else pipe_run(header, header.pipe_mm)
    stopped = header.pressure_MPa * header.nozzle.velocity_coefficient**2
    return HeaderWork(
        station_mm=header.station_mm,
        medium=medium_of(header),
        flow_L_per_min=flow_L_per_min(header),
        pipe=pipe,
        pipe_serves=None if pipe is None else pipe.even_share >= least_share,
        smallest_pipe=smallest_pipe(header, least_share),
        # rays come from a point: near it they are denser than any jet is
        impact_MPa=min(thrust_of_nozzle_N(header) * densest_per_mm2(patch), stopped),
        push_N=_most_push_N(header, can, lines_mm, mat, can.diameter_mm / 2.0),
        pool_push_N=_most_push_N(header, can, lines_mm, mat, rim) if rim > 0.0 else 0.0,
    )


def densest_per_mm2(patch: Footprint) -> float:
    """Share of the flow on a square millimetre where a nozzle's spray is densest [1/mm²].

    Parameters
    ----------
    patch : Footprint
        The footprint; its even patches lie one within the other.

    Returns
    -------
    float
        Times the thrust it is the greatest pressure along the rays.
    """
    parts = sorted(patch.parts, key=lambda part: -part[1].half_long_mm)
    each = [share / (np.pi * one.half_long_mm * one.half_thin_mm) for share, one in parts]
    return float(np.max(np.cumsum(each)))


def _most_push_N(header: Header, can: Can, lines: Floats, mat: Mat, radius: float) -> float:
    """Return the most a header pushes on a disc at the height of the cans, on any lane."""
    disc = Stance(2.0 * radius, can.height_mm, mass_kg=1.0, cg_mm=1.0)
    reach = footprint_of(header, can.height_mm).half_along_mm + radius
    along = header.station_mm + np.linspace(-reach, reach, _STEPS)[:, None]
    return float(np.abs(upright_load([header], disc, mat.open_fraction, along, lines)[0]).max())


def momentum_per_mL_Ns(header: Header) -> float:
    """Return the momentum a millilitre of a header's spray gives up, splash and all [N s/mL]."""
    speed = jet_speed_mm_per_s(
        header.pressure_MPa, header.liquid_kg_per_mm3, header.nozzle.velocity_coefficient
    )
    mass = header.liquid_kg_per_mm3 * _MM3_PER_ML
    return header.splash_factor * mass * speed * N_PER_KG_MM_PER_S2
