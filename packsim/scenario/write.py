"""A `Scenario` back to a complete scenario file, which reads back to an equal one."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any, Final

from packsim.can import Can
from packsim.errors import Assumption
from packsim.line import Bracket, Nozzle, Scenario, Stage
from packsim.line.guides import even_brackets
from packsim.line.input_range import InputRange
from packsim.line.knob import field_at
from packsim.scenario.keys import Table, keys
from packsim.scenario.line_tables import AssumedTable, GuidesTable, MatTable, SizeTable
from packsim.scenario.renew import SCHEMA
from packsim.scenario.stage_tables import (
    UNUSED,
    BracketTable,
    HeaderTable,
    KicksTable,
    SettingTable,
    StageTable,
)
from packsim.scenario.tables import HistoryRow, ScenarioFile
from packsim.scenario.values import fields as f
from packsim.scenario.values.quantities import write_quantity
from packsim.scenario.values.readers import toml_text
from packsim.scenario.write_stages import Flat, flat_of, stage_lines, table_lines

_PLAIN: Final = {f"nozzle.{one.name}": one.default for one in fields(Nozzle)}
"""What a nozzle has where nobody says it."""

_NOTE: Final = """\
# Saved by packsim: every value is written out, and [[assumed]] lists those nobody measured.
# When you measure one, change it and delete its [[assumed]] entry.
"""


def scenario_to_toml(scenario: Scenario) -> str:
    """Write a complete scenario file.

    Parameters
    ----------
    scenario : Scenario
        Any scenario; an included file is written out, not referred to.

    Returns
    -------
    str
        TOML that `parse_scenario` reads back to an equal scenario, assumptions and all, provided
        that kicks without a trial are among them, as in every scenario read from a file.
    """
    ranges = {place: one for one in scenario.ranges for place in one.places}
    on_record = {entry.key for entry in scenario.assumed} | {
        entry.key.replace(f"[{can.name}]", f"[{i}]", 1)
        for i, can in enumerate(scenario.sizes)
        for entry in can.assumed
    }
    write = _Writer(ranges, frozenset(on_record))
    lines = _table(f"{_NOTE}schema = {SCHEMA}", _filled(ScenarioFile, scenario))
    lines += _table("[mat]", write.filled(MatTable, scenario.mat, "mat"))
    for i, can in enumerate(scenario.sizes):
        lines += write.size(can, f"sizes.{i}")
    shared = write.shared(scenario.stages)
    lines += _table("[guides]", shared)
    stages = [write.stage(stage, f"stages.{i}") for i, stage in enumerate(scenario.stages)]
    rows = [write.headers(stage, f"stages.{i}") for i, stage in enumerate(scenario.stages)]
    lines += stage_lines(stages, rows, {("guides", key): text for key, text in shared.items()})
    for past in scenario.history:
        counts = {"cans": str(past.cans), "tipped": str(past.tipped)}
        lines += _table("[[history]]", _filled(HistoryRow, past) | counts)
        for name, width in past.widths_mm:
            then = {"stage": toml_text(name), "clear_width": _length(width)}
            lines += _table("[[history.widths]]", then)
    lines += assumed_lines("assumed", scenario.assumed)
    return "\n".join(lines)


def _filled(table: type[Table], noun: object) -> dict[str, str]:
    """Return every key of a table that a noun fills, with its value as TOML."""
    found = {}
    for name, one in keys(table).items():
        value = field_at(noun, one.noun) if one.noun else None
        if value is not None and value not in ("", ()):
            found[name] = one.reader.toml(value)
    return found


def _table(heading: str, values: dict[str, str]) -> list[str]:
    return table_lines(heading, flat_of(values))


@dataclass(frozen=True, slots=True)
class _Writer:
    """Writes tables; a value still as it was measured is written as the file had it.

    ``ranges`` has what is known of every input, by the places of `InputRange`; ``assumed`` the
    keys on record as assumed.
    """

    ranges: dict[str, InputRange]
    assumed: frozenset[str]

    def filled(self, table: type[Table], noun: object, place: str) -> dict[str, str]:
        """Return every key of a table that a noun fills, with its value as TOML.

        Not what is neither given nor on record as assumed: left out, it reads back as it is.
        """
        found = {}
        for name, text in _filled(table, noun).items():
            one = keys(table)[name]
            value, at = field_at(noun, one.noun), f"{place}.{one.noun}"
            if isinstance(value, tuple) and f"{at}.0" in self.ranges:
                each = (
                    self.written(f"{at}.{k}", v) or one.reader.toml(v) for k, v in enumerate(value)
                )
                found[name] = f"[{', '.join(each)}]"
                continue
            place_of = at if at in self.ranges else f"{place}.{name}()"
            if table.model_fields[name].is_required() or not self.left_out(place_of, value):
                found[name] = self.written(place_of, value) or text
        return found

    def written(self, place: str, value: object) -> str:
        """Return what the file had at a place, if the value is still as it was measured."""
        one = self.ranges.get(place)
        known = one is not None and one.kind == "measured" and one.value == _middle(value)
        return one.written if one is not None and known else ""

    def left_out(self, place: str, value: object) -> bool:
        """Whether nobody gave a value and none is on record as assumed."""
        one = self.ranges.get(place)
        if one is None or one.kind != "assumed" or one.choices or one.key in self.assumed:
            return False
        return bool(one.value == _middle(value))

    def shared(self, stages: Sequence[Stage]) -> dict[str, str]:
        """Return what most stages have alike in their guides, of what every one of them has."""
        tables = [
            self.filled(GuidesTable, stage.guides, f"stages.{i}.guides")
            for i, stage in enumerate(stages)
        ]
        everywhere = [key for key in tables[0] if all(key in table for table in tables)]
        found = {key: Counter(t[key] for t in tables).most_common(1)[0][0] for key in everywhere}
        for i, stage in enumerate(stages):
            known = self.ranges.get(f"stages.{i}.bracket_spacing()")
            even = self.even(stage, f"stages.{i}")
            if known is not None and even is not None and _for_all(known, even[2]):
                found["bracket_spacing"] = known.written or _length(known.value)
        return found

    def size(self, can: Can, place: str) -> list[str]:
        head = {"name": toml_text(can.name)}
        listed = [one for at, one in self.ranges.items() if at.startswith(f"{place}.")]
        ids = {one.written for one in listed if one.kind != "measured" and one.written}
        if len(ids) == 1:
            head["catalogue"] = toml_text(*ids)
        filled = self.filled(SizeTable, can, place)
        tolerance = self.ranges.get(f"{place}.diameter_tol_mm")
        follows = tolerance is not None and tolerance.readings and not tolerance.written
        if follows and filled.get("diameter", "").startswith("["):
            filled.pop("diameter_tol", None)  # it follows from the readings of the diameter
        return [
            *_table("[[sizes]]", head | filled),
            *assumed_lines("sizes.assumed", can.assumed),
        ]

    def stage(self, stage: Stage, place: str) -> Flat:
        """Return all that a stage has, but for its headers."""
        found = flat_of(self.filled(StageTable, stage, place) | self.brackets(stage, place))
        guides = self.filled(GuidesTable, stage.guides, f"{place}.guides")
        kicks = self.filled(KicksTable, stage.kicks, f"{place}.kicks")
        found |= {("guides", key): text for key, text in guides.items()}
        found |= {("kicks", key): text for key, text in kicks.items()}
        lines: list[str] = []
        for setting in stage.settings:
            values = _stood(setting.brackets) | _filled(SettingTable, setting)
            lines += _table("[[stages.settings]]", values)
        return found | {("settings",): tuple(lines)}

    def headers(self, stage: Stage, place: str) -> list[Flat]:
        """Return what each header of a stage has, but for what is plain and of no use to it."""
        rows = []
        for j, header in enumerate(stage.headers):
            filled = self.filled(HeaderTable, header, f"{place}.headers.{j}")
            for key in UNUSED[header.nozzle.pattern] & filled.keys():
                noun = keys(HeaderTable)[key].noun
                if field_at(header, noun) == _PLAIN[noun]:
                    del filled[key]
            rows.append(flat_of(filled))
        return rows

    def brackets(self, stage: Stage, place: str) -> dict[str, str]:
        """Write one width where that gives the very same brackets, else every bracket."""
        even = self.even(stage, place)
        if even is None:
            rows = [
                self.filled(BracketTable, bracket, f"{place}.guides.brackets.{j}")
                for j, bracket in enumerate(stage.guides.brackets)
            ]
            return _listed(rows)
        names = ("clear_width", "pack_centre_from_left", "bracket_spacing")
        texts = {
            name: self.written(f"{place}.{name}()", value) or _length(value)
            for name, value in zip(names, even, strict=True)
        }
        known = self.ranges.get(f"{place}.bracket_spacing()")
        if known is not None and _for_all(known, even[2]):
            del texts["bracket_spacing"]
        return texts

    def even(self, stage: Stage, place: str) -> tuple[float, float, float] | None:
        """Return width, centre and spacing that give the very same brackets, or None."""
        brackets = stage.guides.brackets
        first = brackets[0]
        wide, middle, apart = (
            self.ranges.get(f"{place}.{name}()")
            for name in ("clear_width", "pack_centre_from_left", "bracket_spacing")
        )
        passes, spacings = _passes(first), []
        if wide is not None and middle is not None:
            passes.insert(0, (wide.value, middle.value))
        if apart is not None:
            spacings.append(apart.value)
        if len(brackets) > 1:
            exact = stage.length_mm / (len(brackets) - 1)
            spacings += [math.ceil(1e3 * exact) / 1e3, exact]
        for spacing in spacings:
            for width, centre in passes:
                if even_brackets(stage.length_mm, spacing, width, centre) == brackets:
                    return width, centre, spacing
        return None


def _for_all(known: InputRange, spacing_mm: float) -> bool:
    return known.key == "guides.bracket_spacing" and known.value == spacing_mm


def _middle(value: Any) -> Any:
    return sum(value) / 2.0 if isinstance(value, tuple) else value


def _length(value_mm: float) -> str:
    return write_quantity(value_mm, f.kind_of(f.Place))


def _passes(bracket: Bracket) -> list[tuple[float, float]]:
    """Return clear width and centre of a bracket, as a person may have written them first."""
    width, centre = bracket.clear_width_mm, bracket.centre_mm
    return [(round(width, 6), round(centre, 6)), (width, centre)]


def _stood(brackets: Sequence[Bracket]) -> dict[str, str]:
    """Write one width where every bracket of a setting on record stands so, else every bracket."""
    for width, centre in _passes(brackets[0]):
        faces = centre - width / 2.0, centre + width / 2.0
        if all((b.left_mm, b.right_mm) == faces for b in brackets):
            return {"clear_width": _length(width), "pack_centre_from_left": _length(centre)}
    return _listed([_filled(BracketTable, bracket) for bracket in brackets])


def _listed(rows: Sequence[dict[str, str]]) -> dict[str, str]:
    said = [", ".join(f"{key} = {text}" for key, text in row.items()) for row in rows]
    return {"brackets": "\n".join(["[", *(f"  {{ {row} }}," for row in said), "]"])}


def assumed_lines(table: str, entries: Sequence[Assumption]) -> list[str]:
    """Write the entries, those of one value and reason as one; the reader puts them in order."""
    alike: dict[tuple[str, str], list[str]] = {}
    for entry in entries:
        alike.setdefault((entry.value, entry.why), []).append(entry.key)
    lines = []
    for (value, why), paths in alike.items():
        said = {"key": tuple(paths), "value": value, "why": why}
        texts = {name: keys(AssumedTable)[name].reader.toml(one) for name, one in said.items()}
        lines += _table(f"[[{table}]]", texts)
    return lines
