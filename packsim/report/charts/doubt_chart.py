"""What each input swings, as a chart of level bars: a tornado."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from packsim.doubt.doubt import StageDoubt
from packsim.doubt.tornado import MOST_INDEX, QUANTITIES, InputSwing
from packsim.errors import one_of
from packsim.report import palette
from packsim.report.charts.chart_data import Mark, Sheet
from packsim.report.charts.chart_frame import house_style, level_frame, say_instead
from packsim.report.charts.chart_labels import point_out
from packsim.report.words.display import Display
from packsim.report.words.doubt_words import NAMES, TITLES, alike_swings, quantity_words
from packsim.report.words.input_words import value_words

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_BARS: Final = 12
"""Inputs in the chart: those that swing most."""

_ROW_MM: Final = 6.5


def doubt_chart(place: StageDoubt, display: Display, line: str, what: str = "tip_index") -> Figure:
    """Draw what each input of one stage and size swings a quantity by, the others as they are.

    Hatched to where the input is at its low end, filled to where it is at its high end; the text
    at the right says both ends.

    Parameters
    ----------
    place : StageDoubt
        The stage and size.
    display : Display
        Unit system.
    line : str
        Title of the scenario.
    what : str
        One of `packsim.doubt.tornado.QUANTITIES`.

    Returns
    -------
    Figure
        The chart.

    Raises
    ------
    InputError
        If there is no such quantity.
    """
    k = QUANTITIES.index(one_of("show", what, QUANTITIES))
    some = [swing for swing in place.swings if swing.swing(what) > 0.0]
    named = alike_swings(sorted(some, key=lambda one: -one.swing(what)))[:MOST_BARS]
    swings = [swing for _, swing in named]
    unit = "" if what == "tip_index" else f" [{display.length_unit}]"
    about = f"{line}: {place.size}, {place.stage}; {place.confidence.said}"
    sheet = Sheet(TITLES[what], about, NAMES[what] + unit + "; hatched: low end, filled: high end")
    rows = [(name, _ends(swing, display)) for name, swing in named]
    with house_style():
        if not swings:
            figure, axes = level_frame(sheet, [("", "")], _ROW_MM, 1)
            say_instead(axes, "no input swings it")
            return figure
        now = _shown(swings[0].now[k], what, display)
        marks = [Mark(now, "as taken")]
        marks += [Mark(1.0, "balance point")] if what == "tip_index" else []
        figure, axes = level_frame(sheet, rows, _ROW_MM, len(marks))
        for level, one in enumerate(swings):
            ends = _shown(one.low[k], what, display), _shown(one.high[k], what, display)
            _bars(axes, level, now, ends)
            if what == "tip_index" and (cut := _cut_words(one, k, display)):
                box = {"facecolor": palette.PAPER, "edgecolor": "none", "pad": 0.5}
                at = MOST_INDEX - 0.08, level
                axes.text(*at, f"{cut} →", ha="right", va="center", color=palette.INK, bbox=box)
        point_out(axes, (), marks)
    return figure


def _shown(value: float, what: str, display: Display) -> float:
    """Return a value as drawn: indices without end at the largest that counts."""
    if what == "tip_index":
        return MOST_INDEX if math.isnan(value) else min(value, MOST_INDEX)
    return display.length_value(value)


def _cut_words(swing: InputSwing, k: int, display: Display) -> str:
    """Return the farther end of a bar that is drawn short of it; empty where all is drawn."""
    far = max(swing.low[k], swing.high[k])
    return quantity_words("tip_index", far, display) if far > MOST_INDEX else ""


def _ends(swing: InputSwing, display: Display) -> str:
    one = swing.input
    low, high = (value_words(one, end, display) for end in (one.low, one.high))
    number, space, unit = low.partition(" ")
    same = space and high.endswith(f" {unit}")  # the unit once
    return f"{number if same else low} … {high}"


def _bars(axes: Axes, level: int, now: float, ends: tuple[float, float]) -> None:
    """Draw what the low end does hatched and what the high end does filled, one over the other.

    Where both are on one side the farther one is drawn first, and the nearer stays seen.
    """
    looks = ((palette.PAPER, "////"), (palette.LINES[1], ""))
    pairs = sorted(zip(ends, looks, strict=True), key=lambda pair: -abs(pair[0] - now))
    height, one_side = 0.62, (ends[0] - now) * (ends[1] - now) > 0.0
    for end, (face, hatch) in pairs:
        axes.barh(
            level, end - now, height, now, color=face, edgecolor=palette.LINES[1], hatch=hatch
        )
        height = 0.4 if one_side else height
