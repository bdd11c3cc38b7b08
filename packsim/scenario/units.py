"""The units people write on the floor, as one exact pint registry built when first needed.

The list is ours and short: it loads in milliseconds where the general one takes a fifth of a
second, and a slip such as ``Bq`` for a rate is unknown rather than converted. Angle is a dimension
of its own here, so degrees never pass for a ratio nor ``rpm`` for kicks per second. All factors
are exact by definition (SI; the international yard and pound of 1959; the US gallon of 231 in³),
and kept as fractions, so a conversion rounds once.
"""

from __future__ import annotations

import re
import tokenize
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import pint

_DEFINITIONS: Final = """
micro- = 1e-6 = µ- = μ- = u-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
deci- = 1e-1 = d-
hecto- = 1e2 = h-
kilo- = 1e3 = k-
mega- = 1e6 = M-
meter = [length] = m = metre
second = [time] = s = sec
gram = [mass] = g
kelvin = [temperature]; offset: 0 = K
radian = [angle] = rad
percent = 0.01 = % = pct
minute = 60 * second = min
hour = 60 * minute = h = hr
inch = 0.0254 * meter = in = inches
foot = 12 * inch = ft = feet
mil = 0.001 * inch = mil = thou
liter = 0.001 * meter ** 3 = L = l = litre
gallon = 231 * inch ** 3 = gal
newton = kilogram * meter / second ** 2 = N
pound = 0.45359237 * kilogram = lb
ounce = pound / 16 = oz
pound_force = 9.80665 * pound * meter / second ** 2 = lbf
pascal = newton / meter ** 2 = Pa
bar = 100000 * pascal
psi = pound_force / inch ** 2
joule = newton * meter = J
hertz = 1 / second = Hz
degree = 3.14159265358979323846264338327950288 / 180 * radian = deg = °
degree_Celsius = kelvin; offset: 273.15 = degreeC = degC = celsius
degree_Fahrenheit = 5 / 9 * kelvin; offset: 459.67 * 5 / 9 = degreeF = degF = fahrenheit
"""

_NAME: Final = r"[A-Za-zµμ°%_]+(?:\s*(?:\^|\*\*)\s*-?[1-3]|⁻?[¹²³])?"
_PRODUCT: Final = rf"{_NAME}(?:\s*[*·/ ]\s*{_NAME})*"
_UNIT: Final = re.compile(rf"(?:(?:1\s*)?/\s*)?{_PRODUCT}(?:\s*/\s*\(\s*{_PRODUCT}\s*\))?")
_LONGEST: Final = 40
_OFFSET: Final = frozenset({"degC", "degF", "K"})
"""Unit texts whose zero is not nothing, so that no single factor converts them."""


IN_US: Final = {
    "mm": "in",
    "m/min": "ft/min",
    "mm/s": "in/s",
    "m/s^2": "ft/s^2",
    "N": "lbf",
    "N/m": "lbf/ft",
    "degC": "degF",
    "g": "oz",
    "g/m": "lb/ft",
    "kg/m^2": "lb/ft^2",
    "kg/m^3": "lb/ft^3",
    "bar": "psi",
    "L/min": "gal/min",
}
"""Unit of a line that measures in inches, by the metric one; others are the same for both."""


_ODD: Final = ArithmeticError, AssertionError, AttributeError, LookupError, RecursionError
_NO_UNIT: Final = (*_ODD, SyntaxError, TypeError, ValueError, tokenize.TokenError)
"""What pint raises, besides errors of its own, on a text that is no unit."""


class UnitMismatch(ValueError):
    """The unit is unknown, or measures something else."""


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Fraction]:
    import pint

    lines = _DEFINITIONS.strip().splitlines()
    return pint.UnitRegistry(lines, non_int_type=Fraction, cache_folder=None)


def unit_known(text: str) -> bool:
    """Return whether ``text`` has the form of a unit: short, names and small powers only.

    Anything else never reaches pint, whose own reader would also do sums such as 9**9**9.
    """
    return len(text) <= _LONGEST and _UNIT.fullmatch(text) is not None


def convert(value: Fraction, unit: str, inner: str) -> Fraction:
    """Convert a number from one unit text to another; an empty text is a plain ratio.

    Exact but for angles, whose π has 36 digits. Raises `UnitMismatch` if ``unit`` is no unit of
    ours or measures something other than ``inner``.

    Examples
    --------
    >>> convert(Fraction(140), "degF", "degC")
    Fraction(60, 1)
    """
    if unit == inner:
        return value
    if unit in _OFFSET or inner in _OFFSET:
        return _convert(value, unit, inner)
    return value * _convert(Fraction(1), unit, inner)


def in_us(number: float, unit: str) -> tuple[float, str]:
    """Return a number in a metric unit, and that unit, as a line that measures in inches says it.

    Examples
    --------
    >>> in_us(25.4, "mm"), in_us(0.05, "mJ")
    ((1.0, 'in'), (0.05, 'mJ'))
    """
    other = IN_US.get(unit, unit)
    return float(convert(Fraction(repr(float(number))), unit, other)), other


@lru_cache(maxsize=512)
def _convert(value: Fraction, unit: str, inner: str) -> Fraction:
    if unit and not unit_known(unit):
        raise UnitMismatch(unit)
    import pint

    text = re.sub(r"^\s*/", "1/", unit)
    try:
        quantity = _registry().Quantity(value, text).to(inner)
    except (pint.errors.PintError, *_NO_UNIT) as problem:
        raise UnitMismatch(unit) from problem
    return Fraction(quantity.magnitude)
