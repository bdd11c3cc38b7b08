"""What a chart shows, as data: its sheet, lines, ranges, marks and bars."""

from dataclasses import dataclass
from itertools import accumulate
from typing import Final
from unicodedata import east_asian_width

import numpy as np
from numpy.typing import ArrayLike

from packsim.errors import InputError, at_least, finite, one_of, positive
from packsim.report.words.display import Display
from packsim.width.guide_window import GuideWindow

SERIES_STYLES = ("line", "marked", "counted")
"""A plain line, a line with markers, or counts: squares on their intervals."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """What a chart is called and how large it is on paper; charts of bars find their own height.

    ``title`` is the question it answers, ``about`` names scenario, size and stage. Axis names have
    units; the y name stands level above the axis.
    """

    title: str = ""
    about: str = ""
    x_label: str = ""
    y_label: str = ""
    width_mm: float = 165.0
    height_mm: float = 92.0

    def __post_init__(self) -> None:
        positive("width_mm", self.width_mm)
        positive("height_mm", self.height_mm)

    @property
    def head_pt(self) -> float:
        """Height that title and line under it take [pt]."""
        return (18.5 if self.title else 0.0) + (13.0 if self.about else 0.0)


LONGEST_NAME: Final = 48
"""Letters of a name beside a chart; a longer one would leave no room for the chart."""


def short_name(name: str) -> str:
    """Return a name as it stands beside a chart, its end left out where it is very long.

    Letters as wide as they are high, such as Chinese ones, count as two.
    """
    wide = [2 if east_asian_width(letter) in "WF" else 1 for letter in name]
    if sum(wide) <= LONGEST_NAME:
        return name
    fits = sum(1 for end in accumulate(wide) if end <= LONGEST_NAME - 2)
    return f"{name[:fits].rstrip()} …"


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """One line of a chart, named at its end; where y is not finite it breaks.

    ``low`` and ``high`` are an interval about the line, shaded; all have as many numbers as ``x``.
    """

    name: str
    x: ArrayLike
    y: ArrayLike
    low: ArrayLike | None = None
    high: ArrayLike | None = None
    style: str = "line"

    def __post_init__(self) -> None:
        one_of("style", self.style, SERIES_STYLES)
        length = np.asarray(self.x, dtype=np.float64).shape
        if len(length) != 1 or not length[0]:
            raise InputError("x", f"shape {length}", "a row of at least one number")
        for key in ("y", "low", "high"):
            given = getattr(self, key)
            if given is not None and np.asarray(given, dtype=np.float64).shape != length:
                raise InputError(key, np.shape(given), f"as many numbers as x, {length[0]}")
        if (self.low is None) != (self.high is None):
            raise InputError("low", "one of low and high", "both or neither")


@dataclass(frozen=True, slots=True)
class Range:
    """A range of x to be shaded, such as the guide window."""

    low: float
    high: float
    name: str = ""

    def __post_init__(self) -> None:
        at_least("high", self.high, finite("low", self.low))


def window_range(window: GuideWindow, display: Display) -> list[Range]:
    """Return the guide window as a range to shade; none where it is empty."""
    ends = display.length_value(window.low_mm), display.length_value(window.high_mm)
    return [] if window.empty else [Range(*ends, "guide window")]


@dataclass(frozen=True, slots=True)
class Mark:
    """A value of x to be pointed out, such as the setting of today."""

    x: float
    name: str = ""

    def __post_init__(self) -> None:
        finite("x", self.x)


@dataclass(frozen=True, slots=True)
class Bar:
    """A level bar from one value to another; below 0 hatched, a lozenge where both are equal.

    ``point`` is the value that the bar is an interval of.
    """

    name: str
    low: float
    high: float
    text: str = ""
    strong: bool = False
    point: float | None = None

    def __post_init__(self) -> None:
        at_least("high", self.high, finite("low", self.low))


@dataclass(frozen=True, slots=True)
class WindowRow:
    """The clear widths that are safe, crossed where none is; what is set, and what to set."""

    name: str
    low: float
    high: float
    now: float
    target: float | None
    text: str = ""

    def __post_init__(self) -> None:
        for key in ("low", "high", "now"):
            finite(key, getattr(self, key))

    @property
    def empty(self) -> bool:
        """Whether no value is inside."""
        return self.low > self.high
