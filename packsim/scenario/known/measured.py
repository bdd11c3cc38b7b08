"""A value as it was measured: with a ± behind it, or as a list of readings."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from statistics import fmean, stdev
from typing import Any, Final

from packsim.scenario.known.few_readings import ENOUGH, odd_one, spread_factors, student
from packsim.scenario.values.quantities import (
    PLUS_MINUS,
    Kind,
    Refused,
    UnitMismatch,
    convert,
    has_range,
    read_quantity,
    split_quantity,
)

MOST: Final = 200
"""Most readings of one value: more is a recording, whose mean and spread are worked out first."""

_PERCENT: Final = ("%", "percent")


class Unclear(ValueError):
    """A ± or a list of readings cannot be what it says; the text says what would be."""


class Measured(float):
    """A number that the file says the range of.

    Attributes
    ----------
    low, high : float
        Within these with a probability of 95 %, in the units inside.
    readings : int
        Number of readings; 0 for a ±.
    spread : tuple of float
        How far single bodies lie from the mean, at least and at most, both ways; zeros for a ± and
        for fewer readings than `ENOUGH`.
    written : str
        As the file has it, in TOML.
    """

    __slots__ = ("high", "low", "readings", "spread", "written")

    low: float
    high: float
    readings: int
    spread: tuple[float, float]
    written: str

    @classmethod
    def of(
        cls,
        value: float,
        half: float,
        written: str,
        *,
        readings: int = 0,
        spread: tuple[float, float] = (0.0, 0.0),
    ) -> Measured:
        """Return a value that reaches ``half`` either way."""
        found = cls(value)
        found.low, found.high = float(value) - half, float(value) + half
        found.readings, found.spread, found.written = readings, spread, written
        return found

    @property
    def source(self) -> str:
        """Where the range comes from, in words."""
        if self.readings:
            return f"{self.readings} readings: their mean, 95 % by Student's t"
        return "the ± in the file, taken as two standard deviations"


def read_measured(raw: Any, kind: Kind) -> Measured:
    """Read a value with a ±, or a list of readings.

    Parameters
    ----------
    raw : str or list
        ``66.09 mm ± 0.05 mm``, ``2 bar ± 10 %``, or readings all in one unit.
    kind : Kind
        What it is.

    Returns
    -------
    Measured
        In the units inside. A ± is an expanded uncertainty of two standard deviations
        ([jcgm2008]_, 6.2). Of readings it is the mean, within t s/√n of 95 % ([jcgm2008]_, 4.2 and
        G.3), and no nearer than half of the last digit written; a ± behind each of them is that of
        the instrument, which no number of readings makes smaller.

    Raises
    ------
    Refused
        If the value itself is none of this kind.
    Unclear
        If the ± or the readings cannot be.

    Examples
    --------
    >>> tape = Kind("a length", "mm", 0.0, 1e6, '"66.1 mm"', above=True)
    >>> wide = read_measured("54 3/4 in +/- 1/16 in", tape)
    >>> float(wide), wide.low, wide.high
    (1390.65, 1389.0625, 1392.2375)
    """
    try:
        return _readings(raw, kind) if isinstance(raw, list) else _plus_minus(raw, kind)
    except (UnitMismatch, ZeroDivisionError, OverflowError):
        raise Refused(kind) from None


def _halves(each: Any, kind: Kind) -> tuple[Any, str]:
    """Return a value with its unit, and what stands behind its ±, where it has one."""
    if not has_range(each) or isinstance(each, list):
        return each, ""
    left, *rest = PLUS_MINUS.split(each)
    value, off = split_quantity(left), split_quantity(rest[0])
    if len(rest) > 1 or value is None or off is None:
        raise Unclear(f"a value, ± and how much, such as {_example(kind)}")
    if not value[1] and (off[1] not in _PERCENT or not kind.unit):
        left = f"{left} {off[1]}".rstrip()
    return left, rest[0]


def _plus_minus(text: str, kind: Kind) -> Measured:
    left, right = _halves(text, kind)
    number, unit = split_quantity(right) or (Fraction(0), "")
    value, share = read_quantity(left, kind), unit in _PERCENT and bool(kind.unit)
    if share and kind.inner == "degC":
        raise Unclear(f"a ± in {kind.unit}: a share of a temperature means nothing")
    if not unit and kind.unit:
        raise Unclear(f"a ± with its unit, such as {_example(kind)}")
    try:
        half = abs(value) * float(number) / 100.0 if share else half_width(right, kind)
    except UnitMismatch:
        raise Unclear(f"a ± of the same sort as the value, such as {_example(kind)}") from None
    if not half > 0.0:
        raise Unclear("a ± above 0; leave it out where the value is exact")
    return _within(Measured.of(value, half, json.dumps(text, ensure_ascii=False)), kind)


def _readings(raw: Sequence[Any], kind: Kind) -> Measured:
    if not 2 <= len(raw) <= MOST:
        more = ", or their mean and its ±" if len(raw) > MOST else ""
        raise Unclear(f"{kind.noun}, or 2 to {MOST} readings of it{more}; here {len(raw)}")
    texts, tails = zip(*(_halves(each, kind) for each in raw), strict=True)
    if len(set(tails)) > 1:
        raise Unclear("the same ± behind each reading, that of the instrument, or behind none")
    found = [_reading(each, at, kind) for at, each in enumerate(texts, start=1)]
    if len(units := {unit for unit, _ in found}) > 1:
        named = " and ".join(sorted(f'"{unit}"' if unit else "none" for unit in units))
        raise Unclear(f"one unit for all readings of it, here {named}")
    offs = [each.high - each for each in (_plus_minus(text, kind) for text in raw if tails[0])]
    least = max(digit for _, digit in found) / 2.0
    values = [read_quantity(each, kind) for each in texts]
    odd = odd_one(values)
    if odd is not None and kind.inner != "degC":
        raise Unclear(f"readings that agree; number {odd + 1}, {texts[odd]}, is far off the others")
    written = json.dumps(list(raw), ensure_ascii=False)
    return _within(_mean_of(values, least, max(offs, default=0.0), written), kind)


def _reading(each: Any, at: int, kind: Kind) -> tuple[str, float]:
    """Return the unit of a reading and the size of its last digit [inside], or complain of it."""
    if isinstance(each, bool) or not isinstance(each, str | int | float):
        raise Unclear(f"plain readings; number {at} is {each!r:.40}")
    found = split_quantity(each) if isinstance(each, str) else (Fraction(0), "")
    if found is None:
        raise Unclear(f"{kind.range} in each reading; number {at} is {each!r:.40}")
    return found[1], _last_digit(each, found[1] or kind.unit, kind)


def _mean_of(values: Sequence[float], least: float, off: float, written: str) -> Measured:
    """Return the mean of readings, known no nearer than ``least``, read within ``off``."""
    s, n = stdev(values), len(values)
    spread = (0.0, 0.0)
    if n >= ENOUGH:
        low, high = spread_factors(n)
        spread = max(least, low * s), max(least, high * s)
    half = max(least, math.hypot(student(n) * s / math.sqrt(n), off))
    return Measured.of(fmean(values), half, written, readings=n, spread=spread)


def _within(found: Measured, kind: Kind) -> Measured:
    """Return a value whose range is one of its kind, or complain."""
    least, most = limits(kind)
    if found.low < least or found.high > most:
        reach = (found.high - found.low) / 2.0
        shown = f"{kind.plain(float(found)):.6g} ± {kind.plain(reach) - kind.plain(0.0):.3g}"
        raise Unclear(
            f"{kind.range}, and its ± too: {f'{shown} {kind.unit}'.strip()} does not stay there"
        )
    return found


def half_width(text: str, kind: Kind) -> float:
    """Return how far a quantity reaches either way: a difference, so that no zero is shifted.

    Raises `packsim.scenario.values.quantities.UnitMismatch` if it measures something else.

    Examples
    --------
    >>> hot = Kind("a temperature", "degC", -50.0, 600.0, '"60 degC"')
    >>> half_width("3 degC", hot), half_width("9 degF", hot)
    (3.0, 5.0)
    """
    found = split_quantity(text)
    if found is None:
        raise UnitMismatch(text)
    return _difference(*found, kind)


def _difference(number: Fraction, unit: str, kind: Kind) -> float:
    return float(convert(number, unit, kind.inner) - convert(Fraction(0), unit, kind.inner))


@cache
def limits(kind: Kind) -> tuple[float, float]:
    """Return the least and the most a quantity may be, in the units inside; above 0, a hair of it.

    Examples
    --------
    >>> limits(Kind("a length", "mm", 0.0, 1e6, '"66.1 mm"', above=True))
    (0.001, 1000000.0)
    """
    low, high = (
        float(convert(Fraction(repr(end)), kind.unit, kind.inner)) for end in (kind.low, kind.high)
    )
    return (1e-9 * high if kind.above and low == 0.0 else low), high


def _last_digit(each: object, unit: str, kind: Kind) -> float:
    """Return the size of the last digit of a reading, or the part of its fraction [inside]."""
    if part := re.search(r"/(\d+)", str(each).removesuffix(unit)):
        return abs(_difference(Fraction(1, max(1, int(part[1]))), unit, kind))
    decimals = re.search(r"\d*\.?(\d*)(?:[eE]([+-]?\d+))?", str(each).lstrip(" +-"))
    behind, tens = (decimals[1], decimals[2]) if decimals else ("", None)
    return abs(_difference(Fraction(10) ** (int(tens or 0) - len(behind)), unit, kind))


def _example(kind: Kind) -> str:
    """Return how a value of a kind is written with a ±."""
    return f'"20 {kind.unit} ± 1 {kind.unit}"' if kind.unit else '"0.6 ± 0.05"'
