"""What another mat in the ovens would save, stage by stage and size by size."""

from dataclasses import dataclass, replace
from typing import Final

from packsim.answers.stage_pack import CansFlow, stage_pack
from packsim.can import Can
from packsim.errors import non_negative
from packsim.line import DUTIES, Mat, Scenario

ENTRY_C: Final = 25.0
"""Temperature cans and mat are taken to enter the first stage with, where nobody says (assumed)."""


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


@dataclass(frozen=True, slots=True)
class HeatRow:
    """The heat of one oven stage with one size.

    Parameters
    ----------
    stage, size : str
        Names of both.
    from_C, to_C : float
        Temperature at entry and of the stage [°C].
    cans_per_min : float
        Cans per minute [1/min].
    now, other : OvenHeat
        With the present mat and with the other; both are warmed alike, at the same speed.
    """

    stage: str
    size: str
    from_C: float
    to_C: float
    cans_per_min: float
    now: OvenHeat
    other: OvenHeat

    @property
    def cools(self) -> bool:
        """Whether the stage warms nothing."""
        return self.to_C <= self.from_C

    @property
    def saved_kW(self) -> float:
        """What the other mat saves, negative if it costs more [kW]."""
        return self.now.total_kW - self.other.total_kW


def oven_heat_rows(
    scenario: Scenario,
    mass_kg_per_m2: float,
    specific_heat_J_per_kgK: float,
    entry_C: float = ENTRY_C,
) -> tuple[HeatRow, ...]:
    """Compare the present mat with another one in every oven stage, for every size.

    Parameters
    ----------
    scenario : Scenario
        The line.
    mass_kg_per_m2, specific_heat_J_per_kgK : float
        Mass per area [kg/m²] and specific heat [J/(kg K)] of the other mat.
    entry_C : float
        Temperature of cans and mat before the first stage [°C].

    Returns
    -------
    tuple of HeatRow
        All stages of the first size, then of the next; none without an oven stage.

    Notes
    -----
    Cans and mat are warmed from the temperature of the stage before to the stage's own. A stage no
    warmer than the one before gives heat off, which is no saving: it counts as 0. Guides stand as
    they do now for every size, and the speed is the present one.
    """
    other = replace(
        scenario.mat, mass_kg_per_m2=mass_kg_per_m2, specific_heat_J_per_kgK=specific_heat_J_per_kgK
    )
    rows = []
    for can in scenario.sizes:
        before = entry_C
        for stage in scenario.stages:
            if DUTIES[stage.duty].heats:
                pack = stage_pack(stage, can, stage.guides.narrowest_mm)
                flow = CansFlow(pack.cans_per_metre, scenario.mat.speed_mm_per_s)
                warming = max(0.0, stage.temperature_C - before)
                now, then = (oven_heat(flow, can, mat, warming) for mat in (scenario.mat, other))
                rows.append(
                    HeatRow(
                        stage=stage.name,
                        size=can.name,
                        from_C=before,
                        to_C=stage.temperature_C,
                        cans_per_min=flow.cans_per_min,
                        now=now,
                        other=then,
                    )
                )
            before = stage.temperature_C
    return tuple(rows)
