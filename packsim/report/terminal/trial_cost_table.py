"""Spoilage before and after an adjustment, for the terminal."""

import math
from collections.abc import Callable, Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from packsim.report.terminal.parts import WideTable, caution
from packsim.report.words.display import Display
from packsim.report.words.numbers import money, per_million, with_interval
from packsim.trial.cost import Spoilage, SpoilageChange


def cost_report(
    change: SpoilageChange, hours_per_year: float, trials: tuple[str, ...], display: Display
) -> Group:
    """Return a comparison of two settings for the terminal: what the user's own figures allow."""
    before, after = display.settings(change.before_mm), display.settings(change.after_mm)
    basis = f"kick energies from {'; '.join(trials)}" if trials else "kick energies assumed"
    parts: list[RenderableType] = [
        Text(f"{change.size}: clear width {before} before, {after} after", style="bold"),
        Text(
            f"{per_million(change.cans_per_year)} cans a year, from the rate of the setting "
            f"before and {hours_per_year:,.6g} running hours"
        ),
        Text(basis),
        Text(),
        Padding(_table(change), (0, 0, 0, 2)),
    ]
    parts += [Text(line) for line in _break_even(change, hours_per_year)]
    parts += [Text(line, style="yellow") for line in _warnings(change, trials)]
    return Group(*parts, Text(), caution())


def _table(change: SpoilageChange) -> WideTable:
    table = WideTable("", ("before", "after", "saved"))
    rows: list[tuple[str, Sequence[Spoilage], Callable[[float], str]]] = [
        ("tips per million", list(change.tips_per_million.values()), per_million),
        ("cans a year", list(change.cans_tipped_per_year.values()), per_million),
    ]
    costs = [cost for cost in change.cost_per_year.values() if cost is not None]
    if costs:
        rows.append(("cost a year", costs, money))
    for name, values, show in rows:
        table.add_row(name, *(with_interval(v.best, v.low, v.high, show) for v in values))
    return table


def _break_even(change: SpoilageChange, hours_per_year: float) -> list[str]:
    found = change.break_even_cans
    if found is None:
        return []
    if not math.isfinite(found.best):
        return ["the adjustment saves nothing, so it never pays"]
    per_hour = change.cans_per_year / hours_per_year

    def hours(cans: float) -> str:
        return "never" if not math.isfinite(cans) else f"{money(cans / per_hour)} h"

    span = f" (between {hours(found.low)} and {hours(found.high)})"
    paid = f"the adjustment has paid after {hours(found.best)} of running{span}"
    return [f"{paid}, {per_million(found.best)} cans"]


def _warnings(change: SpoilageChange, trials: tuple[str, ...]) -> list[str]:
    said = []
    if change.assumed_duties or not trials:
        duties = ", ".join(change.assumed_duties) or "all duties"
        said.append(f"rests on assumed kicks of: {duties}; no trial has fitted them")
    if not change.ranges:
        said.append("fitted kicks came without an interval: what is shown is that of the passages")
    if change.cost_per_can is None:
        said.append("no cost shown: give --cost-per-can")
    elif change.adjustment_cost is None:
        said.append("no break-even shown: give --adjustment-cost")
    return said
