"""What differs in the machine between lines, in words, by the names keys have in a file."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import Any, Final

from packsim.compare.comparison import Comparison
from packsim.constants import MM_PER_INCH
from packsim.errors import plain_figures
from packsim.report.words.display import Display
from packsim.report.words.input_words import as_shown, input_name
from packsim.report.words.numbers import stage_words, with_signs
from packsim.scenario.keys import Key, keys
from packsim.scenario.line_tables import GuidesTable, MatTable, SizeTable
from packsim.scenario.stage_tables import HeaderTable, KicksTable, StageTable
from packsim.scenario.values.quantities import convert

_OWN_NAMES: Final = {
    "guides.clear_width_mm": "clear width",
    "guides.centre_mm": "middle of the guides",
    "guides.stations_mm": "places of the brackets",
    "guides.faces_mm": "guide faces, bracket by bracket",
    "guides.travel_mm": "nearest and farthest setting of a face",
    "factor": "safety factor",
    "hold_down_mm": "hold-down",
    "mat.speed_mm_per_s": "mat speed",
    "headers.above.count": "headers above",
    "headers.below.count": "headers below",
}
_SET: Final = (
    "guides.clear_width_mm",
    "guides.centre_mm",
    "guides.wires.heights_mm",
    "hold_down_mm",
)
_FIGURES: Final = 4
_MOST: Final = 4  # values of a list that are shown; of more, the first and the last
_MARK: Final = Fraction(1, 64)  # of a fine rule [in]
_TABLES: Final = {
    "mat.": MatTable,
    "guides.": GuidesTable,
    "kicks.": KicksTable,
    "headers.above.": HeaderTable,
    "headers.below.": HeaderTable,
}


def machine_table(
    found: Comparison, display: Display
) -> tuple[list[str], list[tuple[str, tuple[str, ...]]]]:
    """Return headings and rows of what differs in the machine: where, and what each line has."""
    stages = list(dict.fromkeys(stage.stage for size in found.sizes for stage in size.stages))
    rows = []
    for one in found.machine:
        where = stage_words(one.stages, stages) if one.stages else ", ".join(one.sizes)
        values = (value_text(one.field, value, display) for value in one.values)
        rows.append((field_name(one.field), (where or "line", *values)))
    return ["<where", *(f"<{name}" for name in found.names)], rows


def field_name(field: str) -> str:
    """Return what a field that differs is called: by the name its key has in a file.

    Examples
    --------
    >>> field_name("guides.wires.heights_mm"), field_name("headers.above.pressure_MPa")
    ('wire heights', 'pressure, headers above')
    """
    key = _key(field)
    name = _OWN_NAMES.get(field) or input_name(key.name if key else field.rpartition(".")[2])
    side = next((s for s in ("above", "below") if field.startswith(f"headers.{s}.")), "")
    return f"{name}, headers {side}" if side and field not in _OWN_NAMES else name


@cache
def _key(field: str) -> Key | None:
    """Return the key of a file that fills a field; None where none does."""
    for start, table in (*_TABLES.items(), ("", StageTable), ("", SizeTable)):
        if field.startswith(start):
            for one in keys(table).values():
                if one.noun == field.removeprefix(start):
                    return one
    return None


def value_text(field: str, value: Any, display: Display) -> str:
    """Return the value a line has of a field: with its unit, of a list the first and the last."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        each = [value_text(field, one, display) for one in value]
        unit = each[0].rpartition(" ")[2] if each else ""
        if unit and all(text.endswith(f" {unit}") for text in each):
            each = [*(text.removesuffix(f" {unit}") for text in each[:-1]), each[-1]]
        if len(each) > (2 if field.endswith("stations_mm") else _MOST):
            return f"{len(each)} from {each[0]} to {each[-1]}"
        return ", ".join(each) or "none"
    if not isinstance(value, float):
        return str(value)
    if field in _SET or (field in _OWN_NAMES and field.endswith("_mm")):
        return display.setting(value)
    key = _key(field)
    if key is None or key.kind is None:
        return plain_figures(value, _FIGURES)
    metric = float(convert(Fraction(repr(value)), key.kind.inner, key.kind.unit))
    number, unit = as_shown(metric, key.kind.unit, display)
    if unit == "in":
        return in_inches(number, display)
    return with_signs(f"{plain_figures(number, _FIGURES)} {unit}".strip())


def in_inches(number: float, display: Display) -> str:
    """Return a length in inches: as a fraction if it is one of a rule, else to a thousandth.

    Examples
    --------
    >>> [in_inches(x, Display("inch")) for x in (0.0625, 2.0 / 25.4, 0.0004)]
    ['1/16 in', '0.079 in', '0.0004 in']
    """
    marks = number / _MARK
    if round(marks) and abs(marks - round(marks)) < 1e-4:
        return f"{display.fraction(number * MM_PER_INCH, _MARK)} in"
    return f"{number:.3f} in" if abs(number) >= 0.01 else f"{plain_figures(number, 2)} in"
