"""What comes out of a nozzle: flow, speed, thrust, and the patch it covers where it lands."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from packsim.constants import LITRE_PER_MIN, N_PER_KG_MM_PER_S2, WATER_KG_PER_MM3
from packsim.errors import InputError, between, non_negative, one_of, positive
from packsim.line import Header, Nozzle
from packsim.line.spray import EVEN, Layers, layers_of


def flow_mm3_per_s(nozzle: Nozzle, pressure_MPa: float) -> float:
    """Flow of one nozzle at a pressure, Q = Q_ref √(p / p_ref).

    Parameters
    ----------
    nozzle : Nozzle
        The nozzle with its rated flow.
    pressure_MPa : float
        Gauge pressure at the nozzle [MPa].

    Returns
    -------
    float
        Flow [mm³/s].

    Notes
    -----
    Torricelli: a fixed opening whose discharge coefficient does not change. Holds for a clean
    nozzle of any liquid it was rated with, within some 10:1 of pressure.
    """
    ratio = non_negative("pressure_MPa", pressure_MPa) / nozzle.reference_MPa
    return nozzle.flow_mm3_per_s * math.sqrt(ratio)


def flow_L_per_min(header: Header) -> float:
    """Flow of all nozzles of a header at its pressure.

    Parameters
    ----------
    header : Header
        The header.

    Returns
    -------
    float
        Flow [L/min]; what its pipe loses is left out, see `packsim.spray.pipe`.
    """
    return header.count * flow_mm3_per_s(header.nozzle, header.pressure_MPa) * LITRE_PER_MIN


def jet_speed_mm_per_s(
    pressure_MPa: float, liquid_kg_per_mm3: float = WATER_KG_PER_MM3, coefficient: float = 1.0
) -> float:
    """Speed of a free jet, C_v √(2 p / ρ).

    Parameters
    ----------
    pressure_MPa : float
        Gauge pressure at the nozzle [MPa].
    liquid_kg_per_mm3 : float
        Density [kg/mm³].
    coefficient : float
        Velocity coefficient C_v, 0 to 1 [-].

    Returns
    -------
    float
        Speed [mm/s]. Source: Bernoulli; any hydraulics text. Not for a gas near the speed of
        sound: for air keep below 0.02 MPa.

    Examples
    --------
    >>> jet_speed_mm_per_s(0.3) / 1000.0
    24.4949
    """
    between("coefficient", coefficient, 0.0, 1.0)
    head = non_negative("pressure_MPa", pressure_MPa) / N_PER_KG_MM_PER_S2
    return coefficient * math.sqrt(2.0 * head / positive("liquid_kg_per_mm3", liquid_kg_per_mm3))


def thrust_N(flow_mm3_per_s: float, speed_mm_per_s: float, liquid_kg_per_mm3: float) -> float:
    """Momentum a jet carries per second, ρ Q v.

    Parameters
    ----------
    flow_mm3_per_s : float
        Flow Q [mm³/s].
    speed_mm_per_s : float
        Jet speed v [mm/s].
    liquid_kg_per_mm3 : float
        Density ρ [kg/mm³].

    Returns
    -------
    float
        Force on whatever stops the jet [N]; ρQv in kg·mm/s² is mN.

    Examples
    --------
    >>> thrust_N(1e6, 12_000.0, 1e-6)  # 1 L/s at 12 m/s
    12.0
    """
    flow = non_negative("flow_mm3_per_s", flow_mm3_per_s)
    speed = non_negative("speed_mm_per_s", speed_mm_per_s)
    density = positive("liquid_kg_per_mm3", liquid_kg_per_mm3)
    return density * flow * speed * N_PER_KG_MM_PER_S2


def thrust_of_nozzle_N(header: Header) -> float:
    """Push of one nozzle of a header on what stops its spray, at the header's pressure [N].

    Parameters
    ----------
    header : Header
        The header with its pressure, liquid, nozzle and splash factor.

    Returns
    -------
    float
        ρ Q v along the rays of the spray, times the splash factor [N].
    """
    speed = jet_speed_mm_per_s(
        header.pressure_MPa, header.liquid_kg_per_mm3, header.nozzle.velocity_coefficient
    )
    flow = flow_mm3_per_s(header.nozzle, header.pressure_MPa)
    return header.splash_factor * thrust_N(flow, speed, header.liquid_kg_per_mm3)


def spread_mm(stand_off_mm: float, angle_rad: float) -> float:
    """Width a spray covers at a stand-off, 2 h tan(a / 2).

    Parameters
    ----------
    stand_off_mm : float
        Distance h from the nozzle tip [mm].
    angle_rad : float
        Full opening angle a, below π [rad].

    Returns
    -------
    float
        Width [mm]. Straight rays: droplets that gravity or drag bends cover less.
    """
    between("angle_rad", angle_rad, 0.0, math.pi * (1.0 - 1e-9), "rad")
    return 2.0 * non_negative("stand_off_mm", stand_off_mm) * math.tan(angle_rad / 2.0)


def passes(header: Header, can_height_mm: float) -> bool:
    """Whether cans of a height pass a header; one above that hangs into them sprays nothing."""
    return header.side == "below" or header.mat_distance_mm > can_height_mm


def stand_off_mm(header: Header, can_height_mm: float) -> float:
    """Distance from the nozzle tips to the plane they wash.

    Parameters
    ----------
    header : Header
        The header.
    can_height_mm : float
        Height of the can on the mat [mm].

    Returns
    -------
    float
        To the can tops for a header above, to the mat for one below [mm].

    Raises
    ------
    InputError
        If a header above is no higher than the can tops: the cans would hit it.
    """
    height = positive("can_height_mm", can_height_mm)
    if header.side == "below":
        return header.mat_distance_mm
    if not passes(header, height):
        raise InputError(
            "mat_distance_mm", header.mat_distance_mm, f"more than the can height of {height:g} mm"
        )
    return header.mat_distance_mm - height


@dataclass(frozen=True, slots=True)
class Footprint:
    """What one nozzle covers on the plane it washes.

    Parameters
    ----------
    shape : {"disc", "ellipse"}
        Outline, of a cone or of a fan.
    half_long_mm, half_thin_mm : float
        Half extents of the outline; equal for a disc [mm].
    twist_rad : float
        Turn of the long side from straight across the mat, the right end downstream [rad].
    stand_off_mm : float
        Distance of the nozzle tip from the plane [mm].
    layers : tuple of (float, float)
        The even patches it is made of, see `packsim.line.spray.layers_of` [-].
    """

    shape: str
    half_long_mm: float
    half_thin_mm: float
    twist_rad: float
    stand_off_mm: float
    layers: Layers = EVEN

    def __post_init__(self) -> None:
        one_of("shape", self.shape, ("disc", "ellipse"))
        positive("half_long_mm", self.half_long_mm)
        positive("half_thin_mm", self.half_thin_mm)
        positive("stand_off_mm", self.stand_off_mm)

    @property
    def half_across_mm(self) -> float:
        """Half the width covered across the mat [mm]."""
        return self._half_extent(math.cos(self.twist_rad), math.sin(self.twist_rad))

    @property
    def half_along_mm(self) -> float:
        """Half the length covered along travel [mm]."""
        return self._half_extent(math.sin(self.twist_rad), math.cos(self.twist_rad))

    @property
    def parts(self) -> tuple[tuple[float, Footprint], ...]:
        """The even patches it is made of and the share of the flow on each; itself where even."""
        if self.layers == EVEN:
            return ((1.0, self),)
        return tuple((share, self._narrowed(scale)) for scale, share in self.layers)

    def _narrowed(self, scale: float) -> Footprint:
        """Return an even patch within this one, as wide as ``scale`` says."""
        thin = self.half_thin_mm * (scale if self.shape == "disc" else 1.0)
        long = self.half_long_mm * scale
        return replace(self, half_long_mm=long, half_thin_mm=thin, layers=EVEN)

    def _half_extent(self, along_long: float, along_thin: float) -> float:
        return math.hypot(self.half_long_mm * along_long, self.half_thin_mm * along_thin)


def footprint_of(header: Header, can_height_mm: float) -> Footprint:
    """Footprint of each nozzle of a header, on the can tops or on the mat.

    Parameters
    ----------
    header : Header
        The header.
    can_height_mm : float
        Height of the can on the mat [mm].

    Returns
    -------
    Footprint
        Half extents h tan(a/2), straight rays. A cone is evenly wet, a fan tapers to its ends;
        other patterns and measured ones are made of such patches.

    Raises
    ------
    InputError
        If a header above stands no higher than the can tops.
    """
    nozzle, cone = header.nozzle, header.nozzle.round
    height = stand_off_mm(header, can_height_mm)
    long = spread_mm(height, nozzle.angle_rad) / 2.0
    return Footprint(
        shape="disc" if cone else "ellipse",
        half_long_mm=long,
        half_thin_mm=long if cone else spread_mm(height, nozzle.thin_angle_rad) / 2.0,
        twist_rad=0.0 if cone else nozzle.twist_rad,
        stand_off_mm=height,
        layers=layers_of(nozzle),
    )
