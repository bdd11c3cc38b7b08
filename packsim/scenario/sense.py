"""Whether values that are each acceptable make sense together; each complaint names one key."""

from __future__ import annotations

from collections.abc import Sequence

from packsim.can import Can
from packsim.constants import MAX_CANS, SIN60
from packsim.errors import InputError
from packsim.line import Stage
from packsim.scenario.guides import wire_heights_key
from packsim.scenario.line_tables import SizeTable
from packsim.scenario.tables import ScenarioFile

__all__ = ["check_sense"]


def check_sense(
    tables: ScenarioFile, stages: Sequence[Stage], sizes: Sequence[Can], set_for: str
) -> None:
    """Refuse what no line could be.

    Parameters
    ----------
    tables : ScenarioFile
        The file, for its keys.
    stages, sizes : sequences
        The nouns built from it.
    set_for : str
        Name of the size the guides are set for.

    Raises
    ------
    InputError
        For a name used twice, guides closer than one can of the size they are set for, wires
        above every can, or more cans than any washer holds.
    """
    _unique("stages", [stage.name for stage in stages])
    _unique("sizes", [can.name for can in sizes])
    can = next(can for can in sizes if can.name == set_for)
    for i, stage in enumerate(stages):
        _room_for_one(tables, stage, i, can)
        _wires_reach(tables, stage, i, sizes)
    for j, can in enumerate(sizes):
        _countable(tables.sizes[j], j, can, stages)


def _unique(key: str, names: Sequence[str]) -> None:
    seen: set[str] = set()
    for i, name in enumerate(names):
        if name in seen:
            raise InputError(f"{key}[{i}].name", name, "a name not used before")
        seen.add(name)


def _room_for_one(tables: ScenarioFile, stage: Stage, index: int, can: Can) -> None:
    brackets = stage.guides.brackets
    tightest = min(range(len(brackets)), key=lambda i: brackets[i].clear_width_mm)
    width = brackets[tightest].clear_width_mm
    if width >= can.diameter_mm:
        return
    listed = tables.stages[index].brackets is not None
    key = f"stages[{index}]." + (f"brackets[{tightest}].right" if listed else "clear_width")
    limit = f"room for one can, {can.diameter_mm:g} mm from guide to guide, here {width:g} mm"
    raise InputError(key, f"{width:g} mm", limit)


def _wires_reach(tables: ScenarioFile, stage: Stage, index: int, sizes: Sequence[Can]) -> None:
    lowest = stage.guides.wires.heights_mm[0]
    tallest = max(sizes, key=lambda can: can.height_mm)
    if lowest < tallest.height_mm:
        return
    limit = f"a lowest wire below the top of the tallest can, {tallest.height_mm:g} mm"
    key = f"{wire_heights_key(tables.stages[index], index)}[0]"
    raise InputError(key, f"{lowest:g} mm", limit)


def _countable(table: SizeTable, index: int, can: Can, stages: Sequence[Stage]) -> None:
    """Refuse more cans than `MAX_CANS`; a perfect pack has one per D²√3/2."""
    area = sum(stage.guides.widest_mm * stage.length_mm for stage in stages)
    count = area / (SIN60 * can.diameter_mm**2)
    if count <= MAX_CANS:
        return
    key = "catalogue" if table.diameter is None else "diameter"
    limit = f"at most {MAX_CANS} cans on the mat, here {count:.3g}; check widths and lengths too"
    raise InputError(f"sizes[{index}].{key}", f"{can.diameter_mm:g} mm", limit)
