"""A sweep as a chart."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from packsim.answers.quantities import quantity
from packsim.counts.intervals import poisson_interval
from packsim.errors import one_of
from packsim.report.charts.chart_data import Mark, Range, Series, Sheet
from packsim.report.charts.charts import line_chart
from packsim.report.words.chance_words import LEAST_PER_MILLION
from packsim.report.words.display import Display
from packsim.report.words.swept import shown_value
from packsim.sweep import Sweep

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, slots=True)
class _Shown:
    """One chart of a sweep: its question, its axis, and the lines by the key of their column."""

    title: str
    y_label: str
    lines: Mapping[str, str]
    length: bool = False


_CHARTS: Final = {
    "tip_index": _Shown(
        "Can a can tip?",
        "tip index",
        {
            "index_edge": "at the guide",
            "index_centre": "inside the pack",
            "index_gathered": "slack gathered",
            "index_own": "one can alone",
        },
    ),
    "slack_mm": _Shown(
        "How much slack is there, and how much is safe?",
        "slack",
        {
            "slack_mm": "as set",
            "gathered_slack_mm": "slack gathered",
            "loosest_slack_mm": "worst-case slack",
            "safe_slack_mm": "safe slack",
        },
        length=True,
    ),
    "hold_margin": _Shown(
        "How firmly do the sprays leave a can standing?",
        "spray tip margin: 1 without spray, 0 turns a can over",
        {"hold_margin": ""},
    ),
    "tips_per_million": _Shown("How many cans tip?", "tips per million", {}),
    "nozzle_offset_mm": _Shown(
        "How far is the worst lane from its nozzle?",
        "lane-to-nozzle offset",
        {"nozzle_offset_mm": ""},
        length=True,
    ),
    "hold_down_clearance_mm": _Shown(
        "Does the hold-down keep cans from tipping?",
        "hold-down above the cans",
        {
            "hold_down_clearance_mm": "over the can tops",
            "hold_down_limit_mm": "keeps cans below this",
        },
        length=True,
    ),
}

SWEEP_CHARTS: Final = tuple(_CHARTS)
"""What a chart of a sweep can show: keys of quantities."""

MOST_INDEX: Final = 3.0
"""Tip indices above this are marked at the top of a chart: 1 already tips."""


def sweep_chart(sweep: Sweep, display: Display, what: str = "tip_index") -> Figure:
    """Draw one of `SWEEP_CHARTS` against the knob of a sweep, the present value marked.

    Over clear width the guide window is shaded.
    """
    one_of("show", what, SWEEP_CHARTS)
    x = [shown_value(sweep, row.value, display)[0] for row in sweep.rows]
    unit = shown_value(sweep, 0.0, display)[1]
    now = shown_value(sweep, sweep.now, display)[0] if math.isfinite(sweep.now) else math.nan
    marks, best = {"now": now}, sweep.recommended
    if best is not None and best.clear_width_mm != sweep.now:
        marks["recommended"] = shown_value(sweep, best.clear_width_mm, display)[0]
    chart, log_y = _CHARTS[what], what == "tips_per_million"
    series = _tips(sweep, x) if log_y else _series(sweep, display, chart, x)
    top = max((max(_known(line), default=0.0) for line in series), default=0.0)
    y_label, limits = chart.y_label, None
    if chart.length:
        y_label += f" [{display.length_unit}]"
    if what == "tip_index":
        series.append(Series("balance point", [x[0], x[-1]], [1.0, 1.0]))
        y_label += "; triangle: above the chart, or nothing stops the can"
        limits = (0.0, min(MOST_INDEX, max(1.25, 1.05 * top)))
    if log_y:
        fitted = sweep.scenario.stage(sweep.stage).kicks.trial
        y_label += ", kicks fitted to trials" if fitted else ", assumed kicks"
        y_label += f"; triangle: below {LEAST_PER_MILLION:g}, one in 10^9"
        if any(row.cans_counted for row in sweep.rows):
            y_label += "; squares: counted"
        # with kicks of every strength the axis goes from one in 10^9 to certain
        limits = (LEAST_PER_MILLION, 1e6 if sweep.kicks_mJ else max(1.0, 2.0 * top))
    return line_chart(
        series,
        Sheet(
            chart.title,
            f"{sweep.scenario.name}: {sweep.size}, {sweep.stage}",
            f"{sweep.knob.what} [{unit}]".replace(" []", ""),
            y_label,
        ),
        ranges=_window_range(sweep, display, x),
        marks=[Mark(at, name) for name, at in marks.items() if min(x) <= at <= max(x)],
        y_limits=limits,
        log_y=log_y,
    )


def _series(sweep: Sweep, display: Display, chart: _Shown, x: list[float]) -> list[Series]:
    def values(key: str) -> list[float]:
        found = [quantity(key).plain(row.answer) for row in sweep.rows]
        return [math.nan if value is None else value for value in found]

    scale = display.length_value(1.0) if chart.length else 1.0
    return [
        Series(name, x, [scale * value for value in values(key)], style="marked")
        for key, name in chart.lines.items()
    ]


def _tips(sweep: Sweep, x: list[float]) -> list[Series]:
    """Return the expected tips with their interval, and those counted."""
    ends = (row.tips_per_million_interval for row in sweep.rows)
    low, high = (np.maximum(end, LEAST_PER_MILLION) for end in zip(*ends, strict=True))
    rates = [row.tips_per_million for row in sweep.rows]
    here = sweep.scenario.stage(sweep.stage).kicks.energy_mJ
    name = f"expected, {here:g} mJ" if sweep.kicks_mJ else "expected"
    series = [Series(name, x, rates, low, high, style="marked")]
    for i, energy in enumerate(sweep.kicks_mJ):
        others = [row.at_kicks[i].tips_per_million for row in sweep.rows]
        series.append(Series(f"kicks of {energy:g} mJ", x, others, style="marked"))
    seen = [(at, row) for at, row in zip(x, sweep.rows, strict=True) if row.cans_counted]
    if seen:
        scale = [1e6 / row.cans_counted for _, row in seen]
        counts = np.array(
            [(row.tips_counted, *poisson_interval(row.tips_counted)) for _, row in seen]
        )
        point, low, high = counts.T * scale
        series.append(Series("", [at for at, _ in seen], point, low, high, style="counted"))
    return series


def _known(line: Series) -> list[float]:
    return [float(y) for y in np.asarray(line.y, dtype=np.float64) if math.isfinite(y)]


def _window_range(sweep: Sweep, display: Display, x: list[float]) -> list[Range]:
    """Return the guide window that every command tells: the wires as they shall hang."""
    if sweep.recommended is None:
        return []
    window = sweep.recommended.window
    low = max(x[0], display.length_value(window.low_mm))
    high = min(x[-1], display.length_value(window.high_mm))
    return [Range(low, high, "guide window")] if low < high else []
