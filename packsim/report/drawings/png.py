"""A drawing as a PNG image, painted from its primitives."""

from __future__ import annotations

import math
from io import BytesIO
from typing import TYPE_CHECKING, Any

from packsim.constants import MM_PER_INCH
from packsim.errors import between
from packsim.report import palette
from packsim.report.charts.chart_frame import house_style
from packsim.report.drawings.drawing import (
    Circle,
    Drawing,
    Label,
    Polygon,
    Polyline,
    Primitive,
    Stroke,
    exploded,
)
from packsim.report.drawings.roles import ROLES

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PT_PER_MM = 72.0 / MM_PER_INCH


def drawing_png(drawing: Drawing, dpi: float = 200.0) -> bytes:
    """Return a drawing as a PNG file of 30 to 1200 dots per inch of paper.

    The same drawing gives the same bytes every time.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    between("dpi", dpi, 30.0, 1200.0)
    paper = drawing.width_mm / drawing.scale, drawing.height_mm / drawing.scale
    with house_style():
        size = (paper[0] / MM_PER_INCH, paper[1] / MM_PER_INCH)
        figure = Figure(figsize=size, dpi=dpi, facecolor=palette.PAPER)
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        axes.set_xlim(drawing.low_mm[0], drawing.high_mm[0])
        axes.set_ylim(drawing.low_mm[1], drawing.high_mm[1])
        for order, thing in enumerate(exploded(drawing.primitives)):
            _paint(axes, thing, drawing.scale, order)
        target = BytesIO()
        canvas: Any = FigureCanvasAgg(figure)
        canvas.print_png(target, metadata={"Software": None})
    return target.getvalue()


def _paint(axes: Axes, thing: Primitive, scale: float, order: int) -> None:
    from matplotlib import patches

    look: dict[str, Any] = _look(thing.role)
    match thing:
        case Circle(centre, radius, _):
            axes.add_patch(patches.Circle(centre, radius, zorder=order, **look))
        case Polygon(points, _):
            axes.add_patch(patches.Polygon(points, closed=True, zorder=order, **look))
        case Polyline(points, _):
            look["facecolor"] = "none"
            axes.add_patch(patches.Polygon(points, closed=False, zorder=order, **look))
        case Stroke(start, end, _):
            axes.add_patch(patches.Polygon((start, end), closed=False, zorder=order, **look))
        case Label():
            _write(axes, thing, scale, order)


def _look(role: str) -> dict[str, Any]:
    look = ROLES[role]
    dash: Any = "solid"
    if look.dash_mm:
        # matplotlib counts dashes in line widths
        dash = (0.0, [piece / look.width_mm for piece in look.dash_mm])
    return {
        "edgecolor": look.line or "none",
        "linewidth": look.width_mm * PT_PER_MM,
        "facecolor": look.fill or "none",
        "linestyle": dash,
    }


def _write(axes: Axes, text: Label, scale: float, order: int) -> None:
    look = ROLES[text.role]
    held = {"start": "left", "middle": "center", "end": "right"}[text.anchor]
    axes.text(
        text.at_mm[0],
        text.at_mm[1],
        text.text,
        fontsize=text.size_mm / scale * PT_PER_MM * 0.92,  # the one drawn with here runs wide
        color=look.line,
        weight="bold" if look.bold else "normal",
        ha=held,
        va="center_baseline",
        rotation=math.degrees(text.turn_rad),
        rotation_mode="anchor",
        zorder=order,
        parse_math=False,
    )
