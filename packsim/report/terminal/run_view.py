"""What many passages counted, as tables; `run_charts` draws it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.assumption import Assumption
from packsim.line import Scenario
from packsim.passage.counting import poisson_interval
from packsim.passage.passages import Passages
from packsim.passage.record import PLACES
from packsim.report.terminal.wide_table import WideTable
from packsim.report.words.assumed import assumed_rows
from packsim.report.words.cautions import CAUTION_LINE
from packsim.report.words.display import Display


@dataclass(frozen=True, slots=True, eq=False)
class RunCase:
    """Passages at one guide setting.

    Parameters
    ----------
    name : str
        What the setting is called.
    scenario : Scenario
        The line as it was run.
    passages : Passages
        What was counted.
    """

    name: str
    scenario: Scenario
    passages: Passages

    @property
    def clear_width_mm(self) -> tuple[float, ...]:
        """Clear width of every stage at its narrowest bracket [mm]."""
        return tuple(stage.guides.narrowest_mm for stage in self.scenario.stages)

    @property
    def assumed(self) -> tuple[Assumption, ...]:
        """Everything the counts rest on without a measurement."""
        return self.scenario.assumed + self.scenario.size(self.passages.size).assumed

    @property
    def notes(self) -> list[str]:
        """What to know about the counts."""
        return _notes(self.passages)


def run_report(cases: Sequence[RunCase], display: Display) -> RenderableType:
    """Return the counts for the terminal."""
    first = cases[0]
    can = first.scenario.size(first.passages.size)
    parts: list[RenderableType] = [
        Text(f"{first.scenario.name}: {can.name}, can by can", style="bold"),
        Text(
            f"seed {first.passages.seed}; exact 95 % Poisson intervals; same seed, same result, "
            "however many workers"
        ),
        Text(),
    ]
    for case in cases:
        parts += [_case(case, display), Text()]
    if len(cases) > 1:
        parts += [Text(_comparison(cases)), Text()]
    names = [stage.name for stage in first.scenario.stages]
    keys = assumed_rows(first.assumed, names, display.units)
    parts.append(Text("Assumed: " + "; ".join(f"{k} = {v}" for k, v, _ in keys), style="dim"))
    parts.append(Text(f"Caution. {CAUTION_LINE}"))
    return Group(*parts)


def _case(case: RunCase, display: Display) -> RenderableType:
    passages = case.passages
    table = WideTable("stage")
    for name in ("clear width", *PLACES, "tipped per million", "95 % interval"):
        table.add_column(name)
    for i, stage in enumerate(case.scenario.stages):
        row = passages.tips[i] if passages.runs else [0, 0, 0]
        table.add_row(
            stage.name,
            display.length(stage.guides.narrowest_mm, unit=False),
            *(str(int(count)) for count in row),
            *_rate(int(sum(row)), passages.counted),
        )
    heading = Text.assemble(
        (case.name, "bold"),
        f": {passages.counted:,} cans in {len(passages.runs)} of {passages.asked} runs, "
        f"{int(passages.tips.sum())} tipped, {_whole(passages)}",
    )
    return Group(heading, table, *[Text(note, style="yellow") for note in case.notes])


def _notes(passages: Passages) -> list[str]:
    notes = []
    if passages.interrupted:
        notes.append("interrupted: these are the runs that were done by then")
    reasons = {run.reason for run in passages.runs if run.reason}
    notes += [f"no can could be fed: {reason}" for reason in sorted(reasons)]
    jammed = {passages.stages[jam.stage] for run in passages.runs for jam in run.jams}
    if jammed:
        notes.append("the pack jams in " + ", ".join(sorted(jammed)))
    if passages.max_overlap_mm > 0.1:
        notes.append(f"cans were left overlapping by up to {passages.max_overlap_mm:.2f} mm")
    return notes


def _rate(tips: int, cans: int) -> tuple[str, str]:
    if not cans:
        return "–", "–"
    low, high = (1e6 * end / cans for end in poisson_interval(tips))
    return f"{1e6 * tips / cans:,.0f}", f"{low:,.0f} – {high:,.0f}"


def _whole(passages: Passages) -> str:
    rate, interval = _rate(int(passages.tips.sum()), passages.counted)
    return f"{rate} per million ({interval})"


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
