"""From checked tables to the nouns of `packsim.line`, with every assumption on record."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from packsim.can import Can
from packsim.catalogue import Gauges, can_size, custom_can, listed_values, usual_gauges
from packsim.constants import MAX_CANS, SIN60
from packsim.errors import InputError, InputErrors
from packsim.line import DUTIES, Header, Kicks, Mat, Nozzle, PastCount, Scenario, Stage
from packsim.scenario.complaints import WrongUnit
from packsim.scenario.guides import build_guides, build_settings, wire_heights_key
from packsim.scenario.keys import Ledger, keys, outdated, plain
from packsim.scenario.known.measured import Measured
from packsim.scenario.line_tables import GaugesTable, SizeTable
from packsim.scenario.stage_tables import UNUSED, KicksTable, StageTable
from packsim.scenario.tables import FittedTable, HistoryRow, ScenarioFile

UNTRIED = "invented; nobody has measured it and no trial has fitted it here"


def build_scenario(tables: ScenarioFile, fitted: dict[str, FittedTable]) -> Scenario:
    """Return the scenario that a file describes, with every assumption on record.

    ``fitted`` holds the kicks of an included file by duty. Raises `InputErrors` with all that is
    acceptable by itself and makes no sense together; keys are full paths.
    """
    ledger = Ledger()
    _check_names(tables, ledger)
    sizes: list[Can] = []
    for i, table in enumerate(tables.sizes):
        with ledger.complaining():
            sizes.append(_size(table, f"sizes[{i}]"))
    mat = Mat(**ledger.take(tables.mat, "mat"))
    stages: list[Stage] = []
    for i in range(len(tables.stages)):
        with ledger.complaining():
            stages.append(_stage(tables, i, mat, fitted, ledger))
    top = ledger.take(tables, "")
    history = _history(tables, ledger)
    for entry in tables.assumed:
        for one in entry.taken:
            if not outdated(one, tables):
                ledger.carry(one)
    if not ledger.complaints:
        _check_sense(tables, stages, sizes, ledger)
    if ledger.complaints:
        raise InputErrors(list({str(one): one for one in ledger.complaints}.values()))
    top.setdefault("set_for", sizes[0].name)
    scenario = Scenario(
        **top,
        mat=mat,
        stages=tuple(stages),
        sizes=tuple(sizes),
        assumed=ledger.ordered(),
        history=history,
    )
    for i, past in enumerate(history):
        try:
            scenario.as_it_was(past)
        except InputError as problem:
            raise problem.under(f"history[{i}]") from None
    return scenario


COUNTED = 100
"""Tips that a rate without a number of cans is taken to rest on: known to a fifth or so."""


def _history(tables: ScenarioFile, ledger: Ledger) -> tuple[PastCount, ...]:
    """Return what the line is known to have done; the ledger takes the complaints."""
    found = []
    for i, row in enumerate(tables.history):
        here = f"history[{i}]"
        with ledger.complaining():
            rate = row.tips_per_million
            if (row.tipped is None) == (rate is None):
                got = "both" if rate is not None else "nothing"
                raise InputError(f"{here}.tipped", got, "tipped or tips_per_million, one of them")
            cans = row.cans
            if cans is None:
                if not rate:
                    allowed = "the cans passed: without them none tipped says nothing"
                    raise InputError(f"{here}.cans", "nothing", allowed)
                cans = round(1e6 * COUNTED / rate)
                why = f"not given: taken as if {COUNTED} tips had been counted"
                ledger.note(f"{here}.cans", cans, keys(HistoryRow)["cans"], why)
            tipped = round(1e-6 * rate * cans) if row.tipped is None and rate else row.tipped or 0
            widths = tuple((one.stage, one.clear_width) for one in row.widths)
            taken = ledger.take(row, here)
            try:
                found.append(PastCount(**taken, cans=cans, tipped=tipped, widths_mm=widths))
            except InputError as problem:
                raise problem.under(here) from None
    return tuple(found)


def _stage(
    tables: ScenarioFile, index: int, mat: Mat, fitted: dict[str, FittedTable], ledger: Ledger
) -> Stage:
    table, here = tables.stages[index], f"stages[{index}]"
    duty = DUTIES[table.duty]
    water = duty.water_in_dome, duty.water_why
    fields = ledger.take(table, here, instead={"water_in_dome": water})
    headers = _headers(table, here, ledger)
    guides = build_guides(table, here, tables.guides, mat, ledger)
    return Stage(
        **fields,
        guides=guides,
        kicks=_kicks(table, f"{here}.kicks", fitted.get(table.duty), ledger),
        headers=headers,
        settings=build_settings(table, here, guides, tables.sizes, mat, ledger),
    )


def _kicks(table: StageTable, here: str, fitted: FittedTable | None, ledger: Ledger) -> Kicks:
    """Return a stage's kicks; a trial of the stage's own comes before an included one."""
    kicks, duty = table.kicks, DUTIES[table.duty]
    usual = {"energy": duty.kick_energy_mJ, "kicks_per_second": duty.kicks_per_s}
    tried: KicksTable | FittedTable | None = fitted if kicks.trial is None else kicks
    known = {key for key in usual if tried is not None and getattr(tried, key) is not None}
    if kicks.trial is None and fitted is not None:
        update = {key: getattr(fitted, key) for key in (*known, "trial")}
        kicks = kicks.model_copy(update=update)
    for key in usual.keys() - known:  # without a trial even what is given is nobody's measurement
        given = getattr(kicks, key)
        usual[key] = usual[key] if given is None else given
        ledger.note(f"{here}.{key}", usual[key], keys(KicksTable)[key], UNTRIED)
    if kicks.under_headers is None and table.headers:
        one = keys(KicksTable)["under_headers"]
        ledger.note(f"{here}.under_headers", "even in time", one, UNTRIED)
    instead = {key: (value, UNTRIED) for key, value in usual.items()}
    return Kicks(**ledger.take(kicks, here, instead=instead))


def _headers(table: StageTable, here: str, ledger: Ledger) -> tuple[Header, ...]:
    built = []
    for j, row in enumerate(table.headers):
        at = row.from_stage_start
        if at > table.length:
            key = f"{here}.headers[{j}].from_stage_start"
            limit = f"a place in the stage, 0 to {table.length:g} mm"
            ledger.complaints.append(InputError(key, f"{at:g} mm", limit))
            continue
        fields = ledger.take(
            row, "headers", quietly=UNUSED[row.pattern]
        )  # on record once for the line
        built.append(Header(**{**fields, "nozzle": Nozzle(**fields["nozzle"])}))
    return tuple(built)


def _size(table: SizeTable, here: str) -> Can:
    """Return one can size, with its own assumptions and those the file carries along."""
    try:
        can = _can(table)
    except InputError as problem:
        fields = {one.noun: name for name, one in keys(SizeTable).items() if one.noun}
        fields |= {one.noun: f"gauges.{name}" for name, one in keys(GaugesTable).items()}
        fields |= {name: name for name in keys(SizeTable)}
        key = fields.get(problem.key, "catalogue")
        raise InputError(f"{here}.{key}", problem.got, problem.allowed) from None
    taken = [one for entry in table.assumed for one in entry.taken]
    carried = tuple(
        one for one in taken if not outdated(replace(one, key=one.key.rpartition("].")[2]), table)
    )
    known = {entry.key for entry in carried}
    own = tuple(entry for entry in can.assumed if entry.key not in known)
    return replace(can, assumed=own + carried)


def _can(table: SizeTable) -> Can:
    given = {
        one.noun: plain(getattr(table, name)) for name, one in keys(SizeTable).items() if one.noun
    }
    given["diameter_tol_mm"] = tolerance_mm(table)
    made_of, gauges = table.metal or "aluminium", _gauges(table)
    if table.catalogue is not None:
        return can_size(table.catalogue, name=table.name, metal=made_of, gauges=gauges, **given)
    diameter, height = given.pop("diameter_mm"), given.pop("height_mm")
    if diameter is None or height is None:
        key = "diameter" if diameter is None else "height"
        raise InputError(key, "nothing", "a length, or an id under the key catalogue")
    return custom_can(table.name, diameter, height, metal=made_of, gauges=gauges, **given)


def tolerance_mm(table: SizeTable) -> float | None:
    """Return the tolerance of a diameter: given, or that of the readings of the diameter [mm].

    Of readings it is half of the interval that holds nearly every body, `spread_factors`; what a
    source says of the size is a limit to it.
    """
    read = table.diameter
    if table.diameter_tol is not None or not isinstance(read, Measured) or not read.spread[1]:
        return plain(table.diameter_tol)  # type: ignore[no-any-return]
    listed = listed_values(table.catalogue, table.metal or "aluminium").get("diameter_tol_mm")
    published = listed is not None and listed.measured
    return min(read.spread[1], listed.value) if listed and published else read.spread[1]


def _gauges(table: SizeTable) -> Gauges | None:
    """Return the thicknesses given, with the metal's usual ones for the rest."""
    if table.gauges is None:
        return None
    given: dict[str, Any] = Ledger().take(table.gauges, "")
    return replace(usual_gauges(table.metal or "aluminium"), **given)


