"""Slack against time, of a film or a row of photographs."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from packsim.look.over_time import Filmed
from packsim.report.charts.chart_data import Series, Sheet
from packsim.report.charts.charts import line_chart
from packsim.report.words.display import Display

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def slack_chart(filmed: Filmed, about: str, display: Display) -> Figure:
    """Draw the slack of every picture with its 95 % interval, and what of it lies at each guide.

    Against the number of the picture where no times are known.
    """
    moments = filmed.moments
    timed = all(one.time_s is not None for one in moments)
    x = [one.time_s if one.time_s is not None and timed else k for k, one in enumerate(moments, 1)]
    scale = display.length_value(1.0)
    known = [one.looked.slack_mm for one in moments]
    slack = np.array([math.nan if one is None else one.value for one in known]) * scale
    within = np.array([math.nan if one is None else one.within for one in known]) * scale
    series = [Series("slack", x, slack, slack - within, slack + within, style="marked")]
    gaps = [one.looked.gaps for one in moments]
    if any(one is not None for one in gaps):
        for name in ("left", "right"):
            ends = [math.nan if g is None else getattr(g, f"{name}_mm").value for g in gaps]
            series.append(Series(f"at the {name} guide", x, scale * np.array(ends), style="marked"))
    sheet = Sheet(
        "How does the slack change with time?",
        about,
        "time [s]" if timed else "picture",
        f"slack [{display.length_unit}]; shaded: 95 % interval",
    )
    return line_chart(series, sheet)
