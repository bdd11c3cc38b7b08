"""Whether values that are each acceptable make sense together; each complaint names one key."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import median

from packsim.can import Can
from packsim.catalogue import catalogue_sizes
from packsim.constants import MAX_CANS, SIN60
from packsim.errors import InputError
from packsim.line import Scenario, Stage
from packsim.scenario.complaints import Unlikely, did_you_mean
from packsim.scenario.guides import wire_heights_key
from packsim.scenario.ledger import Ledger
from packsim.scenario.tables import ScenarioFile


def check_names(tables: ScenarioFile, ledger: Ledger) -> None:
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


def check_sense(
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
    raise Unlikely(key, f"{width:g} mm", limit, likely)


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


def doubtful(scenario: Scenario) -> list[InputError]:
    """Return complaints, not raised, about values of a scenario that can be, but hardly are.

    A stage shorter than a tenth of the usual one of the line, or longer than ten of it; a can
    wider, narrower, taller or lower than any known body by a quarter. Each says what is usual, and
    asks.
    """
    found = []
    lengths = [stage.length_mm for stage in scenario.stages]
    for i, stage in enumerate(scenario.stages):
        others = lengths[:i] + lengths[i + 1 :]
        usual = median(others) if others else stage.length_mm
        longest = 10.0 if len(others) > 1 else math.inf  # of two, the short one is asked about
        if not 0.1 < stage.length_mm / usual < longest:
            found.append(_doubt(f"stages[{i}].length", stage.length_mm, 0.3 * usual, 3.0 * usual))
    rows = catalogue_sizes()
    for j, can in enumerate(scenario.sizes):
        for key, value, known in (
            ("diameter", can.diameter_mm, [row.diameter_mm.value for row in rows]),
            ("height", can.height_mm, [row.trimmed_height_mm.value for row in rows]),
        ):
            low, high = 0.8 * min(known), 1.25 * max(known)
            if not low <= value <= high:
                found.append(_doubt(f"sizes[{j}].{key}", value, low, high))
    return found


def _doubt(key: str, value_mm: float, low_mm: float, high_mm: float) -> InputError:
    """Ask about a value; a scenario does not keep the unit it was written in, so two are tried."""
    usual = f"a look: {low_mm:.4g} to {high_mm:.4g} mm is usual"
    units = {"mm": 1.0, "in": 25.4, "ft": 304.8}
    texts = sorted((f"{value_mm / size:.9g} {unit}" for unit, size in units.items()), key=len)
    asked = [question for text in texts[:2] if (question := did_you_mean(text, low_mm, high_mm))]
    return InputError(key, f"{value_mm:g} mm", "; ".join([usual, *asked[:1]]))
