"""How a number is shown to a person: metric or inch, with the digits that mean something."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from packsim.check import one_of
from packsim.constants import MM_PER_INCH, PSI_PER_MPA

__all__ = ["UNIT_SYSTEMS", "Display"]

UNIT_SYSTEMS = ("metric", "inch")
"""Unit systems a person can ask for."""

MM_PER_FOOT = 304.8


@dataclass(frozen=True, slots=True)
class Display:
    """Formats internal values for one unit system.

    Parameters
    ----------
    units : {"metric", "inch"}
        System of every value this object formats.

    Examples
    --------
    >>> Display("metric").length(12.345)
    '12.3 mm'
    >>> Display("inch").length(25.4)
    '1.000 in'
    """

    units: str = "metric"

    def __post_init__(self) -> None:
        one_of("units", self.units, UNIT_SYSTEMS)

    @property
    def length_unit(self) -> str:
        """Unit of a length: ``mm`` or ``in``."""
        return "mm" if self.units == "metric" else "in"

    def length_value(self, mm: float) -> float:
        """Return a length [mm] as a bare number in the unit of this display."""
        return mm if self.units == "metric" else mm / MM_PER_INCH

    def length(self, mm: float | None, *, signed: bool = False, unit: bool = True) -> str:
        """Format a length [mm]; a dash where there is none."""
        if mm is None or not math.isfinite(mm):
            return "–" if mm is None or math.isnan(mm) else "no limit"
        sign = "+" if signed else ""
        digits = 1 if self.units == "metric" else 3
        text = f"{self.length_value(mm):{sign}.{digits}f}"
        text = text.lstrip("-+") if float(text) == 0.0 else text
        return f"{text} {self.length_unit}" if unit else text

    def fine(self, mm: float, *, unit: bool = True) -> str:
        """Format a length [mm] that is repeated, such as a pitch: one digit more than `length`.

        Examples
        --------
        >>> Display("metric").fine(57.2356)
        '57.24 mm'
        """
        digits = 2 if self.units == "metric" else 4
        text = f"{self.length_value(mm):.{digits}f}"
        return f"{text} {self.length_unit}" if unit else text

    def speed(self, mm_per_s: float) -> str:
        """Format a mat speed [mm/s] per minute."""
        if self.units == "metric":
            return f"{mm_per_s * 0.06:.2f} m/min"
        return f"{mm_per_s * 60.0 / MM_PER_FOOT:.2f} ft/min"

    def pressure(self, megapascal: float) -> str:
        """Format a gauge pressure [MPa]."""
        if self.units == "metric":
            return f"{megapascal * 10.0:.2f} bar"
        return f"{megapascal * PSI_PER_MPA:.1f} psi"

    @staticmethod
    def angle(rad: float) -> str:
        """Format an angle [rad] in degrees."""
        return "none" if not math.isfinite(rad) else f"{math.degrees(rad):.1f}°"

    @staticmethod
    def per_million(rate: float) -> str:
        """Format a rate per million; the last digits of a rare event mean nothing."""
        if rate == 0.0:
            return "0"
        if rate < 0.01:
            return "<0.01"
        return f"{rate:.2g}" if rate < 99.5 else f"{rate:,.0f}"

    @staticmethod
    def index(value: float) -> str:
        """Format a tip index; a lean nothing stops has none."""
        return f"{value:.2f}" if math.isfinite(value) else "unheld"

    def fraction(self, mm: float, step_inch: Fraction = Fraction(1, 32)) -> str:
        """Format a length [mm] as inches and a fraction to the nearest step, sign kept.

        Examples
        --------
        >>> Display("inch").fraction(-39.7)
        '-1 9/16 in'
        """
        steps = round(Fraction(abs(mm)).limit_denominator(10_000) / Fraction(254, 10) / step_inch)
        whole, part = divmod(steps * step_inch, 1)
        sign = "-" if mm < 0 and steps else ""
        if part == 0:
            return f"{sign}{whole} in"
        return f"{sign}{whole} {part} in" if whole else f"{sign}{part} in"
