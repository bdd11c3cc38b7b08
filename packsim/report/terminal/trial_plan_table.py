"""A trial plan for the terminal."""

from __future__ import annotations

import math

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from packsim.report.terminal.wide_table import WideTable
from packsim.report.words.cautions import CAUTION_LINE
from packsim.report.words.display import Display
from packsim.report.words.trial_words import count_text, rate_text
from packsim.trial.trial_plan import StageRoom, TrialPlan

__all__ = ["cans_and_hours", "plan_report"]


def plan_report(plan: TrialPlan, display: Display) -> Group:
    """Return a trial plan for the terminal.

    Parameters
    ----------
    plan : TrialPlan
        The plan.
    display : Display
        Unit system.

    Returns
    -------
    rich.console.Group
        Settings to run, how many cans, what to know.
    """
    parts: list[RenderableType] = [
        Text(f"Trial plan: {plan.scenario.name}", style="bold"),
        Text(f"{plan.size}, {plan.cans_per_min:,.0f} cans a minute as the line is set"),
        Text(),
    ]
    if plan.notes:
        table = Table.grid(padding=(0, 1))
        table.add_column()
        table.add_column(overflow="fold")
        for note in plan.notes:
            table.add_row("·", Text(note))
        parts += [Text("Before you start", style="bold"), Padding(table, (0, 0, 0, 2)), Text()]
    parts += [_settings(plan, display), Text(), _comparisons(plan), Text()]
    parts += [Text(f"Caution. {CAUTION_LINE}")]
    return Group(*parts)


def cans_and_hours(plan: TrialPlan, cans: float) -> str:
    """Format a number of cans with the hours they take."""
    if not math.isfinite(cans):
        return "never"
    hours = plan.hours(cans)
    if not math.isfinite(hours):
        return f"{count_text(cans)} cans"
    time = f"{hours * 60:.0f} min" if hours < 1.5 else f"{hours:,.0f} h"
    return f"{count_text(cans)} cans, {time}"


def _settings(plan: TrialPlan, display: Display) -> RenderableType:
    table = WideTable("stage")
    table.add_column("guide\nwindow")
    table.add_column("safe\nup to")
    for setting in plan.settings:
        table.add_column(f"{setting.name}" + ("" if setting.recommended else " *"))
    for i, room in enumerate(plan.stages):
        widths = [display.length(s.widths_mm[i], unit=False) for s in plan.settings]
        table.add_row(room.stage, _window(room, display), _safe(room, display), *widths)
    rates = [rate_text(setting.per_million) for setting in plan.settings]
    table.add_row("model: tips in a million", "", "", *rates)
    heads = [Text(f"{s.name}{'' if s.recommended else ' *'}: {s.why}") for s in plan.settings]
    parts: list[RenderableType] = [
        Text(f"Settings, clear width in {display.length_unit}", style="bold"),
        Padding(Group(*heads), (0, 0, 0, 2)),
        Padding(table, (0, 0, 0, 2)),
    ]
    if not all(setting.recommended for setting in plan.settings):
        parts.append(Text("  * not recommended: past the safe slack at some stage", style="yellow"))
    return Group(*parts)


def _window(room: StageRoom, display: Display) -> str:
    if room.window_empty:
        return "empty"
    return f"{display.length(room.low_mm, unit=False)}–{display.length(room.high_mm, unit=False)}"


def _safe(room: StageRoom, display: Display) -> str:
    return "none" if room.none_safe else display.length(room.last_safe_mm, unit=False)


def _comparisons(plan: TrialPlan) -> RenderableType:
    grid = Table.grid(padding=(0, 2))
    for _ in range(3):
        grid.add_column(overflow="fold")
    for one in plan.comparisons:
        rates = f"{rate_text(one.first_per_million)} against {rate_text(one.second_per_million)}"
        grid.add_row(one.what, f"{rates} in a million", f"{cans_and_hours(plan, one.cans)} at each")
    for rate, cans in plan.quiet:
        what = f"less than {rate:g} in a million"
        grid.add_row(what, "if not one tips (95 %)", cans_and_hours(plan, cans))
    heading = Text.assemble(
        ("How many cans", "bold"),
        f"; to tell two settings apart with power {plan.power:g}, false alarms {plan.alpha:g} "
        "(exact conditional test of two Poisson counts)",
    )
    return Group(heading, Padding(grid, (0, 0, 0, 2)))
