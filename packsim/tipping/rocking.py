"""How a free can rocks on its rim: period, loss at each landing, and the jerk that topples it.

Housner's inverted pendulum: a rigid body that rocks about one edge without sliding or bouncing.
"""

import math
from dataclasses import dataclass

from packsim.can import Stance
from packsim.constants import GRAVITY_M_PER_S2
from packsim.errors import InputError, between, finite, positive

_GRAVITY_MM_PER_S2 = 1e3 * GRAVITY_M_PER_S2

HALF = 0.5
"""Share of the balance angle a can is let go at for its rocking period: a lean one can see."""


@dataclass(frozen=True, slots=True)
class Rocking:
    """How a free can rocks on its rim, dome as full as in the stage, no spray.

    Parameters
    ----------
    start_rad : float
        Lean it is let go at, half of the balance angle [rad].
    period_s : float
        Time of a whole first swing, four quarters, landings without loss [s].
    kept : float
        Share of its turning speed it keeps at a landing, at most [-].
    impulse_N_s : float
        Least level kick at its top that topples it [N s].
    speed_mm_per_s, sprayed_speed_mm_per_s : float
        Least sudden change of mat speed that topples it, without spray and under the sprays of the
        stage where and in the direction in which they leave least energy to balance [mm/s].
    onset_m_per_s2 : float
        Steady acceleration of the mat at which it begins to tip [m/s²].
    """

    start_rad: float
    period_s: float
    kept: float
    impulse_N_s: float
    speed_mm_per_s: float
    sprayed_speed_mm_per_s: float
    onset_m_per_s2: float


def rocking(stance: Stance, least_mJ: float) -> Rocking:
    """Return how a can by itself rocks; ``least_mJ`` tips it under the sprays [mJ]."""
    body = can_rocker(stance)
    start = HALF * stance.balance_angle_rad
    quarter = quarter_period_s(body, start)
    speed = overturning_speed_mm_per_s(body)
    # a jolt gives an energy that grows with its square
    share = least_mJ / stance.balance_energy_mJ
    return Rocking(
        start_rad=start,
        period_s=4.0 * quarter,
        kept=max(0.0, restitution(body)),
        impulse_N_s=overturning_impulse_N_s(body, stance.height_mm),
        speed_mm_per_s=speed,
        sprayed_speed_mm_per_s=speed * math.sqrt(min(1.0, share)),
        onset_m_per_s2=onset_acceleration_mm_per_s2(body) / 1e3,
    )


@dataclass(frozen=True, slots=True)
class Rocker:
    """A rigid body on an edge.

    Parameters
    ----------
    mass_kg : float
        Mass m [kg].
    half_width_mm, cg_mm : float
        Distance of the edge from the middle, and height h of the centre of gravity [mm].
    inertia_kg_mm2 : float
        Moment of inertia I₀ about the edge [kg mm²]; above m (R² + h²), as about any axis off the
        centre of gravity.
    """

    mass_kg: float
    half_width_mm: float
    cg_mm: float
    inertia_kg_mm2: float

    def __post_init__(self) -> None:
        positive("mass_kg", self.mass_kg)
        positive("half_width_mm", self.half_width_mm)
        positive("cg_mm", self.cg_mm)
        least = self.mass_kg * self.arm_mm**2
        if finite("inertia_kg_mm2", self.inertia_kg_mm2) < least * (1.0 - 1e-12):
            raise InputError("inertia_kg_mm2", self.inertia_kg_mm2, f"at least {least:g} kg mm²")

    @property
    def arm_mm(self) -> float:
        """Distance ρ from the edge to the centre of gravity [mm]."""
        return math.hypot(self.half_width_mm, self.cg_mm)

    @property
    def balance_angle_rad(self) -> float:
        """Lean α with the centre of gravity over the edge [rad]."""
        return math.atan2(self.half_width_mm, self.cg_mm)

    @property
    def rate_per_s(self) -> float:
        """Housner's p = √(m g ρ / I₀), the rate at which a lean grows near balance [1/s]."""
        return math.sqrt(self.mass_kg * _GRAVITY_MM_PER_S2 * self.arm_mm / self.inertia_kg_mm2)


