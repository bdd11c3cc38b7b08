"""Cans per minute and dwell, which of them a size change keeps, and the heat an oven gives them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from packsim.can import Can
from packsim.errors import non_negative, one_of, positive
from packsim.line import Mat

KEEP: Final = ("rate", "dwell")
"""What a size change leaves as it was: cans per minute, or time in every stage."""


@dataclass(frozen=True, slots=True)
class CansFlow:
    """How fast cans come through: what lies on a metre of mat, and how fast the mat goes.

    Parameters
    ----------
    cans_per_m : float
        Cans per metre of mat [1/m]; 0 where nothing fits.
    speed_mm_per_s : float
        Mat speed [mm/s].

    Examples
    --------
    >>> flow = CansFlow(400.0, 100.0)
    >>> flow.cans_per_min, flow.dwell_s(3000.0)
    (2400.0, 30.0)
    """

    cans_per_m: float
    speed_mm_per_s: float

    def __post_init__(self) -> None:
        non_negative("cans_per_m", self.cans_per_m)
        positive("speed_mm_per_s", self.speed_mm_per_s)

    @property
    def cans_per_min(self) -> float:
        """Cans per minute [1/min]; 1 mm/s is 0.06 m/min."""
        return self.cans_per_m * (self.speed_mm_per_s * 60.0 / 1000.0)

    def dwell_s(self, length_mm: float) -> float:
        """Time a can spends in a stage of this length [s]."""
        return positive("length_mm", length_mm) / self.speed_mm_per_s

    def after_size_change(self, cans_per_m: float, keep: str) -> CansFlow:
        """Return the flow of the new size, keeping either the rate or the dwell.

        Parameters
        ----------
        cans_per_m : float
            Cans per metre of the new size [1/m].
        keep : {"rate", "dwell"}
            Same cans per minute at a new speed, so every dwell changes by the ratio of cans per
            metre; or the same speed, so the dwells stay and the cans per minute change by it.

        Returns
        -------
        CansFlow
            The new flow.

        Raises
        ------
        InputError
            If ``keep`` is neither, or a rate is to be kept with no cans on the mat.

        Examples
        --------
        >>> CansFlow(400.0, 100.0).after_size_change(500.0, "rate").speed_mm_per_s
        80.0
        >>> CansFlow(400.0, 100.0).after_size_change(500.0, "dwell").cans_per_min
        3000.0
        """
        if one_of("keep", keep, KEEP) == "dwell":
            return CansFlow(cans_per_m, self.speed_mm_per_s)
        rate = positive("cans_per_min", self.cans_per_min)
        return CansFlow(cans_per_m, rate / positive("cans_per_m", cans_per_m) * 1000.0 / 60.0)


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
    return OvenHeat(cans_kW=cans_J_per_mK * kK_m_per_s, mat_kW=mat_J_per_mK * kK_m_per_s)
