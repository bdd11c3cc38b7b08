"""What is in doubt about a line, in words."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Final

from packsim.answers.answer_inputs import as_it_is
from packsim.doubt.confidence import Confidence
from packsim.doubt.doubt import Doubt, Measure, StageDoubt
from packsim.doubt.measuring import ACTIONS
from packsim.doubt.shares import REST
from packsim.doubt.tornado import QUANTITIES, InputSwing
from packsim.errors import printable, whole_percent
from packsim.line import Scenario
from packsim.line.input_range import InputRange
from packsim.report.words.display import Display
from packsim.report.words.input_words import (
    amount_words,
    input_name,
    range_words,
    value_words,
)

MOST_MEASURES: Final = 3
"""Measurements that are named where there is little room."""

LEAST_SHARE: Final = 0.1
"""An input with a smaller share in tip index and verdict decides little."""

TITLES: Final = {
    "tip_index": "What swings the tip index?",
    "safe_slack_mm": "What swings the safe slack?",
    "loosest_slack_mm": "What swings the worst-case slack?",
    "window_width_mm": "What swings the guide window?",
}
"""Question that a chart of swings answers, by quantity."""

NAMES: Final = {
    "tip_index": "tip index",
    "safe_slack_mm": "safe slack",
    "loosest_slack_mm": "worst-case slack",
    "window_width_mm": "window width",
}
"""Headings of the quantities that swing."""

INDEX_MEANING: Final = (
    "share: of the scatter of the tip index, which goes once the input is known (95 % interval); "
    "total: with what it does together with others; verdict: that of the doubt in the verdict."
)
EXACT_MEANING: Final = (
    "know to: how exactly it must be known for the verdict not to turn by it alone; a dash where "
    "no value in its range turns it."
)
WINDOW_MEANING: Final = "A window below 0 is missing by so much: no setting is safe in every case."
GAIN_MEANING: Final = (
    "narrows: share of the scatter of the slack left that goes; settles: share of the verdicts' "
    "doubt that goes."
)
MINUTES_MEANING: Final = "Minutes: assumed, no source."


def others_words(sure: Confidence) -> str:
    """Return the other verdicts there may be and their shares: ``loose 5 %, can tip 2 %``."""
    return ", ".join(f"{word} {whole_percent(share)}" for word, share in sure.others)


def sure_words(sure: Confidence) -> str:
    """Return a verdict, its share with what so many cases can tell, and the others."""
    ends = f"{100.0 * sure.low:.0f} to {100.0 * sure.high:.0f} %"
    rest = f"; {others_words(sure)}" if sure.others else ""
    return f"{sure.said} ({ends}){rest}"


def measure_words(one: Measure) -> str:
    """Return what a measurement takes and gives, in a line."""
    gives = f"narrows {whole_percent(one.narrows)}, settles {whole_percent(one.settles)}"
    return f"{one.action.name}: {one.minutes:.0f} min, {gives}"


def exact_words(one: Measure, scenario: Scenario, display: Display) -> str:
    """Return how exactly what a measurement settles must be known; empty where nothing turns.

    Of the same thing at several places the strictest counts.
    """
    ranges = {each.key: each for each in one.inputs}
    groups: dict[str, list[tuple[str, float]]] = {}
    for key, within in one.within:
        groups.setdefault(input_name(key.rpartition(".")[2]), []).append((key, within))
    found = []
    for name, some in groups.items():
        key, within = min(some, key=lambda pair: pair[1])
        each = ranges[key]
        where = _owner(key, scenario) if len(some) == 1 else ""
        exact = amount_words(each, within, display)
        found.append(
            f"{name}{where}: {' or '.join(each.choices)}"
            if each.choices
            else f"{name}{where} to {exact}"
        )
    return "; ".join(found)


def _owner(key: str, scenario: Scenario) -> str:
    """Name of the size or the stage of a key path, in brackets; empty for the line."""
    table, _, number = key.partition(".")[0].rstrip("]").partition("[")
    owners = {
        "sizes": [can.name for can in scenario.sizes],
        "stages": [stage.name for stage in scenario.stages],
    }.get(table, [])
    return f" ({printable(owners[int(number)])})" if number and owners else ""


def unsettled_words(place: StageDoubt) -> str:
    """Return the inputs that decide much here and that no measurement settles; empty for none."""
    keys = [
        one.name
        for one in place.shares
        if max(one.total[0], one.total[-1]) >= LEAST_SHARE
        and one.name != REST
        and not any(action.settled(one.name) for action in ACTIONS)
    ]
    if not keys:
        return ""
    names = "; ".join(map(input_name, keys))
    return f"No measurement here settles: {names}. Look at both ends."


def alike_swings(swings: Sequence[InputSwing]) -> list[tuple[str, InputSwing]]:
    """Return swings under their names, headers alike that swing alike in one."""
    groups: dict[object, list[InputSwing]] = {}
    for swing in swings:
        name = re.sub(r"headers\[\d+\]", "headers[]", swing.input.key)
        told = [*swing.low, *swing.high, swing.input.low, swing.input.high]
        at = (name, tuple(f"{each:.6g}" for each in told)) if "[]" in name else swing.input.key
        groups.setdefault(at, []).append(swing)
    found = []
    for some in groups.values():
        name = input_name(some[0].input.key)
        if len(some) > 1:
            numbers = (input_name(each.input.key).rpartition(" ")[2] for each in some)
            name = f"{name.partition(',')[0]}, headers {', '.join(numbers)}"
        found.append((name, some[0]))
    return found


def taken_words(one: InputRange, display: Display) -> str:
    """Return what an input is taken as and how far it may be off."""
    if not math.isnan(as_it_is(one)):
        return range_words(one, display)
    ends = " to ".join(value_words(one, end, display) for end in (one.low, one.high))
    return f"{ends}, the worse for each question"


def most_doubtful(found: Doubt) -> StageDoubt:
    """Return the stage and size whose verdict is most in doubt, the first of equals."""
    return max(found.places, key=lambda place: place.doubt)


def quantity_words(name: str, value: float, display: Display) -> str:
    """Return a quantity that swings, lengths without their unit."""
    if name == "tip_index":
        return "no stop" if math.isinf(value) else display.index(value)
    return display.length(value, unit=False)


def swing_words(swing: InputSwing, name: str, display: Display) -> str:
    """Return a quantity at both ends of an input, from the low end to the high one."""
    k = QUANTITIES.index(name)
    if swing.swing(name) == 0.0:
        return "–"
    low, high = (quantity_words(name, each[k], display) for each in (swing.low, swing.high))
    return f"{low} to {high}"