def can_rocker(stance: Stance) -> Rocker:
    """Can about the rim of its open end.

    Parameters
    ----------
    stance : Stance
        Size, mass and height of the centre of gravity.

    Returns
    -------
    Rocker
        With an estimated moment of inertia.

    Notes
    -----
    Derived here. A stance does not say how its mass is spread, so it is taken as a thin even wall
    of the full height plus a flat disc at the top (dome and pool) in the shares that give the
    stated centre of gravity; one below half height puts the rest in a ring at the mat. About a
    tangent to the rim, a wall has m (3R²/2 + H²/3), the disc m (5R²/4 + H²), the ring m 3R²/2.
    The dome lies a little below the top, so I₀ errs high by a few per cent, p low by half that.
    """
    radius, height = stance.radius_mm, stance.height_mm
    lean = 2.0 * stance.cg_mm / height - 1.0  # share of the mass beyond an even wall
    wall, far = stance.mass_kg * (1.0 - abs(lean)), stance.mass_kg * abs(lean)
    inertia = wall * (1.5 * radius**2 + height**2 / 3.0)
    inertia += far * (1.25 * radius**2 + height**2 if lean > 0.0 else 1.5 * radius**2)
    return Rocker(stance.mass_kg, radius, stance.cg_mm, inertia)


def quarter_period_s(rocker: Rocker, start_rad: float) -> float:
    """Time from letting go at a lean to landing, acosh(1 / (1 − θ₀/α)) / p [s].

    Parameters
    ----------
    rocker : Rocker
        The body.
    start_rad : float
        Lean θ₀ it is let go at, 0 up to but not the balance angle [rad].

    Returns
    -------
    float
        A quarter of the period of the rocking [s]. Small angles: [housner1963]_.
    """
    share = _start(rocker, start_rad) / rocker.balance_angle_rad
    return math.acosh(1.0 / (1.0 - share)) / rocker.rate_per_s


def restitution(rocker: Rocker) -> float:
    """Angular speed after landing over that before, 1 − 2 m R² / I₀ [-].

    Angular momentum about the edge that lands is kept and nothing bounces: the most a rigid body
    can keep. A real can, and liquid in its dome, keep less. Same as Housner's energy ratio
    [1 − (m ρ²/I₀)(1 − cos 2α)]². Negative for a body so flat that it cannot rock on.
    """
    return 1.0 - 2.0 * rocker.mass_kg * rocker.half_width_mm**2 / rocker.inertia_kg_mm2


def overturning_speed_mm_per_s(rocker: Rocker) -> float:
    """Least sudden change of mat speed that topples the body, V² = 2 I₀ g ρ (1 − cos α)/(m h²).

    Returns
    -------
    float
        Speed step [mm/s], if the edge grips and does not slide. Source: [mallet1862]_, p. 138, for
        the solid block.
    """
    lift = 2.0 * rocker.arm_mm * math.sin(rocker.balance_angle_rad / 2.0) ** 2
    energy = 2.0 * rocker.inertia_kg_mm2 * _GRAVITY_MM_PER_S2 * lift
    return math.sqrt(energy / rocker.mass_kg) / rocker.cg_mm


def overturning_impulse_N_s(rocker: Rocker, height_mm: float) -> float:
    """Least kick that topples the body, struck level at a height, √(2 I₀ m g ρ (1 − cos α))/z.

    Parameters
    ----------
    rocker : Rocker
        The body.
    height_mm : float
        Height z of the kick [mm].

    Returns
    -------
    float
        Impulse [N s]; at the centre of gravity it is m times the speed step.
    """
    momentum = rocker.mass_kg * overturning_speed_mm_per_s(rocker) * 1e-3
    return momentum * rocker.cg_mm / positive("height_mm", height_mm)


def onset_acceleration_mm_per_s2(rocker: Rocker) -> float:
    """Steady acceleration at which the body begins to tip, g R / h (West's formula) [mm/s²]."""
    return _GRAVITY_MM_PER_S2 * rocker.half_width_mm / rocker.cg_mm


def _start(rocker: Rocker, start_rad: float) -> float:
    alpha = rocker.balance_angle_rad
    if between("start_rad", start_rad, 0.0, alpha, "rad") >= alpha:
        raise InputError("start_rad", start_rad, f"below the balance angle {alpha:g} rad")
    return float(start_rad)
