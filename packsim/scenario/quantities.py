"""A quantity as text, ``2 11/16 in``, to a float in the units inside; and back again.

Each kind of quantity has a unit for plain numbers, a unit inside, and a range that a washer or an
oven can be in; the range catches slips of the keyboard, not bad engineering.

Units are those people write on the floor, ``units.txt``, an exact pint registry built when first
needed. The list is ours and short: it loads in milliseconds where the general one takes a fifth of
a second, and a slip such as ``Bq`` for a rate is unknown rather than converted. Angle is a
dimension of its own here, so degrees never pass for a ratio nor ``rpm`` for kicks per second. All
factors are exact by definition (SI; the international yard and pound of 1959; the US gallon of
231 in³), and kept as fractions, so a conversion rounds once.
"""

from __future__ import annotations

import math
import re
import tokenize
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import pint

_NUMBER: Final = re.compile(
    r"\s*(?P<sign>[+-]?)\s*"
    r"(?:(?P<whole>\d{1,9})\s+(?P<up1>\d{1,6})/(?P<down1>\d{1,6})(?!\d)"
    r"|(?P<up2>\d{1,9})/(?P<down2>\d{1,6})(?![\d.])"
    r"|(?P<decimal>(?:\d{1,40}\.?\d{0,40}|\.\d{1,40})(?:[eE][+-]?\d{1,3})?))"
    r"\s*(?P<unit>[^\d\s.,+-].*|1\s*/.*)?\s*"
)
"""A decimal number, a fraction, or a whole number and a fraction; then a unit, such as ``1/s``."""

_NAME: Final = r"[A-Za-zµμ°%_]+(?:\s*(?:\^|\*\*)\s*-?[1-3]|⁻?[¹²³])?"
_PRODUCT: Final = rf"{_NAME}(?:\s*[*·/ ]\s*{_NAME})*"
_UNIT: Final = re.compile(rf"(?:(?:1\s*)?/\s*)?{_PRODUCT}(?:\s*/\s*\(\s*{_PRODUCT}\s*\))?")
_LONGEST: Final = 40
_OFFSET: Final = frozenset({"degC", "degF", "K"})
"""Unit texts whose zero is not nothing, so that no single factor converts them."""


_ODD: Final = ArithmeticError, AssertionError, AttributeError, LookupError, RecursionError
_NO_UNIT: Final = (*_ODD, SyntaxError, TypeError, ValueError, tokenize.TokenError)
"""What pint raises, besides errors of its own, on a text that is no unit."""


class UnitMismatch(ValueError):
    """The unit is unknown, or measures something else."""


class Refused(ValueError):
    """A text or number is not acceptable for its kind; says what would be, then ``note``."""

    def __init__(self, kind: Kind, note: str = "") -> None:
        self.kind, self.note = kind, note
        super().__init__(kind.allowed + note)

    def like(self, example: str) -> str:
        """Return what would be acceptable, with an example of the key's own."""
        return f"{self.kind.range}, such as {example}{self.note}"


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of quantity.

    ``noun`` is what it is, with article, for complaints; ``unit`` that of a plain number and of an
    assumption, empty for a ratio; ``low`` to ``high`` the allowed range in it, ``low`` itself
    refused where ``above``; ``example`` how to write one; ``inside`` the unit used inside the
    package where that is another.
    """

    noun: str
    unit: str
    low: float
    high: float
    example: str
    inside: str = ""
    above: bool = False

    @property
    def inner(self) -> str:
        """Unit used inside the package."""
        return self.inside or self.unit

    @property
    def range(self) -> str:
        """What it is and how large it may be."""
        unit = f" {self.unit}" if self.unit else ""
        start = f"above {self.low:.9g}" if self.above else f"from {self.low:.9g}"
        return f"{self.noun} {start} to {self.high:.9g}{unit}"

    @property
    def allowed(self) -> str:
        """What is accepted, in one phrase."""
        return f"{self.range}, such as {self.example}"

    def plain(self, value: float) -> float:
        """Return a value inside as a plain number in ``unit``."""
        return float(convert(_fraction(value), self.inner, self.unit))


def read_quantity(raw: object, kind: Kind) -> float:
    """Read one quantity: a text with a unit, or a plain number in ``kind.unit``.

    The value is in ``kind.inner``, rounded once from the exact conversion. Raises `Refused` if it
    is neither, is not finite, measures something else or is out of range.

    Examples
    --------
    >>> body = Kind("a length", "mm", 0.0, 1e6, '"66.1 mm"', above=True)
    >>> read_quantity("2 11/16 in", body)
    68.2625
    """
    try:
        if isinstance(raw, str):
            value = _from_text(raw, kind)
        elif isinstance(raw, bool) or not isinstance(raw, int | float) or not math.isfinite(raw):
            raise Refused(kind)
        else:
            value = convert(_fraction(raw), kind.unit, kind.inner)
    except (UnitMismatch, ZeroDivisionError, OverflowError):
        raise Refused(kind) from None
    low = convert(_fraction(kind.low), kind.unit, kind.inner)
    high = convert(_fraction(kind.high), kind.unit, kind.inner)
    if not low <= value <= high or (kind.above and value == low):
        raise Refused(kind)
    return float(value)


def write_quantity(value: float, kind: Kind) -> str:
    """Return TOML for a value that `read_quantity` reads back to the very same float.

    The usual unit is tried first; where its decimals cannot hit the same float the unit used
    inside does, because nothing is converted then.
    """
    usual = repr(kind.plain(value))
    for number, unit in ((f"{float(usual):.12g}", kind.unit), (usual, kind.unit)):
        text = f'"{number} {unit}"' if unit else repr(float(number))
        try:
            if read_quantity(text.strip('"') if unit else float(number), kind) == value:
                return text
        except Refused:
            continue
    return f'"{value!r} {kind.inner}"' if kind.inner else repr(float(value))


def _from_text(text: str, kind: Kind) -> Fraction:
    found = _NUMBER.fullmatch(text) if len(text) <= 200 else None
    if found is None:
        raise Refused(kind)
    part = found.groupdict()
    if part["decimal"] is not None:
        number = Fraction(part["decimal"])
    elif part["whole"] is not None:
        number = int(part["whole"]) + Fraction(int(part["up1"]), int(part["down1"]))
    else:
        number = Fraction(int(part["up2"]), int(part["down2"]))
    unit = (part["unit"] or "").strip()
    if kind.unit and not unit:
        raise Refused(kind, " (the text has no unit)")
    if not kind.unit and unit not in ("", "%", "percent"):
        raise Refused(kind)
    return convert(-number if part["sign"] == "-" else number, unit, kind.inner)


def _fraction(value: float) -> Fraction:
    """Return the decimal number a float is written as, not the binary one nearest to it."""
    return Fraction(repr(value)) if isinstance(value, float) else Fraction(value)


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Fraction]:
    import pint

    lines = files("packsim.scenario").joinpath("units.txt").read_text(encoding="utf-8").splitlines()
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
