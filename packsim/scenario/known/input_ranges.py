"""The range of every input of a scenario: from the file, the catalogue, or the documented table."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Final

from packsim.catalogue import Marked, listed_values, size_row
from packsim.line import InputRange, Scenario
from packsim.line.knob import field_at
from packsim.scenario.keys import Key, keys, plain
from packsim.scenario.known.few_readings import CONFIDENCE, CONTENT
from packsim.scenario.known.measured import Measured
from packsim.scenario.known.table_inputs import (
    Documented,
    TableInputs,
    bounds,
    documented,
    kind_of_key,
)
from packsim.scenario.line_tables import GuidesTable, SizeTable
from packsim.scenario.stage_tables import UNUSED, KicksTable, StageTable
from packsim.scenario.tables import FittedTable, ScenarioFile

SPREAD: Final = (
    f"{CONTENT:.0%} of all bodies with {CONFIDENCE:.0%} confidence, a tolerance interval"
)
"""What the tolerance of a diameter is that was read on several bodies."""

LEAST_CLEARANCE: Final = 1.05
"""Least height of a header above over the mat, in heights of the tallest can: common practice, no
source. Cans differ in height, and the mat sags."""

_READ_AT: Final = {
    "clear_width": "guides.narrowest_mm",
    "pack_centre_from_left": "guides.centre_mm",
    "length": "length_mm",
    "water_in_dome": "water_in_dome",
}
"""Where keys of a stage are read that `packsim.line.input_range.VERBS` sets."""


def input_ranges(
    tables: ScenarioFile, fitted: dict[str, FittedTable], scenario: Scenario
) -> tuple[InputRange, ...]:
    """Return the range of every input, in the order of the file.

    Parameters
    ----------
    tables : ScenarioFile
        What the file says.
    fitted : dict of FittedTable
        Kicks fitted to trials, by duty.
    scenario : Scenario
        What was built from both.

    Returns
    -------
    tuple of InputRange
        One for each key; what is given or assumed once for several places has all of them.
    """
    found: dict[str, InputRange] = {}
    for one in _each(tables, fitted, scenario):
        known = found.get(one.key)
        places = one.places if known is None else (*known.places, *one.places)
        found[one.key] = replace(one, places=places)
    return tuple(_over_cans(one, scenario) for one in found.values())


def _over_cans(one: InputRange, scenario: Scenario) -> InputRange:
    """Keep a header above over the tallest can: it was never lower, or no can had passed it."""
    least = LEAST_CLEARANCE * max(can.height_mm for can in scenario.sizes)
    distances = [place for place in one.places if place.endswith(".mat_distance_mm")]
    hangs = any(field_at(scenario, at.rpartition(".")[0]).side == "above" for at in distances)
    if not hangs or not one.low < least <= one.value:
        return one
    return replace(one, low=least, source=f"{one.source}; not below the cans")


def _each(
    tables: ScenarioFile, fitted: dict[str, FittedTable], scenario: Scenario
) -> Iterator[InputRange]:
    said = {entry.key: entry.value for entry in scenario.assumed}
    whole = TableInputs(scenario, tables.mat, "mat", "mat", said)
    yield from whole.all()
    for i, size in enumerate(tables.sizes):
        yield from _sizes(scenario, size, i)
    for i, stage in enumerate(tables.stages):
        here, place = f"stages[{i}]", f"stages.{i}"
        own = whole.of(stage, here, place)
        yield from _stage(own, stage, tables.guides)
        guides = own.of(stage.guides, f"{here}.guides", f"{place}.guides")
        yield from replace(guides, shared="guides", line=tables.guides).all()
        for j, row in enumerate(stage.brackets or ()):
            at = f"{here}.brackets[{j}]", f"{place}.guides.brackets.{j}"
            yield from own.of(row, *at).all()
        kicks = own.of(stage.kicks, f"{here}.kicks", f"{place}.kicks")
        yield from _kicks(kicks, None if stage.kicks.trial else fitted.get(stage.duty))
        for j, header in enumerate(stage.headers):
            pipe = own.of(header, f"{here}.headers[{j}]", f"{place}.headers.{j}")
            leave = UNUSED[header.pattern] | (
                {"pipe_roughness"} if header.pipe_inside is None else frozenset()
            )
            yield from replace(pipe, shared="headers").all(leave)


def _stage(inputs: TableInputs, table: StageTable, line: GuidesTable) -> Iterator[InputRange]:
    """Return the ranges of a stage, with those of what is no single field of it."""
    declared = keys(StageTable)
    yield from inputs.all(leave=frozenset(_READ_AT))
    for name, at in _READ_AT.items():
        if table.brackets is not None and at.startswith("guides."):
            continue
        known, said = documented()[f"stages.{name}"], getattr(table, name)
        value = plain(said)
        if value is None and name == "pack_centre_from_left":
            value = inputs.scenario.mat.width_mm / 2.0
        elif value is None:
            value = field_at(inputs.scenario, f"{inputs.place}.{at}")
        place = f"{inputs.place}.{name}()"
        if isinstance(value, tuple):
            yield _water(inputs, declared[name], value, known, place)
        else:
            yield inputs.one(declared[name], known, value, place)
    if table.brackets is not None:
        return
    name = "bracket_spacing"
    place, known = f"{inputs.place}.{name}()", documented()[f"stages.{name}"]
    if table.bracket_spacing is not None:
        spaced = replace(inputs, shared="guides")
        yield spaced.one(declared[name], known, float(table.bracket_spacing), place)
        return
    own = replace(inputs, table=table.guides, path=f"{inputs.path}.guides", shared="guides")
    given = table.guides.bracket_spacing or line.bracket_spacing
    one = keys(GuidesTable)[name]
    value = float(one.assumed or 0.0) if given is None else float(given)
    yield replace(own, line=line).one(one, known, value, place)


def _water(
    inputs: TableInputs, one: Key, pair: tuple[float, float], known: Documented, place: str
) -> InputRange:
    """Return the range of the water in domes: that of the file, where it has one."""
    low, high = pair
    kind, key = kind_of_key(one), f"{inputs.path}.{one.name}"
    table: Any = inputs.table
    first = None if table.water_in_dome is None else table.water_in_dome[0]
    measured = first if isinstance(first, Measured) else None
    told = one.reader.told("", pair, "").value
    given = measured is not None or (first is not None and inputs.said.get(key) != told)
    if low == high and given:
        low, high = bounds(known.given, low, kind)
    source = known.spread(given)[1]
    if measured is not None:
        several = f"{measured.readings} readings: {SPREAD}"
        source = several if measured.readings else measured.source
    return InputRange(
        key,
        (pair[0] + pair[1]) / 2.0,
        low,
        high,
        kind="measured" if measured is not None else "given" if given else "assumed",
        source=source,
        readings=0 if measured is None else measured.readings,
        unit=kind.unit,
        places=(place,),
        written="" if measured is None else measured.written,
    )


def _kicks(inputs: TableInputs, fitted: FittedTable | None) -> Iterator[InputRange]:
    """Return the ranges of kicks; what was fitted to a trial goes before the file, as it does."""
    for one in inputs.all():
        name = one.key.rpartition(".")[2]
        if fitted is None or getattr(fitted, name, None) is None:
            yield one
            continue
        low, high = bounds(
            documented()[f"kicks.{name}"].given, one.value, kind_of_key(keys(KicksTable)[name])
        )
        if name == "energy" and fitted.low is not None and fitted.high is not None:
            low, high = min(fitted.low, one.value), max(fitted.high, one.value)
        source = f"fitted to trial {fitted.trial}"
        yield replace(one, low=low, high=high, kind="measured", source=source)


def _sizes(scenario: Scenario, table: SizeTable, index: int) -> Iterator[InputRange]:
    """Return the ranges of one size: what the catalogue says of it, where the file does not."""
    can, path = scenario.sizes[index], f"sizes[{index}]"
    listed = listed_values(table.catalogue, table.metal or "aluminium")
    row = None if table.catalogue is None else size_row(table.catalogue)
    named = f"sizes[{can.name}]."
    said = {f"{path}.{entry.key.removeprefix(named)}": entry.value for entry in can.assumed}
    for one in TableInputs(scenario, table, path, f"sizes.{index}", said).all():
        field = one.places[0].rpartition(".")[2]
        marked = listed.get(field)
        if field == "diameter_tol_mm" and table.diameter_tol is None:
            read = table.diameter
            if isinstance(read, Measured) and read.spread[1]:
                low, source = min(read.spread[0], one.value), f"{read.readings} readings: {SPREAD}"
                tolerance = replace(one, low=low, high=one.value, kind="measured", source=source)
                yield replace(tolerance, readings=read.readings)
                continue
        if one.kind == "measured" or marked is None or marked.value != one.value:
            yield one
            continue
        own = (row is not None and hasattr(row, field)) or field == "height_mm"
        source = f"catalogue {table.catalogue}: {row.source}" if row and own else marked.reason
        low, high = _listed_span(one, marked, listed if field == "diameter_mm" else {})
        kind = "assumed" if one.key in said else "catalogue"
        written = table.catalogue or "" if own else ""
        yield replace(one, low=low, high=high, kind=kind, source=source, written=written)


def _listed_span(one: InputRange, marked: Marked, listed: dict[str, Marked]) -> tuple[float, float]:
    """Return low and high of a listed value: its own, its tolerance, or the documented ones."""
    if marked.low is not None and marked.high is not None:
        return marked.low, marked.high
    if "diameter_tol_mm" in listed:
        half = listed["diameter_tol_mm"].value
        return one.value - half, one.value + half
    name = one.key.rpartition(".")[2]
    kind = kind_of_key(keys(SizeTable)[name])
    return bounds(documented()[f"sizes.{name}"].spread(given=False)[0], one.value, kind)
