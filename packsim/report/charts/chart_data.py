"""What a chart shows, as data: lines, ranges, marks and bars."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from packsim.check import finite, one_of
from packsim.errors import InputError

__all__ = ["SERIES_STYLES", "Band", "Bar", "Mark", "Series"]

SERIES_STYLES = ("line", "marked", "points", "steps")
"""A plain line, a line with markers, markers alone, or a staircase."""


@dataclass(frozen=True, slots=True, eq=False)
class Series:
    """One line of a chart.

    Parameters
    ----------
    name : str
        Written at its end; empty for none.
    x, y : array_like, shape (n,)
        Points; where y is not finite the line breaks.
    low, high : array_like, shape (n,), optional
        An interval about the line, shaded.
    style : {"line", "marked", "points", "steps"}
        How it is drawn.
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
class Band:
    """A range of x to be shaded, such as the guide window."""

    low: float
    high: float
    name: str = ""

    def __post_init__(self) -> None:
        if finite("high", self.high) < finite("low", self.low):
            raise InputError("high", self.high, f"at least low = {self.low}")


@dataclass(frozen=True, slots=True)
class Mark:
    """A value of x to be pointed out, such as the setting of today."""

    x: float
    name: str = ""

    def __post_init__(self) -> None:
        finite("x", self.x)


@dataclass(frozen=True, slots=True)
class Bar:
    """A level bar from one value to another; below 0 hatched, a lozenge where both are equal."""

    name: str
    low: float
    high: float
    text: str = ""
    strong: bool = False

    def __post_init__(self) -> None:
        if finite("high", self.high) < finite("low", self.low):
            raise InputError("high", self.high, f"at least low = {self.low}")
