"""The heat an oven puts into cans and mat, and what another mat would save."""

from dataclasses import dataclass

from packsim.can import Can
from packsim.errors import non_negative
from packsim.flow.throughput import CansFlow
from packsim.line import Mat


@dataclass(frozen=True, slots=True)
class OvenHeat:
    """Heat per time that goes into what passes an oven.

    Parameters
    ----------
    cans_kW : float
        Into the can bodies [kW].
    mat_kW : float
        Into the mat [kW].
    """

    cans_kW: float
    mat_kW: float

    @property
    def total_kW(self) -> float:
        """Into cans and mat [kW]."""
        return self.cans_kW + self.mat_kW

    @property
    def total_kJ_per_min(self) -> float:
        """Heat per minute [kJ/min]."""
        return 60.0 * self.total_kW


@dataclass(frozen=True, slots=True)
class MatComparison:
    """The same cans at the same speed on one mat and on another.

    Parameters
    ----------
    now, other : OvenHeat
        Heat with the present and with the other mat.
    """

    now: OvenHeat
    other: OvenHeat

    @property
    def saved_kW(self) -> float:
        """What the other mat saves, negative if it costs more [kW]."""
        return self.now.total_kW - self.other.total_kW


def oven_heat(flow: CansFlow, can: Can, mat: Mat, warming_K: float) -> OvenHeat:
    """Return the heat per time that an oven puts into cans and mat.

    Parameters
    ----------
    flow : CansFlow
        Cans per metre and mat speed.
    can : Can
        The can that is heated, dry.
    mat : Mat
        The mat; its speed is taken from ``flow``.
    warming_K : float
        How much warmer cans and mat leave than they enter, 0 or more [K].

    Returns
    -------
    OvenHeat
        Heat into cans and into mat [kW].

    Notes
    -----
    Heat capacity × mass per time × warming (derived here)::

        P = (m_mat w c_mat + n m_can c_can) ΔT v

    with mat mass per area m_mat, its whole width w, cans per metre n and speed v. Heat to dry
    water off, to warm air and through walls comes on top; it does not depend on the mat's mass.

    Examples
    --------
    >>> can = Can("demo", 66.09, 124.3, 0.0102, 74.2, 10.0, 22.5)
    >>> oven_heat(CansFlow(400.0, 100.0), can, Mat(1500.0, 100.0), 150.0).mat_kW
    103.5
    """
    kK_m_per_s = non_negative("warming_K", warming_K) / 1000.0 * flow.speed_mm_per_s / 1000.0
    cans_J_per_mK = flow.cans_per_m * can.mass_kg * can.specific_heat_J_per_kgK
    mat_J_per_mK = mat.mass_kg_per_m2 * (mat.width_mm / 1000.0) * mat.specific_heat_J_per_kgK
    return OvenHeat(
        cans_kW=cans_J_per_mK * kK_m_per_s,
        mat_kW=mat_J_per_mK * kK_m_per_s,
    )


def compare_mats(flow: CansFlow, can: Can, now: Mat, other: Mat, warming_K: float) -> MatComparison:
    """Compare the oven heat of two mats under the same cans at the same speed.

    Parameters
    ----------
    flow : CansFlow
        Cans per metre and mat speed, the same for both.
    can : Can
        The can.
    now, other : Mat
        The present mat and the other one; both are warmed by ``warming_K``.
    warming_K : float
        How much warmer cans and mat leave than they enter [K].

    Returns
    -------
    MatComparison
        Heat with each, and the difference.
    """
    return MatComparison(
        oven_heat(flow, can, now, warming_K), oven_heat(flow, can, other, warming_K)
    )
