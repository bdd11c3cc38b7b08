"""From checked tables to the nouns of `packsim.line`, with every assumption on record."""

from __future__ import annotations

from packsim.assumption import Assumption
from packsim.errors import InputError
from packsim.line import Header, Kicks, Mat, Nozzle, Scenario, Stage
from packsim.scenario import kinds as k
from packsim.scenario.defaults import (
    DEFAULTS,
    KICKS,
    UNTRIED,
    Default,
    Ledger,
    pool_default,
)
from packsim.scenario.guides import build_guides
from packsim.scenario.line_tables import MatTable
from packsim.scenario.quantities import show_quantity
from packsim.scenario.sense import check_sense
from packsim.scenario.settings import build_settings
from packsim.scenario.sizes import build_size
from packsim.scenario.stage_tables import HeaderTable, KicksTable, StageTable
from packsim.scenario.tables import FittedTable, ScenarioFile

__all__ = ["build_scenario"]


def build_scenario(tables: ScenarioFile, fitted: dict[str, FittedTable]) -> Scenario:
    """Return the scenario that a file describes.

    Parameters
    ----------
    tables : ScenarioFile
        The file's tables.
    fitted : dict of FittedTable
        Kicks fitted to trials, by duty; empty without an included file.

    Returns
    -------
    Scenario
        With `Scenario.assumed` in the order of its keys.

    Raises
    ------
    InputError
        If values that are each acceptable make no sense together; the key is the full path.
    """
    ledger = Ledger()
    sizes = tuple(build_size(table, i) for i, table in enumerate(tables.sizes))
    mat = _mat(tables.mat, ledger)
    stages = tuple(_stage(tables, i, mat, fitted, ledger) for i in range(len(tables.stages)))
    factor = ledger.take("factor", tables.factor, DEFAULTS["factor"])
    for entry in tables.assumed:
        ledger.carry(Assumption(entry.key, entry.value, entry.why))
    names = [can.name for can in sizes]
    set_for = names[0] if tables.set_for is None else tables.set_for
    if set_for not in names:
        raise InputError("set_for", set_for, "the name of one of the sizes: " + ", ".join(names))
    check_sense(tables, stages, sizes, set_for)
    return Scenario(
        tables.name,
        tables.about,
        mat,
        stages,
        sizes,
        set_for,
        factor=factor,
        seed=tables.seed,
        assumed=ledger.ordered(),
    )


def _mat(table: MatTable, ledger: Ledger) -> Mat:
    def take(key: str) -> float:
        return ledger.take(f"mat.{key}", getattr(table, key), DEFAULTS[f"mat.{key}"])

    return Mat(
        table.width,
        table.speed,
        open_fraction=take("open_area"),
        friction=take("friction"),
        mass_kg_per_m2=take("mass_per_area"),
        specific_heat_J_per_kgK=take("specific_heat"),
    )


def _stage(
    tables: ScenarioFile, index: int, mat: Mat, fitted: dict[str, FittedTable], ledger: Ledger
) -> Stage:
    table, here = tables.stages[index], f"stages[{index}]"

    def take(key: str, default: Default) -> float:
        return ledger.take(f"{here}.{key}", getattr(table, key), default)

    if table.layout is None:
        ledger.note(f"{here}.layout", "lengthwise", "taken; look which way the lines run")
    guides = build_guides(table, index, tables.guides, mat, ledger)
    names = [size.name for size in tables.sizes]
    return Stage(
        table.name,
        table.duty,
        table.length,
        guides,
        _kicks(table, here, fitted.get(table.duty), ledger),
        temperature_C=take("temperature", DEFAULTS["temperature"]),
        layout=table.layout or "lengthwise",
        state=table.state or "densest",
        fill=take("fill", DEFAULTS["fill"]),
        pool_fraction=take("dome_pool", pool_default(table.duty)),
        headers=_headers(table, here, ledger),
        hold_down_mm=table.hold_down,
        pack_pressure_N_per_m=take("pack_pressure", DEFAULTS["pack_pressure"]),
        settings=build_settings(table, index, guides.brackets, names, mat, ledger),
    )


def _kicks(table: StageTable, here: str, fitted: FittedTable | None, ledger: Ledger) -> Kicks:
    """Return a stage's kicks; a trial of the stage's own comes before an included one."""
    kicks = table.kicks
    if kicks.trial is None and fitted is not None:
        rate = fitted.rate
        kicks = kicks.model_copy(
            update={
                "energy": fitted.energy,
                "rate": kicks.rate if rate is None else rate,
                "trial": fitted.trial,
            }
        )
        known = {"energy"} if rate is None else {"energy", "rate"}
    else:
        known = _tried(kicks)
    energy, rate_per_s = KICKS[table.duty]
    numbers = {"energy": (energy, k.ENERGY), "rate": (rate_per_s, k.RATE)}
    values: dict[str, float] = {}
    for key, (stand_in, kind) in numbers.items():
        given = getattr(kicks, key)
        values[key] = stand_in if given is None else given
        if key not in known:
            ledger.note(f"{here}.kicks.{key}", show_quantity(values[key], kind), UNTRIED)
    return Kicks(
        values["energy"],
        values["rate"],
        ledger.take(f"{here}.kicks.step", kicks.step, DEFAULTS["kicks.step"]),
        ledger.take(f"{here}.kicks.drift", kicks.drift, DEFAULTS["kicks.drift"]),
        trial=kicks.trial or "",
    )


def _tried(kicks: KicksTable) -> set[str]:
    """Return which of energy and rate a stage states together with a trial."""
    if kicks.trial is None:
        return set()
    return {key for key in ("energy", "rate") if getattr(kicks, key) is not None}


def _headers(table: StageTable, here: str, ledger: Ledger) -> tuple[Header, ...]:
    built = []
    for j, row in enumerate(table.headers):
        at = f"{here}.headers[{j}]"
        if row.station > table.length:
            limit = f"a place in the stage, 0 to {table.length:g} mm"
            raise InputError(f"{at}.station", f"{row.station:g} mm", limit)
        built.append(_header(row, ledger))
    return tuple(built)


def _header(row: HeaderTable, ledger: Ledger) -> Header:
    def take(key: str) -> float:  # on record once for the line, not once per header
        return ledger.take(f"headers.{key}", getattr(row, key), DEFAULTS[f"headers.{key}"])

    thin = DEFAULTS["headers.thin_angle"].value  # a cone has no thin side to be assumed
    nozzle = Nozzle(
        row.pattern,
        row.angle,
        row.flow,
        row.at_pressure,
        thin_angle_rad=take("thin_angle") if row.pattern == "fan" else row.thin_angle or thin,
        twist_rad=row.twist or 0.0,
        velocity_coefficient=take("velocity_coefficient"),
    )
    return Header(
        row.side,
        row.station,
        row.mat_distance,
        row.first,
        row.pitch,
        row.count,
        row.pressure,
        nozzle,
        liquid_kg_per_mm3=take("density"),
    )
