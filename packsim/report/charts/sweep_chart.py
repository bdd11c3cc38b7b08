"""A sweep as a chart."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from packsim.check import one_of
from packsim.report.charts.chart_data import Band, Mark, Series
from packsim.report.charts.charts import line_chart
from packsim.report.terminal.sweep_view import SWEEP_COLUMNS, shown_value
from packsim.report.words.display import Display
from packsim.sweep import Sweep

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["SWEEP_CHARTS", "sweep_chart"]

SWEEP_CHARTS: Final = ("index", "slack", "margin", "chance", "misalignment", "hold-down")
"""What a chart of a sweep can show."""

NEVER_PER_MILLION: Final = 1e-4
"""Rates below this are left out of a chart: a can in ten milliards is none, and forty decades of
nothing would leave no room for what matters."""


def sweep_chart(sweep: Sweep, display: Display, what: str = "index") -> Figure:
    """Draw a sweep.

    Parameters
    ----------
    sweep : Sweep
        The sweep.
    display : Display
        Unit system.
    what : {"index", "slack", "margin", "chance", "misalignment", "hold-down"}
        What to draw against the knob.

    Returns
    -------
    matplotlib.figure.Figure
        The chart, the present value marked; over clear width the guide window is shaded.
    """
    one_of("show", what, SWEEP_CHARTS)
    x = [shown_value(sweep, row.value, display)[0] for row in sweep.rows]
    unit = shown_value(sweep, 0.0, display)[1]
    series, y_label, log_y = _series(sweep, display, what, x)
    marks = []
    now = shown_value(sweep, sweep.now, display)[0] if math.isfinite(sweep.now) else math.nan
    if min(x) <= now <= max(x):
        marks.append(Mark(now, "now"))
    return line_chart(
        series,
        f"{sweep.knob.what} [{unit}]".replace(" []", ""),
        y_label,
        title=f"{sweep.stage}, {sweep.size}",
        bands=_window_band(sweep, display, x),
        marks=marks,
        log_y=log_y,
    )


def _series(
    sweep: Sweep, display: Display, what: str, x: list[float]
) -> tuple[list[Series], str, bool]:
    by_key = {column.key: [column.of(row) for row in sweep.rows] for column in SWEEP_COLUMNS}

    def lengths(key: str) -> list[float]:
        return [display.length_value(value) for value in by_key[key]]

    if what == "index":
        one = Series("tips", [x[0], x[-1]], [1.0, 1.0])
        names = {
            "index_edge": "edge",
            "index_centre": "inside",
            "index_gathered": "gathered, as laid",
            "index_own": "own",
        }
        lines = [Series(name, x, _capped(by_key[key])) for key, name in names.items()]
        return [*lines, one], "tip index [-]", False
    if what == "slack":
        names = {
            "slack_mm": "as set",
            "gathered_slack_mm": "gathered, as laid",
            "loosest_slack_mm": "loosest",
            "safe_slack_mm": "safe",
        }
        lines = [Series(name, x, lengths(key)) for key, name in names.items()]
        return lines, f"slack [{display.length_unit}]", False
    if what == "margin":
        return [Series("", x, by_key["hold_margin"])], "least hold margin [-]", False
    if what == "chance":
        stage = sweep.scenario.stage(sweep.stage)
        basis = "kicks fitted to trials" if stage.kicks.trial else "assumed kicks"
        rates = [r if r >= NEVER_PER_MILLION else math.nan for r in by_key["tips_per_million"]]
        line = Series("", x, rates)
        return [line], f"tips per million, {basis}", True
    if what == "hold-down":
        names = {"hold_down_mm": "over the tops", "hold_down_limit_mm": "blocks below"}
        lines = [Series(name, x, lengths(key)) for key, name in names.items()]
        return lines, f"clearance of the hold-down [{display.length_unit}]", False
    return (
        [Series("", x, lengths("misalignment_mm"))],
        f"nozzles off [{display.length_unit}]",
        False,
    )


def _capped(values: list[float], top: float = 3.0) -> list[float]:
    """Leave out what is far beyond tipping, so that the part that matters has room."""
    return [value if value <= top else math.nan for value in values]


def _window_band(sweep: Sweep, display: Display, x: list[float]) -> list[Band]:
    """Clear widths that suit: the window belongs to the setting only when clear width is swept."""
    if sweep.knob.name != "clear-width":
        return []
    # the window hardly depends on where the guides stand; take it where they stand nearest to it
    near = min(sweep.rows, key=lambda row: abs(row.value - row.answer.window.low_mm))
    window = near.answer.window
    low = max(x[0], display.length_value(window.low_mm))
    high = min(x[-1], display.length_value(window.high_mm))
    return [Band(low, high, "guide window")] if low < high else []
