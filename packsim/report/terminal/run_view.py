"""What many passages counted, as tables and as plain data; `run_charts` draws it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.line import Scenario
from packsim.passage.counting import poisson_interval
from packsim.passage.passages import Passages
from packsim.passage.record import PLACES, Profile
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
    keys = assumed_rows(first.scenario.assumed + can.assumed, names, display.units)
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
    return Group(heading, table, *[Text(note, style="yellow") for note in _notes(passages)])


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
    low_a, high_a = a.interval_per_million()
    low_b, high_b = b.interval_per_million()
    if not all(map(math.isfinite, (low_a, high_a, low_b, high_b))):
        return "Nothing to compare: no can went through."
    if high_a < low_b or high_b < low_a:
        worse, better = (name_a, name_b) if low_a > high_b else (name_b, name_a)
        return f"The intervals do not overlap: '{worse}' tips more cans than '{better}'."
    return "The intervals overlap: these counts cannot tell the settings apart; run more cans."


def run_json(cases: Sequence[RunCase]) -> dict[str, Any]:
    """Return the counts as plain data."""
    return {
        "schema": 1,
        "scenario": cases[0].scenario.name,
        "size": cases[0].passages.size,
        "seed": cases[0].passages.seed,
        "places": list(PLACES),
        "cases": [_case_json(case) for case in cases],
        "assumed": [str(each) for each in cases[0].scenario.assumed],
    }


def _case_json(case: RunCase) -> dict[str, Any]:
    passages = case.passages
    low, high = passages.interval_per_million()
    finite = passages.counted > 0
    return {
        "guides": case.name,
        "clear_width_mm": [stage.guides.narrowest_mm for stage in case.scenario.stages],
        "stages": list(passages.stages),
        "runs": len(passages.runs),
        "asked": passages.asked,
        "interrupted": passages.interrupted,
        "cans": passages.counted,
        "tips": passages.tips.tolist() if passages.runs else [],
        "kicks": passages.kicks.tolist() if passages.runs else [],
        "across": passages.across.tolist() if passages.runs else [],
        "profile": _profile_json(passages.profile),
        "tipped_per_million": passages.tipped_per_million if finite else None,
        "interval_per_million": [low, high] if finite else None,
        "max_overlap_mm": passages.max_overlap_mm,
        "notes": _notes(passages),
    }


def _profile_json(profile: Profile | None) -> dict[str, list[float | None]] | None:
    """Return the profile with null where no can was seen."""
    if profile is None:
        return None
    return {
        field.name: [float(v) if math.isfinite(v) else None for v in getattr(profile, field.name)]
        for field in fields(Profile)
    }
