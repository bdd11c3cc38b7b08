"""What stands in a new file for what nobody knows, and how its values are worded."""

from fractions import Fraction
from typing import Final

from packsim.constants import MM_PER_INCH
from packsim.scenario.values import fields as f
from packsim.scenario.values.readers import toml_text

_LENGTH: Final = f.kind_of(f.Length)

WHY: Final = "nobody knew it when the file was made; a usual value, no source"
"""Why such a value stands on record as assumed."""

USUAL_SIZE: Final = "us_12oz_std"
"""The can taken where nobody knows which."""

ROOM_MM: Final = 100.0
"""Least room beside a pack for guides and brackets, each side: common practice, no source."""

_USUAL: Final[dict[str, tuple[str, str]]] = {
    "speed": ("6 m/min", "20 ft/min"),
    "mat": ("1600 mm", "63 in"),
    "length": ("2400 mm", "8 ft"),
    "nozzle_to_mat": ("250 mm", "10 in"),
    "angle": ("60 deg", "60 deg"),
    "rated_flow": ("0.8 L/min", "0.2 gal/min"),
    "rated_pressure": ("2 bar", "30 psi"),
    "pressure": ("2 bar", "30 psi"),
    "other pressure": ("1.5 bar", "20 psi"),
    "apart": ("600 mm", "24 in"),
}
"""What stands in a file that cannot do without, in metric and in inches."""

AIR: Final = {
    "rated_flow": "80 L/min",
    "rated_pressure": "0.05 bar",
    "density": "1.2 kg/m^3",
}
"""A blow-off's header instead: air."""


def usual_in(units: str, name: str) -> str:
    """Return what usually stands for something, in a unit system."""
    return _USUAL[name][units == "inch"]


def length_in(units: str, mm: float) -> str:
    """Word a length that is worked out: to 1 mm, or to 1/16 in.

    Examples
    --------
    >>> length_in("metric", 1127.1), length_in("inch", 1127.1), length_in("inch", 50.8)
    ('1127 mm', '44 3/8 in', '2 in')
    """
    if units == "metric":
        return f"{round(mm)} mm"
    whole, part = divmod(Fraction(round(16.0 * mm / MM_PER_INCH), 16), 1)
    return f"{whole} {part} in" if part and whole else f"{part or whole} in"


def row_of(key: str, value: str | list[str], about: str = "") -> str:
    """Return the row of a key, its comment in a column of its own where there is room."""
    each = [toml_text(one) for one in ([value] if isinstance(value, str) else value)]
    text = each[0] if isinstance(value, str) else f"[{', '.join(each)}]"
    row = f"{key} = {text}"
    return f"{row:<31} # {about}" if about else row


def mm_of(raw: str | list[str]) -> float:
    """Return a length as a file has it, readings too, in millimetres."""
    return float(_LENGTH.read(raw))
