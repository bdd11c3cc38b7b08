"""The chance of a tip against clear width, with today's setting and the proposed one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from packsim.money.proposal import MachineProposal
from packsim.report.charts.chart_data import Mark, Series, Sheet
from packsim.report.charts.charts import line_chart
from packsim.report.words.chance_words import LEAST_PER_MILLION
from packsim.report.words.display import Display

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def proposal_chart(proposal: MachineProposal, display: Display, width_mm: float) -> Figure:
    """Draw the chance of both machines against clear width; one line where they are the same."""
    rows = proposal.widths
    x = [display.length_value(row.clear_width_mm) for row in rows]
    each = {
        "as it is": [row.before for row in rows],
        "changed": [row.after for row in rows],
    }
    if all(row.before.tips_per_million == row.after.tips_per_million for row in rows):
        each = {"": each["changed"]}
    series, top = [], 1.0
    for name, rates in each.items():
        low, high = (
            np.maximum(end, LEAST_PER_MILLION)
            for end in zip(*(rate.interval for rate in rates), strict=True)
        )
        y = [rate.tips_per_million for rate in rates]
        top = max(top, *y)
        series.append(Series(name, x, y, low, high, style="marked"))
    marks = [
        Mark(display.length_value(line.stage(proposal.stage).guides.narrowest_mm), name)
        for line, name in ((proposal.before, "today"), (proposal.after, "proposed"))
    ]
    return line_chart(
        series,
        Sheet(
            x_label=f"clear width at {proposal.stage} [{display.length_unit}], all guides alike",
            y_label=f"tips per million, whole line; triangle: below {LEAST_PER_MILLION:g}",
            width_mm=width_mm,
            height_mm=46.0,
        ),
        marks=marks,
        y_limits=(LEAST_PER_MILLION, 3.0 * top),
        log_y=True,
    )