def _check_names(tables: ScenarioFile, ledger: Ledger) -> None:
    """Complain of a name used twice, and of guides set for a size that is none."""
    for key, rows in (("stages", tables.stages), ("sizes", tables.sizes)):
        names = [row.name for row in rows]
        for i, name in enumerate(names):
            if name in names[:i]:
                complaint = InputError(f"{key}[{i}].name", name, "a name not used before")
                ledger.complaints.append(complaint)
    known = [size.name for size in tables.sizes]
    if tables.guides_set_for is not None and tables.guides_set_for not in known:
        allowed = "the name of one of the sizes: " + ", ".join(known)
        ledger.complaints.append(InputError("guides_set_for", tables.guides_set_for, allowed))


def _check_sense(
    tables: ScenarioFile, stages: Sequence[Stage], sizes: Sequence[Can], ledger: Ledger
) -> None:
    """Complain of what no line could be.

    Guides closer than one can of the size they are set for, wires above every can, more cans than
    any washer holds; the ledger takes the complaints.
    """
    can = next((can for can in sizes if can.name == tables.guides_set_for), sizes[0])
    for i, stage in enumerate(stages):
        with ledger.complaining():
            _room_for_one(tables, stage, i, can)
        with ledger.complaining():
            _wires_reach(tables, stage, i, sizes)
    for j, each in enumerate(sizes):
        with ledger.complaining():
            key = "catalogue" if tables.sizes[j].diameter is None else "diameter"
            _countable(f"sizes[{j}].{key}", each, stages)


