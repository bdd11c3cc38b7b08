"""An input and how well it is known, in words."""

import math
import re
from fractions import Fraction

from packsim.errors import plain_figures
from packsim.line.input_range import InputRange
from packsim.report.words.display import Display
from packsim.report.words.numbers import with_signs
from packsim.scenario.values.quantities import convert
from packsim.scenario.values.ranges import in_us

_SMALL = 1e-3  # below it a number is written with its power of ten
_KNOWN = {"given": "as the file says", "catalogue": "catalogue", "assumed": "assumed"}


def as_shown(number: float, unit: str, display: Display) -> tuple[float, str]:
    """Return a number in a metric unit of files, and that unit, as a display has them.

    Cans weigh grams in both: the trade has no everyday inch unit for them.
    """
    return (number, unit) if display.metric or unit == "g" else in_us(number, unit)


def unit_shown(unit: str, display: Display) -> str:
    """Return the unit a display has for a metric one of files."""
    return as_shown(0.0, unit, display)[1]


def range_words(one: InputRange, display: Display) -> str:
    """Return what an input is taken as, how far it may be off, and how that is known.

    Examples
    --------
    >>> body = InputRange("sizes[0].diameter", 66.09, 65.59, 66.59, "catalogue", "", unit="mm",
    ...                   inner="mm")
    >>> range_words(body, Display()), range_words(body, Display("inch"))
    ('66.09 mm ± 0.50 (catalogue)', '2.602 in ± 0.020 (catalogue)')
    """
    known = f"{one.readings} readings" if one.readings else _KNOWN.get(one.kind, one.kind)
    if one.choices:
        others = [word for word in one.choices if word != one.choices[int(one.value)]]
        may = "" if one.exact else f", or {', '.join(others)}"
        return f"{one.choices[int(one.value)]}{may} ({known})"
    low, value, high = (_number(each, one, display) for each in (one.low, one.value, one.high))
    unit = with_signs(unit_shown(one.unit, display))
    said = f" {unit}".rstrip()
    if one.exact:
        return f"{value:.6g}{said} ({known})"
    below, above = value - low, high - value
    digits = max(0, 1 - math.floor(math.log10(max(below, above))))
    if abs(above - below) < 0.02 * (above + below):
        return f"{value:.{_places(value, digits)}f}{said} ± {above:.{digits}f} ({known})"
    return (
        f"{value:.{_places(value, digits)}f}{said}, {low:.{digits}f} to {high:.{digits}f} ({known})"
    )


def value_words(one: InputRange, value: float, display: Display) -> str:
    """Return a value an input may have, with as many digits as its range has.

    Examples
    --------
    >>> body = InputRange("sizes[0].diameter", 66.09, 65.59, 66.59, "catalogue", "", unit="mm",
    ...                   inner="mm")
    >>> value_words(body, 65.9512, Display())
    '65.95 mm'
    """
    if one.choices:
        return one.choices[int(value)]
    low, high, shown = (_number(each, one, display) for each in (one.low, one.high, value))
    unit = with_signs(unit_shown(one.unit, display))
    if 0.0 < high < _SMALL:
        return f"{shown:.3g} {unit}"
    return f"{shown:.{_digits(high - low)}f} {unit}".rstrip()


def amount_words(one: InputRange, amount: float, display: Display) -> str:
    """Return by how much an input may be off: ``0.05 mm``."""
    low, high = (_number(one.value + end, one, display) for end in (0.0, amount))
    unit = with_signs(unit_shown(one.unit, display))
    return f"{plain_figures(high - low, 2)} {unit}".rstrip()


def _digits(wide: float) -> int:
    """Return how many decimals show the parts of a range."""
    return max(0, 2 - math.floor(math.log10(wide))) if wide > 0.0 else 0


def input_name(key: str) -> str:
    """Return the name of an input where its stage and size are known: the end of its key, plainly.

    Examples
    --------
    >>> input_name("sizes[0].diameter_tol"), input_name("guides.wire_heights[2]")
    ('diameter tol', 'wire heights 3')
    >>> input_name("stages[2].headers[1].pressure")
    'pressure, header 2'
    """
    found = re.fullmatch(r".*?(headers\[(\d+)\]\.|headers\.)?(\w+?)(?:\[(\d+)\])?", key)
    if found is None:
        return key
    header, which, name, number = found.groups()
    told = name.replace("cg_", "centre of gravity ").replace("_", " ") + (
        f" {int(number) + 1}" if number else ""
    )
    if header is None:
        return told
    return f"{told}, header {int(which) + 1}" if which else f"{told}, all headers"


def _places(value: float, digits: int) -> int:
    """Return how many decimals a value is shown with beside a range: its own, if those are more."""
    own = f"{value:.4g}".partition(".")[2]
    return max(digits, len(own) if own.isdecimal() else 0)


def _number(value: float, one: InputRange, display: Display) -> float:
    metric = float(convert(Fraction(repr(float(value))), one.inner, one.unit))
    return as_shown(metric, one.unit, display)[0]
