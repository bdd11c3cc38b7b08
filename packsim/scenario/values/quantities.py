"""A quantity as text, ``2 11/16 in``, to a float in the units inside; and back again.

Each kind of quantity has a unit for plain numbers, a unit inside, and a range that a washer or an
oven can be in; the range catches slips of the keyboard, not bad engineering.

Units are those people write on the floor, ``units.txt``. The list is ours and short: it is read in
a millisecond where a general one takes a fifth of a second, and a slip such as ``Bq`` for a rate is
unknown rather than converted. Angle is a dimension of its own here, so degrees never pass for a
ratio nor ``rpm`` for kicks per second. All factors are exact by definition (SI; the international
yard and pound of 1959; the US gallon of 231 in³), and kept as fractions, so a conversion rounds
once. Tests hold them against a general library.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Final

_NUMBER: Final = re.compile(
    r"\s*(?P<sign>[+-]?)\s*"
    r"(?:(?P<whole>\d{1,9})\s+(?P<up1>\d{1,6})/(?P<down1>\d{1,6})(?!\d)"
    r"|(?P<up2>\d{1,9})/(?P<down2>\d{1,6})(?![\d.])"
    r"|(?P<decimal>(?:\d{1,40}\.?\d{0,40}|\.\d{1,40})(?:[eE][+-]?\d{1,3})?))"
    r"\s*(?P<unit>[^\d\s.,+-].*|1\s*/.*)?\s*"
)
"""A decimal number, a fraction, or a whole number and a fraction; then a unit, such as ``1/s``."""

PLUS_MINUS: Final = re.compile(r"\s*(?:±|\+/-|\+-)\s*")
"""Between a value and how far it reaches either way."""

_NAME: Final = r"[A-Za-zµμ°%_]+(?:\s*(?:\^|\*\*)\s*-?[1-3]|⁻?[¹²³])?"
_PRODUCT: Final = rf"{_NAME}(?:\s*[*·/ ]\s*{_NAME})*"
_UNIT: Final = re.compile(rf"(?:(?:1\s*)?/\s*)?{_PRODUCT}(?:\s*/\s*\(\s*{_PRODUCT}\s*\))?")
_LONGEST: Final = 40
_PIECE: Final = re.compile(r"(/)|(\()|([A-Za-zµμ°%_]+)(?:\s*(?:\^|\*\*)?\s*(-?[1-3]))?")
_RAISED: Final = str.maketrans("⁻¹²³", "-123")
_PREFIXES: Final = {
    "micro": -6, "µ": -6, "μ": -6, "u": -6, "milli": -3, "m": -3, "centi": -2, "c": -2,
    "deci": -1, "d": -1, "hecto": 2, "h": 2, "kilo": 3, "k": 3, "mega": 6, "M": 6,
}  # fmt: skip


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


def has_range(raw: object) -> bool:
    """Return whether a value of a file is one with a ±, or a list of readings."""
    return isinstance(raw, list) or (isinstance(raw, str) and PLUS_MINUS.search(raw) is not None)


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
    found = split_quantity(text)
    if found is None:
        raise Refused(kind)
    number, unit = found
    if kind.unit and not unit:
        raise Refused(kind, " (the text has no unit)")
    if not kind.unit and unit not in ("", "%", "percent"):
        raise Refused(kind)
    return convert(number, unit, kind.inner)


def split_quantity(text: str) -> tuple[Fraction, str] | None:
    """Return the number and the unit of a text, empty where it has none; None for anything else.

    Examples
    --------
    >>> split_quantity("2 11/16 in")
    (Fraction(43, 16), 'in')
    """
    found = _NUMBER.fullmatch(text) if len(text) <= 200 else None
    if found is None:
        return None
    part = found.groupdict()
    if not int(part["down1"] or part["down2"] or 1):
        return None
    if part["decimal"] is not None:
        number = Fraction(part["decimal"])
    elif part["whole"] is not None:
        number = int(part["whole"]) + Fraction(int(part["up1"]), int(part["down1"]))
    else:
        number = Fraction(int(part["up2"]), int(part["down2"]))
    return (-number if part["sign"] == "-" else number), (part["unit"] or "").strip()


def _fraction(value: float) -> Fraction:
    """Return the decimal number a float is written as, not the binary one nearest to it."""
    return Fraction(repr(value)) if isinstance(value, float) else Fraction(value)


def unit_known(text: str) -> bool:
    """Return whether ``text`` has the form of a unit: short, names and small powers only.

    Anything else, such as a sum, is refused unread.
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
    one, other = _unit(unit), _unit(inner)
    if one.powers != other.powers or (other.zero and unit not in _named()):
        raise UnitMismatch(unit)
    return (value + one.zero) * one.factor / other.factor - other.zero


@dataclass(frozen=True, slots=True)
class _Unit:
    """A value x of it is (x + zero) · factor of the base units to these powers."""

    factor: Fraction
    powers: tuple[tuple[str, int], ...]
    zero: Fraction = Fraction()


@lru_cache(maxsize=512)
def _unit(text: str) -> _Unit:
    """Read a unit; alone it may have a zero of its own, in a product only its size counts."""
    if text in _named():
        return _named()[text]
    if text and not unit_known(text):
        raise UnitMismatch(text)
    return _product(text, _of_name)


def _product(text: str, of_name: Callable[[str], _Unit]) -> _Unit:
    """Multiply the units of a text; a slash or "per" divides by one name, or by all in brackets."""
    factor, powers = Fraction(1), Counter[str]()
    group = sign = 1
    for slash, bracket, name, power in _PIECE.findall(text.translate(_RAISED)):
        if slash or (name == "per" and not power):
            sign = -1
        elif bracket:
            group, sign = sign, 1
        else:
            times, one = group * sign * int(power or 1), of_name(name)
            factor *= one.factor**times
            powers.update({base: times * each for base, each in one.powers})
            sign = 1
    if sign < 0:
        raise UnitMismatch(text)
    return _Unit(factor, tuple(sorted((base, n) for base, n in powers.items() if n)))


def _of_name(name: str) -> _Unit:
    """Return the unit of a name, in the plural or with a prefix too."""
    units = _named()
    for stem in (name, name.removesuffix("s")):
        if stem in units and (stem == name or len(stem) > 1):
            return units[stem]
        for prefix, tens in _PREFIXES.items():
            one = units.get(stem.removeprefix(prefix)) if stem.startswith(prefix) else None
            if one is not None and not one.zero and (stem == name or len(stem) > len(prefix) + 1):
                return _Unit(one.factor * Fraction(10) ** tens, one.powers)
    raise UnitMismatch(name)


@lru_cache(maxsize=1)
def _named() -> dict[str, _Unit]:
    """Every unit of ``units.txt`` by each of its names."""
    units: dict[str, _Unit] = {}
    text = Path(__file__).with_name("units.txt").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    for names, meaning in (line.split(" = ") for line in lines):
        size, _, zero = meaning.partition(" zero ")
        number, _, of = size.partition(" ")
        if number.isalpha():  # a dimension of its own
            one = _Unit(Fraction(1), ((number, 1),))
        else:
            over, _, under = number.partition("/")
            one = _product(of, units.__getitem__)
            factor = Fraction(over) / Fraction(under or 1) * one.factor
            one = _Unit(factor, one.powers, Fraction(zero or 0))
        units |= dict.fromkeys(names.split(), one)
    return units