def _room_for_one(tables: ScenarioFile, stage: Stage, index: int, can: Can) -> None:
    brackets = stage.guides.brackets
    tightest = min(range(len(brackets)), key=lambda i: brackets[i].clear_width_mm)
    width = brackets[tightest].clear_width_mm
    if width >= can.diameter_mm:
        return
    listed = tables.stages[index].brackets is not None
    key = f"stages[{index}]." + (f"brackets[{tightest}].right" if listed else "clear_width")
    limit = f"room for one can, {can.diameter_mm:g} mm clear width, here {width:g} mm"
    likely = {key: (0.3 * tables.mat.width, tables.mat.width)}
    raise WrongUnit(key, f"{width:g} mm", limit, likely)


def _wires_reach(tables: ScenarioFile, stage: Stage, index: int, sizes: Sequence[Can]) -> None:
    lowest = stage.guides.wires.heights_mm[0]
    tallest = max(sizes, key=lambda can: can.height_mm)
    if lowest < tallest.height_mm:
        return
    limit = f"a lowest wire below the top of the tallest can, {tallest.height_mm:g} mm"
    key = wire_heights_key(tables.stages[index], f"stages[{index}]")
    raise InputError(f"{key}[0]", f"{lowest:g} mm", limit)


def _countable(key: str, can: Can, stages: Sequence[Stage]) -> None:
    """Refuse more cans than `MAX_CANS`; a perfect pack has one per D²√3/2."""
    area = sum(stage.guides.widest_mm * stage.length_mm for stage in stages)
    count = area / (SIN60 * can.diameter_mm**2)
    if count <= MAX_CANS:
        return
    limit = f"at most {MAX_CANS} cans on the mat, here {count:.3g}; check widths and lengths too"
    raise InputError(key, f"{can.diameter_mm:g} mm", limit)
