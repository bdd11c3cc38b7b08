"""A trial plan for the terminal."""

import math

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from packsim.chance import Rate
from packsim.report.terminal.parts import WideTable, block, caution, grid, points
from packsim.report.words.chance_words import rate_text
from packsim.report.words.display import Display
from packsim.report.words.numbers import per_million, thousands
from packsim.trial.trial_plan import LONGEST_H, Setting, StageRoom, TrialPlan


def plan_report(plan: TrialPlan, display: Display) -> Group:
    """Return a trial plan for the terminal: what to know, settings to run, how many cans."""
    parts: list[RenderableType] = [
        Text(f"Trial plan: {plan.scenario.name}", style="bold"),
        Text(f"{plan.size}, {thousands(plan.cans_per_min)} cans/min as the line is set"),
        Text(),
    ]
    if plan.notes:
        parts += [block("Read first", points(plan.notes)), Text()]
    cans = block(
        Text.assemble(
            ("How many cans", "bold"),
            f"; to tell two settings apart with power {plan.power:g}, false alarms {plan.alpha:g} "
            "(exact conditional test of two Poisson counts)",
        ),
        grid(cans_needed(plan)),
    )
    return Group(*parts, _settings(plan, display), Text(), cans, Text(), caution())


def _settings(plan: TrialPlan, display: Display) -> RenderableType:
    names = [f"{s.name}{'' if s.recommended else ' *'}" for s in plan.settings]
    table = WideTable("stage", ("guide\nwindow", "safe\nup to", *names))
    for i, room in enumerate(plan.stages):
        widths = [display.setting(s.widths_mm[i], unit=False) for s in plan.settings]
        table.add_row(room.stage, display.window(room.window), _safe(room, display), *widths)
    rates = [setting_rate(setting) for setting in plan.settings]
    table.add_row("tips per million (model)", "", "", *rates)
    heads = grid((f"{name}:", s.why) for name, s in zip(names, plan.settings, strict=True))
    body: list[RenderableType] = [heads, Text(), table]
    if not all(setting.recommended for setting in plan.settings):
        body.append(
            Text(
                "* not recommended: past the safe slack at some stage, or too narrow",
                style="yellow",
            )
        )
    return block(f"Settings: clear width, {display.settings_in}", Padding(Group(*body)))


def setting_rate(setting: Setting) -> str:
    """Return the tips per million a setting is expected to have, with their interval."""
    return rate_text(Rate(setting.tips_per_million, setting.tips_per_million_interval, 0.0))


def _safe(room: StageRoom, display: Display) -> str:
    return "none" if room.none_safe else display.setting(room.last_safe_mm, unit=False)


def cans_needed(plan: TrialPlan) -> list[tuple[str, str, str]]:
    """Return how many cans each question takes: the question, its rates, cans with their hours."""
    rows = []
    for one in plan.comparisons:
        rates = f"{per_million(one.first_tips_per_million)} against "
        rates += f"{per_million(one.second_tips_per_million)} tips per million"
        rows.append((one.what, rates, _cans_and_hours(plan, one.cans_at_each, " at each")))
    for rate, cans in plan.quiet:
        what = f"to show fewer than {rate:g} tips per million"
        rows.append((what, "if not one can tips (95 %)", _cans_and_hours(plan, cans)))
    return rows


def _cans_and_hours(plan: TrialPlan, cans: float, each: str = "") -> str:
    if not math.isfinite(cans):
        return f"never{each}"
    hours = plan.hours(cans)
    if not math.isfinite(hours):
        return f"{per_million(cans)} cans{each}"
    time = f"{hours * 60:.0f} min" if hours < 1.5 else f"{thousands(hours)} h"
    long = ": too long to be run" if hours > LONGEST_H else ""
    return f"{per_million(cans)} cans, {time}{each}{long}"
