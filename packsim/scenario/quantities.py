"""A quantity as text, ``2 11/16 in``, to a float in the units inside; and back again.

Each kind of quantity has a unit for plain numbers, a unit inside, and a range that a washer or an
oven can be in; the range catches slips of the keyboard, not bad engineering.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from packsim.scenario.units import UnitMismatch, convert

_NUMBER: Final = re.compile(
    r"\s*(?P<sign>[+-]?)\s*"
    r"(?:(?P<whole>\d{1,9})\s+(?P<up1>\d{1,6})/(?P<down1>\d{1,6})(?!\d)"
    r"|(?P<up2>\d{1,9})/(?P<down2>\d{1,6})(?![\d.])"
    r"|(?P<decimal>(?:\d{1,40}\.?\d{0,40}|\.\d{1,40})(?:[eE][+-]?\d{1,3})?))"
    r"\s*(?P<unit>[^\d\s.,+-].*|1\s*/.*)?\s*"
)
"""A decimal number, a fraction, or a whole number and a fraction; then a unit, such as ``1/s``."""


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
    assumption, empty for a ratio; ``inner`` the unit used inside the package; ``low`` to ``high``
    the allowed range in ``unit``, ``low`` itself refused where ``above``; ``example`` how to write
    one.
    """

    noun: str
    unit: str
    inner: str
    low: float
    high: float
    example: str
    above: bool = False

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


LENGTH: Final = Kind(
    "a length", "mm", "mm", 0.0, 1e6, example='"66.1 mm" or "2 11/16 in"', above=True
)
GAP: Final = Kind("a length", "mm", "mm", 0.0, 1e6, example='"0.5 mm"')
PLACE: Final = Kind("a place", "mm", "mm", -1e6, 1e6, example='"33 mm"')
SPEED: Final = Kind("a speed", "m/min", "mm/s", 0.0, 1000.0, example='"6 m/min"', above=True)
DRIFT: Final = Kind("a speed to the right", "mm/s", "mm/s", -1e4, 1e4, example='"0.5 mm/s"')
ACCELERATION: Final = Kind("an acceleration", "m/s^2", "mm/s^2", 0.0, 100.0, example='"0.5 m/s^2"')
FORCE: Final = Kind("a force", "N", "N", 0.0, 1e9, example='"600 N" or "135 lbf"', above=True)
LINE_FORCE: Final = Kind("a force per length", "N/m", "N/m", 0.0, 1e5, example='"20 N/m"')
TEMPERATURE: Final = Kind(
    "a temperature", "degC", "degC", -50.0, 600.0, example='"60 degC" or "140 degF"'
)
MASS: Final = Kind("a mass", "g", "kg", 0.0, 1e5, example='"10.2 g"', above=True)
LINE_MASS: Final = Kind("a mass per length", "g/m", "kg/m", 0.0, 1e4, example='"50 g/m"')
AREA_MASS: Final = Kind("a mass per area", "kg/m^2", "kg/m^2", 0.0, 1000.0, example='"9.2 kg/m^2"')
DENSITY: Final = Kind(
    "a density",
    "kg/m^3",
    "kg/mm^3",
    0.0,
    3000.0,
    example='"1000 kg/m^3" or "1.2 kg/m^3"',
    above=True,
)
METAL_DENSITY: Final = Kind(
    "a density", "kg/m^3", "kg/m^3", 500.0, 25_000.0, example='"2.72 g/cm^3" or "7850 kg/m^3"'
)
HEAT: Final = Kind(
    "a specific heat", "J/(kg K)", "J/(kg K)", 0.0, 1e5, example='"500 J/(kg K)"', above=True
)
EXPANSION: Final = Kind("an expansion per kelvin", "1/K", "1/K", 0.0, 0.01, example='"1.6e-5 1/K"')
PRESSURE: Final = Kind("a pressure", "bar", "MPa", 0.0, 1000.0, example='"2.5 bar" or "45 psi"')
RATED_PRESSURE: Final = Kind(
    "a pressure", "bar", "MPa", 0.0, 1000.0, example='"2.5 bar" or "45 psi"', above=True
)
FLOW: Final = Kind(
    "a flow", "L/min", "mm^3/s", 0.0, 1e5, example='"4 L/min" or "1.1 gal/min"', above=True
)
ANGLE: Final = Kind("an angle", "deg", "rad", 0.1, 170.0, example='"60 deg"')
TWIST: Final = Kind("an angle", "deg", "rad", -90.0, 90.0, example='"15 deg"')
ENERGY: Final = Kind("an energy", "mJ", "mJ", 0.0, 1e6, example='"0.05 mJ"')
RATE: Final = Kind("a rate", "1/s", "1/s", 0.0, 1e4, example='"2 1/s"')
SHARE: Final = Kind("a share", "", "", 0.0, 1.0, example='0.6 or "60 %"')
FILL: Final = Kind("a share", "", "", 0.05, 1.0, example='0.98 or "98 %"')
VELOCITY_SHARE: Final = Kind("a share", "", "", 0.05, 1.0, example="0.95")
FRICTION: Final = Kind("a coefficient", "", "", 0.0, 10.0, example="0.5")
FACTOR: Final = Kind("a safety factor", "", "", 1.0, 1000.0, example="2")
SPLASH: Final = Kind("a splash factor", "", "", 1.0, 2.0, example="1")


def read_quantity(raw: object, kind: Kind) -> float:
    """Read one quantity: a text with a unit, or a plain number in ``kind.unit``.

    The value is in ``kind.inner``, rounded once from the exact conversion. Raises `Refused` if it
    is neither, is not finite, measures something else or is out of range.

    Examples
    --------
    >>> body = Kind("a length", "mm", "mm", 0.0, 1e6, '"66.1 mm"', above=True)
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
