"""A `Scenario` back to a complete scenario file, which reads back to an equal one."""

from collections.abc import Sequence
from typing import Any, Final

from packsim.can import Can
from packsim.errors import Assumption
from packsim.line import Bracket, Scenario, Stage
from packsim.line.guides import even_brackets
from packsim.scenario import fields as f
from packsim.scenario.keys import Table, keys
from packsim.scenario.line_tables import GuidesTable, MatTable, SizeTable
from packsim.scenario.quantities import write_quantity
from packsim.scenario.renew import SCHEMA
from packsim.scenario.stage_tables import (
    BracketTable,
    HeaderTable,
    KicksTable,
    SettingTable,
    StageTable,
)
from packsim.scenario.tables import HistoryRow, ScenarioFile

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
    tables = [_filled(GuidesTable, stage.guides) for stage in scenario.stages]
    shared = {
        key: value for key, value in tables[0].items() if all(t.get(key) == value for t in tables)
    }
    lines = [_NOTE + f"schema = {SCHEMA}", *_pairs(_filled(ScenarioFile, scenario)), ""]
    lines += _table("[mat]", _filled(MatTable, scenario.mat))
    for can in scenario.sizes:
        lines += _size(can)
    lines += _table("[guides]", shared)
    for stage in scenario.stages:
        lines += _stage(stage, shared)
    for past in scenario.history:
        counts = {"cans": str(past.cans), "tipped": str(past.tipped)}
        lines += _table("[[history]]", _filled(HistoryRow, past) | counts)
        for name, width in past.widths_mm:
            filled = {
                "stage": f.toml_text(name),
                "clear_width": write_quantity(width, f.kind_of(f.Length)),
            }
            lines += _table("[[history.widths]]", filled)
    lines += _assumed("assumed", scenario.assumed)
    return "\n".join(lines)


def _filled(table: type[Table], noun: object) -> dict[str, str]:
    """Return every key of a table that a noun fills, with its value as TOML."""
    found = {}
    for name, one in keys(table).items():
        value = _reached(noun, one.noun) if one.noun else None
        if value is not None and value not in ("", ()):
            found[name] = one.reader.toml(value)
    return found


def _reached(noun: object, path: str) -> Any:
    """Return a field of a noun, a field of a field, or one of a pair."""
    here: Any = noun
    for part in path.split("."):
        if here is None:
            return None
        here = here[int(part)] if part.isdecimal() else getattr(here, part)
    return here


def _pairs(filled: dict[str, str]) -> list[str]:
    return [f"{key} = {value}" for key, value in filled.items()]


def _table(heading: str, filled: dict[str, str]) -> list[str]:
    return [heading, *_pairs(filled), ""]


def _size(can: Can) -> list[str]:
    head = _table("[[sizes]]", {"name": f.toml_text(can.name), **_filled(SizeTable, can)})
    return [*head, *_assumed("sizes.assumed", can.assumed)]


def _stage(stage: Stage, shared: dict[str, str]) -> list[str]:
    lines = ["[[stages]]", *_pairs(_filled(StageTable, stage)), *_brackets(stage), ""]
    own = {k: v for k, v in _filled(GuidesTable, stage.guides).items() if shared.get(k) != v}
    if own:
        lines += _table("[stages.guides]", own)
    lines += _table("[stages.kicks]", _filled(KicksTable, stage.kicks))
    for header in stage.headers:
        lines += _table("[[stages.headers]]", _filled(HeaderTable, header))
    for setting in stage.settings:
        lines += ["[[stages.settings]]", *_stood(setting.brackets)]
        lines += [*_pairs(_filled(SettingTable, setting)), ""]
    return lines


def _brackets(stage: Stage) -> list[str]:
    """Write one width where that gives the very same brackets, else every bracket."""
    brackets = stage.guides.brackets
    first = brackets[0]
    if len(brackets) > 1:
        spacing = stage.length_mm / (len(brackets) - 1)
        width, centre = first.clear_width_mm, first.centre_mm
        if even_brackets(stage.length_mm, spacing, width, centre) == brackets:
            return [
                *_width(first),
                f"bracket_spacing = {write_quantity(spacing, f.kind_of(f.Length))}",
            ]
    return _listed(brackets)


def _stood(brackets: Sequence[Bracket]) -> list[str]:
    """Write one width where every bracket of a setting on record stands so, else every bracket."""
    half, centre = brackets[0].clear_width_mm / 2.0, brackets[0].centre_mm
    alike = all((b.left_mm, b.right_mm) == (centre - half, centre + half) for b in brackets)
    return _width(brackets[0]) if alike else _listed(brackets)


def _width(bracket: Bracket) -> list[str]:
    width, centre = bracket.clear_width_mm, bracket.centre_mm
    return [
        f"clear_width = {write_quantity(width, f.kind_of(f.Length))}",
        f"pack_centre_from_left = {write_quantity(centre, f.kind_of(f.Place))}",
    ]


def _listed(brackets: Sequence[Bracket]) -> list[str]:
    rows = [", ".join(_pairs(_filled(BracketTable, bracket))) for bracket in brackets]
    return ["brackets = [", *(f"  {{ {row} }}," for row in rows), "]"]


def _assumed(table: str, entries: Sequence[Assumption]) -> list[str]:
    lines = []
    for entry in entries:
        words = {"key": entry.key, "value": entry.value, "why": entry.why}
        lines += _table(f"[[{table}]]", {key: f.toml_text(text) for key, text in words.items()})
    return lines
