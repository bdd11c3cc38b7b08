"""Ranges and values pointed out in a chart, and the rows of names they need above it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from packsim.report import palette
from packsim.report.charts.chart_data import Band, Mark
from packsim.report.charts.chart_frame import label_top

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["point_out", "rows_needed"]


def rows_needed(bands: Sequence[Band], marks: Sequence[Mark]) -> int:
    """Return how many rows of names bands and marks may need above the axes."""
    names = [band.name for band in bands] + [mark.name for mark in marks]
    return min(len([name for name in names if name]), 3)


def point_out(axes: Axes, bands: Sequence[Band], marks: Sequence[Mark]) -> None:
    """Shade bands, draw marks, and name both above the axes."""
    labels = []
    for band in bands:
        axes.axvspan(band.low, band.high, color=palette.WASH, zorder=0.5, linewidth=0)
        for end in (band.low, band.high):
            axes.axvline(end, color=palette.QUIET, linewidth=0.6, zorder=0.6)
        if band.name:
            labels.append(((band.low + band.high) / 2.0, band.name, palette.INK))
    for mark in marks:
        axes.axvline(mark.x, color=palette.ACCENT, linewidth=1.0, linestyle=(0, (4, 2)))
        if mark.name:
            labels.append((mark.x, mark.name, palette.ACCENT))
    inside = [label for label in labels if _between(label[0], axes.get_xlim())]
    label_top(axes, inside, rows_needed(bands, marks))


def _between(x: float, limits: tuple[float, float]) -> bool:
    return min(limits) <= x <= max(limits) and math.isfinite(x)
