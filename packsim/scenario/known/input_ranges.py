"""The range of every input of a scenario: from the file, the catalogue, or the documented table."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

from packsim.catalogue import Marked, listed_values, size_row
from packsim.errors import InputError, readable
from packsim.line import Scenario
from packsim.line.input_range import InputRange
from packsim.scenario.fields import Choice, Of
from packsim.scenario.keys import Key, Table, keys, plain
from packsim.scenario.known.documented import Documented, bounds, documented
from packsim.scenario.known.measured import CONFIDENCE, CONTENT, Measured
from packsim.scenario.line_tables import GuidesTable, MatTable, SizeTable
from packsim.scenario.stage_tables import UNUSED, BracketTable, HeaderTable, KicksTable, StageTable
from packsim.scenario.tables import FittedTable, ScenarioFile

TABLES: Final[dict[type[Table], str]] = {
    MatTable: "mat",
    SizeTable: "sizes",
    GuidesTable: "guides",
    StageTable: "stages",
    BracketTable: "brackets",
    KicksTable: "kicks",
    HeaderTable: "headers",
}
"""Tables whose values have a range, by the name they go under in the documented table."""

SPREAD: Final = (
    f"{CONTENT:.0%} of all bodies with {CONFIDENCE:.0%} confidence, a tolerance interval"
)
"""What the tolerance of a diameter is that was read on several bodies."""

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
    return tuple(found.values())


def _each(
    tables: ScenarioFile, fitted: dict[str, FittedTable], scenario: Scenario
) -> Iterator[InputRange]:
    said = {entry.key: entry.value for entry in scenario.assumed}
    whole = _Inputs(scenario, tables.mat, "mat", "mat", said)
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


@dataclass(frozen=True, slots=True)
class _Inputs:
    """One table of a file, the noun made from it, and where both stand.

    ``said`` has what is on record as assumed, by key. Under ``shared`` goes what ``line`` gives
    for all, or nobody.
    """

    scenario: Scenario
    table: Table
    path: str
    place: str
    said: dict[str, str]
    shared: str = ""
    line: Table | None = None

    def of(self, table: Table, path: str, place: str) -> "_Inputs":
        """Return the inputs of another table."""
        return replace(self, table=table, path=path, place=place)

    def all(self, leave: frozenset[str] = frozenset()) -> Iterator[InputRange]:
        """Return the ranges of every key that fills a field and has one documented."""
        for name, one in keys(type(self.table)).items():
            known = documented().get(f"{TABLES[type(self.table)]}.{name}")
            if known is None or not one.noun or name in leave:
                continue
            place = f"{self.place}.{one.noun}"
            value = _at(self.scenario, place)
            if isinstance(value, tuple):
                given = getattr(self.table, name) or getattr(self.line, name, None) or value
                for k, each in enumerate(value):
                    yield self.one(one, known, each, f"{place}.{k}", (f"[{k}]", given[k]))
            elif value is not None:
                yield self.one(one, known, value, place)

    def one(
        self,
        one: Key,
        known: Documented,
        value: Any,
        place: str,
        listed: tuple[str, Any] = ("", None),
    ) -> InputRange:
        """Return the range of one value; ``listed``: its place in a list, and what stands there."""
        own = getattr(self.table, one.name)
        line = None if self.line is None else getattr(self.line, one.name)
        given = own if own is not None else line
        common = f"{self.shared or self.path}.{one.name}"
        key = (f"{self.path}.{one.name}" if own is not None else common) + listed[0]
        on_record = self.said.get(common)
        if given is not None and not isinstance(given, Measured) and _same(one, value, on_record):
            given, key = None, common  # written out by hand or by us, and still nobody's
        if isinstance(one.reader, Choice) or isinstance(value, bool):
            return _choice(key, one, value, given is not None, known, place)
        return _number(key, one, value, known, given if listed[1] is None else listed[1], place)


def _same(one: Key, value: Any, on_record: str | None) -> bool:
    """Return whether an entry of what is assumed has this value; those of cans have 4 digits."""
    if on_record is None or isinstance(value, tuple):
        return False
    told = {one.reader.told("", value, "").value}
    if one.kind is not None:
        told.add(readable(one.kind.plain(value), one.kind.unit, digits=4))
    return on_record in told


def _number(
    key: str, one: Key, value: float, known: Documented, given: object, place: str
) -> InputRange:
    """Return the range of a number, given or not."""
    kind = _kind(one)
    if isinstance(given, Measured):
        return InputRange(
            key,
            value,
            min(given.low, value),
            max(given.high, value),
            kind="measured",
            source=given.source,
            shape="normal",
            readings=given.readings,
            unit=kind.unit,
            inner=kind.inner,
            places=(place,),
            written=given.written,
        )
    low, high = bounds(known.spread(given is not None), value, kind)
    return InputRange(
        key,
        value,
        low,
        high,
        kind="assumed" if given is None else "given",
        source=known.why,
        unit=kind.unit,
        inner=kind.inner,
        places=(place,),
    )


def _choice(
    key: str, one: Key, value: object, given: bool, known: Documented, place: str
) -> InputRange:
    """Return the range of a word: itself where it is given, any of them where it is not."""
    if isinstance(one.reader, Choice):
        words: dict[object, str] = {}
        for word, inner in one.reader.words.items():
            words.setdefault(inner, word)
    else:
        words = {True: "true", False: "false"}
    options = tuple(words)
    at = float(options.index(value))
    low, high = (at, at) if given else (0.0, len(options) - 1.0)
    return InputRange(
        key,
        at,
        low,
        high,
        kind="given" if given else "assumed",
        source=known.why,
        shape="choice",
        choices=tuple(words.values()),
        options=options,
        places=(place,),
    )


def _stage(inputs: _Inputs, table: StageTable, line: GuidesTable) -> Iterator[InputRange]:
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
            value = _at(inputs.scenario, f"{inputs.place}.{at}")
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
    inputs: _Inputs, one: Key, pair: tuple[float, float], known: Documented, place: str
) -> InputRange:
    """Return the range of the water in domes: that of the file, where it has one."""
    low, high = pair
    kind, key = _kind(one), f"{inputs.path}.{one.name}"
    table: Any = inputs.table
    first = None if table.water_in_dome is None else table.water_in_dome[0]
    measured = first if isinstance(first, Measured) else None
    told = one.reader.told("", pair, "").value
    given = measured is not None or (first is not None and inputs.said.get(key) != told)
    if low == high and given:
        low, high = bounds(known.given, low, kind)
    if measured is not None:
        known = replace(
            known,
            why=f"{measured.readings} readings: {SPREAD}" if measured.readings else measured.source,
        )
    return InputRange(
        key,
        (pair[0] + pair[1]) / 2.0,
        low,
        high,
        kind="measured" if measured is not None else "given" if given else "assumed",
        source=known.why,
        readings=0 if measured is None else measured.readings,
        unit=kind.unit,
        places=(place,),
        written="" if measured is None else measured.written,
    )


def _kicks(inputs: _Inputs, fitted: FittedTable | None) -> Iterator[InputRange]:
    """Return the ranges of kicks; those that a trial allows where it says so."""
    for one in inputs.all():
        name = one.key.rpartition(".")[2]
        if fitted is None or getattr(fitted, name, None) is None or one.kind != "assumed":
            yield one
            continue
        low, high = bounds(
            documented()[f"kicks.{name}"].given, one.value, _kind(keys(KicksTable)[name])
        )
        if name == "energy" and fitted.low is not None and fitted.high is not None:
            low, high = min(fitted.low, one.value), max(fitted.high, one.value)
        source = f"fitted to trial {fitted.trial}"
        yield replace(one, low=low, high=high, kind="measured", source=source)


def _kind(one: Key) -> Of:
    """Return the kind of a key that has one documented; the table names no other."""
    if one.kind is None:
        raise InputError(one.name, "no quantity", "a key whose value is one")
    return one.kind


def _sizes(scenario: Scenario, table: SizeTable, index: int) -> Iterator[InputRange]:
    """Return the ranges of one size: what the catalogue says of it, where the file does not."""
    can, path = scenario.sizes[index], f"sizes[{index}]"
    listed = listed_values(table.catalogue, table.metal or "aluminium")
    row = None if table.catalogue is None else size_row(table.catalogue)
    named = f"sizes[{can.name}]."
    said = {f"{path}.{entry.key.removeprefix(named)}": entry.value for entry in can.assumed}
    for one in _Inputs(scenario, table, path, f"sizes.{index}", said).all():
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
    kind = _kind(keys(SizeTable)[name])
    return bounds(documented()[f"sizes.{name}"].assumed, one.value, kind)


def _at(thing: Any, place: str) -> Any:
    """Return what stands at a place of a scenario; None where a part on the way is None."""
    for part in place.split("."):
        if thing is None:
            return None
        thing = thing[int(part)] if part.isdecimal() else getattr(thing, part)
    return thing
