"""What many passages counted, as tables; `run_charts` draws it."""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from rich.console import Group, RenderableType
from rich.text import Text

from packsim.chance import History
from packsim.counts.passages import Passages
from packsim.passage.record import PLACES
from packsim.report.terminal.parts import WideTable, caution
from packsim.report.terminal.study_table import history_part
from packsim.report.words.chance_words import Told, against_history, rate_text
from packsim.report.words.display import Display
from packsim.report.words.numbers import assumed_rows, per_million, thousands, with_interval
from packsim.report.words.run_case import RunCase

_SLICES: Final = (
    "Counted in slices of pack that repeat along travel: every can that is moved is counted. Cans "
    "held up or pushed back along the line are not seen; packsim run --whole-line sees them."
)
_WHOLE: Final = (
    "Followed through a line full of cans; those that were on it at the start are not counted."
)


def run_report(
    cases: Sequence[RunCase], display: Display, past: History | None = None
) -> RenderableType:
    """Return the counts for the terminal, what the line is known to have done first."""
    first = cases[0]
    can = first.scenario.size(first.passages.size)
    parts = [
        *history_part(past, display),
        Text(f"{first.scenario.name}: {can.name}, can by can", style="bold"),
        Text(
            f"seed {first.passages.seed}; 95 % intervals, exact Poisson where tips come singly; "
            "same seed, same result, however many workers"
        ),
        Text(_WHOLE if first.passages.whole_line else _SLICES),
        Text(),
    ]
    told = [case.chance for case in cases if case.chance is not None]
    for case in cases:
        parts += [_case(case, display), Text()]
    parts += [Text(line, style="yellow") for line in against_history(past, told)]
    if len(cases) > 1:
        parts += [Text(_comparison(cases)), Text()]
    names = [stage.name for stage in first.scenario.stages]
    keys = assumed_rows(first.assumed, names, display.units)
    parts.append(Text("Assumed: " + "; ".join(f"{k} = {v}" for k, v, _ in keys), style="dim"))
    return Group(*parts, Text(), caution())


def _case(case: RunCase, display: Display) -> RenderableType:
    passages, cans, chance = case.passages, case.passages.counted, case.chance
    agree = case.agreement
    both = bool(agree)
    heads = ["clear\nwidth", *PLACES, "tips per million\ncounted (95 %)"]
    heads += ["tips per million\nexpected (95 %)", "<counted and\nexpected"] if both else []
    table = WideTable("stage", heads)
    for i, stage in enumerate(case.scenario.stages):
        row = passages.tips[i] if passages.runs else np.zeros(len(PLACES), dtype=np.int64)
        places, more = [thousands(count) for count in row], []
        if both and chance is not None:
            found = chance.stages[i]
            here = zip(places, found.by_place * (cans / 1e6), strict=True)
            places = [f"{count} ({per_million(expected)})" for count, expected in here]
            more = [rate_text(found), agree[i]]
        width = display.setting(stage.guides.narrowest_mm, unit=False)
        table.add_row(stage.name, width, *places, _rate(passages, int(row.sum())), *more)
    heading = Text.assemble(
        (case.name, "bold"),
        f": {thousands(cans)} cans in {len(passages.runs)} of {passages.asked} "
        f"{'runs' if passages.whole_line else 'slices'}, "
        f"{thousands(passages.tips.sum())} tipped, "
        f"{_rate(passages, int(passages.tips.sum()))} per million",
    )
    said = []
    if both and chance is not None:
        told = Told(case.name, case.scenario, chance)
        said = [
            f"Expected of the pack as it moves: {rate_text(chance.line)} per million; in brackets "
            "beside each count, the tips expected of as many cans.",
            *told.said,
        ]
    below = [Text(line, style="dim") for line in said]
    return Group(heading, table, *below, *[Text(note, style="yellow") for note in case.notes])


def _rate(passages: Passages, tips: int) -> str:
    if not passages.counted:
        return "–"
    return with_interval(1e6 * tips / passages.counted, *passages.interval_per_million(tips))


def _comparison(cases: Sequence[RunCase]) -> str:
    (name_a, a), (name_b, b) = ((case.name, case.passages) for case in cases[:2])
    low_a, high_a = a.tips_per_million_interval
    low_b, high_b = b.tips_per_million_interval
    if not all(map(math.isfinite, (low_a, high_a, low_b, high_b))):
        return "Nothing to compare: no can went through."
    if high_a < low_b or high_b < low_a:
        worse, better = (name_a, name_b) if low_a > high_b else (name_b, name_a)
        return f"The intervals do not overlap: '{worse}' tips more cans than '{better}'."
    return "The intervals overlap: these counts cannot tell the settings apart; run more cans."
