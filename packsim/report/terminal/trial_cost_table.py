"""Spoilage before and after an adjustment, for the terminal."""

from __future__ import annotations

import math
from collections.abc import Callable

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from packsim.report.terminal.wide_table import WideTable
from packsim.report.words.display import Display
from packsim.report.words.trial_words import count_text, money_text, rate_text
from packsim.trial.cost import Spoilage, SpoilageChange

__all__ = ["cost_report"]


def cost_report(
    change: SpoilageChange, hours_per_year: float, trials: tuple[str, ...], display: Display
) -> Group:
    """Return a comparison of two settings for the terminal.

    Parameters
    ----------
    change : SpoilageChange
        The comparison.
    hours_per_year : float
        Running hours it was made for.
    trials : tuple of str
        Trials the kick energies come from.
    display : Display
        Unit system.

    Returns
    -------
    rich.console.Group
        Only what the user's own figures allow.
    """
    parts: list[RenderableType] = [
        Text(
            f"{change.size}: {_widths(change.before_mm, display)} before, "
            f"{_widths(change.after_mm, display)} after",
            style="bold",
        ),
        Text(
            f"{count_text(change.cans_per_year)} cans a year, from the throughput of the setting "
            f"before and {hours_per_year:,.6g} running hours"
        ),
        Text("kick energies from " + "; ".join(trials) if trials else "kick energies ASSUMED"),
        Text(),
        Padding(_table(change), (0, 0, 0, 2)),
    ]
    parts += [Text(line) for line in _break_even(change, hours_per_year)]
    parts += [Text(line, style="yellow") for line in _warnings(change, trials)]
    return Group(*parts)


def _table(change: SpoilageChange) -> WideTable:
    table = WideTable("")
    for head in ("before", "after", "saved"):
        table.add_column(head)
    rates = (change.before, change.after, change.saved)
    table.add_row("tipped in a million", *(_span(rate, rate_text) for rate in rates))
    table.add_row("cans a year", *(_span(change.cans(rate), count_text) for rate in rates))
    costs = [change.cost(rate) for rate in rates]
    if all(cost is not None for cost in costs):
        table.add_row("cost a year", *(_span(c, money_text) for c in costs if c is not None))
    return table


def _span(value: Spoilage, show: Callable[[float], str]) -> str:
    def signed(x: float) -> str:
        return f"−{show(-x)}" if x < 0.0 else show(x)

    if value.low is None or value.high is None:
        return signed(value.best)
    return f"{signed(value.best)} ({signed(value.low)} – {signed(value.high)})"


def _break_even(change: SpoilageChange, hours_per_year: float) -> list[str]:
    found = change.break_even_cans
    if found is None:
        return []
    if not math.isfinite(found.best):
        return ["the adjustment saves nothing, so it never pays"]
    per_hour = change.cans_per_year / hours_per_year

    def hours(cans: float) -> str:
        return "never" if not math.isfinite(cans) else f"{money_text(cans / per_hour)} h"

    span = ""
    if found.low is not None and found.high is not None:
        span = f" (between {hours(found.low)} and {hours(found.high)})"
    paid = f"the adjustment has paid after {hours(found.best)} of running{span}"
    return [f"{paid}, {count_text(found.best)} cans"]


def _warnings(change: SpoilageChange, trials: tuple[str, ...]) -> list[str]:
    said = []
    if change.assumed or not trials:
        duties = ", ".join(change.assumed) or "all duties"
        said.append(f"rests on assumed kicks of: {duties}; no trial has fitted them")
    if change.after.best == 0.0:
        said.append(
            "no tips after: the slack is then within the safe slack, or a hold-down stops every "
            "can. That is what the model says; count there before you rely on it"
        )
    if change.before.low is None:
        said.append("no interval: the fitted kicks come without one")
    if change.cost_per_can is None:
        said.append("no cost shown: give --cost-per-can")
    elif change.adjustment_cost is None:
        said.append("no break-even shown: give --adjustment-cost")
    return said


def _widths(widths: tuple[float, ...], display: Display) -> str:
    low, high = min(widths), max(widths)
    if display.length(low) == display.length(high):
        return display.length(low)
    return f"{display.length(low, unit=False)} to {display.length(high)}"
