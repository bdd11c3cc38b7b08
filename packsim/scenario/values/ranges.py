"""What stands behind an option: a quantity, a range of one, weights, a guide setting."""

import math
import re
from collections.abc import Sequence
from contextlib import suppress
from fractions import Fraction
from typing import Final, Self, overload

from packsim.errors import Complaints, InputError, InputErrors
from packsim.line import Scenario
from packsim.line.knobs import MAX_STEPS
from packsim.scenario.values import fields as f
from packsim.scenario.values.quantities import Kind, Refused, convert, read_quantity

_KINDS: Final[dict[str, Kind]] = {
    "length": f.kind_of(f.Length),
    "gap": f.kind_of(f.Gap),
    "stand-off": f.kind_of(f.StandOff),
    "energy": f.kind_of(f.Energy),
    "place": f.kind_of(f.Place),
    "share": f.kind_of(f.Share),
    "count": Kind("a number", "", 1.0, 2000.0, "24"),
    "ratio": Kind("a multiple", "", 0.0, 100.0, "1.5"),
    "pressure": f.kind_of(f.Pressure),
    "flow": f.kind_of(f.Flow),
    "angle": f.kind_of(f.Angle),
    "force": f.kind_of(f.Force),
    "line force": f.kind_of(f.LineForce),
    "temperature": f.kind_of(f.Temperature),
    "speed": f.kind_of(f.Speed),
    "area mass": f.kind_of(f.AreaMass),
    "specific heat": f.kind_of(f.Heat),
}


IN_US: Final = {
    "mm": "in",
    "m/min": "ft/min",
    "mm/s": "in/s",
    "m/s^2": "ft/s^2",
    "N": "lbf",
    "N/m": "lbf/ft",
    "degC": "degF",
    "g/m": "lb/ft",
    "kg/m^2": "lb/ft^2",
    "kg/m^3": "lb/ft^3",
    "bar": "psi",
    "L/min": "gal/min",
}
"""Unit of a line that measures in inches, by the metric one; others are the same for both."""


def in_us(number: float, unit: str) -> tuple[float, str]:
    """Return a number in a metric unit, and that unit, as a line that measures in inches says it.

    Examples
    --------
    >>> in_us(25.4, "mm"), in_us(0.05, "mJ")
    ((1.0, 'in'), (0.05, 'mJ'))
    """
    other = IN_US.get(unit, unit)
    return float(convert(Fraction(repr(float(number))), unit, other)), other


def read_value(key: str, kind: str, text: str, units: str | None = "metric") -> float:
    """Return one quantity from a text, in the units inside the package.

    ``key`` is what a complaint calls it, ``kind`` one of `_KINDS`. A bare number is in the unit
    system ``units``, "metric" or "inch"; None refuses one, as does a quantity without a unit of its
    own in the system. A bare fraction is taken with inches only. Raises `InputError`.
    """
    sort = _KINDS[kind]
    with suppress(Refused):
        return read_quantity(text, sort)
    unit = {"metric": sort.unit, "inch": IN_US.get(sort.unit)}.get(units or "")
    bare = text if unit and (units == "inch" or "/" not in text) else ""
    try:
        return read_quantity(f"{bare} {unit}" if bare else text, sort)
    except Refused as refused:
        raise InputError(key, repr(text), str(refused)) from None


class Values(Complaints):
    """Reads several options as `read_value` does; at its end it raises all it could not read.

    Parameters
    ----------
    units : str, optional
        Unit system of bare numbers; None refuses them.
    """

    def __init__(self, units: str | None = "metric") -> None:
        super().__init__()
        self.units = units

    @overload
    def __call__(self, key: str, kind: str, text: str) -> float: ...

    @overload
    def __call__(self, key: str, kind: str, text: str | None) -> float | None: ...

    def __call__(self, key: str, kind: str, text: str | None) -> float | None:
        """Return the value of an option; nan for one that is refused, None where none is given."""
        if text is None:
            return None
        return self.of(lambda: read_value(key, kind, text, self.units), math.nan)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, _sort: object, problem: BaseException | None, _where: object) -> None:
        also = problem.each if isinstance(problem, InputError) else ()
        if self.refused and (also or problem is None):
            raise InputErrors([*self.refused, *also]) from None


def read_range(
    kind: str, first: str, last: str, steps: int, units: str | None = "metric"
) -> tuple[float, ...]:
    """Return evenly spaced values from the first to the last, both included.

    Texts and units are as for `read_value`; the values rise. Raises `InputError` if an end is not
    such a quantity, the last is not above the first, or ``steps`` is not 2 to `MAX_STEPS`.
    """
    with Values(units) as read:
        low, high = read("lowest", kind, first), read("highest", kind, last)
    if not high > low:
        raise InputError("highest", repr(last), f"more than --lowest {first}")
    if not 2 <= steps <= MAX_STEPS:
        raise InputError("steps", steps, f"2 to {MAX_STEPS}")
    step = (high - low) / (steps - 1)
    return (*(low + i * step for i in range(steps - 1)), high)


_RATE: Final = re.compile(
    r"\s*(\d{1,9}(?:\.\d{1,9})?|\.\d{1,9})\s*(per million|in a million|ppm|%)\s*"
)


def read_rate(key: str, text: str) -> float:
    """Return tips per million from a text such as ``50 per million`` or ``0.005 %``.

    Raises `InputError` under ``key`` for another text, a rate of 0, or of every can.

    Examples
    --------
    >>> read_rate("at-most", "50 per million"), read_rate("at-most", "0.01 %")
    (50.0, 100.0)
    """
    found = _RATE.fullmatch(text)
    rate = float(found[1]) * (1e4 if found[2] == "%" else 1.0) if found else 0.0
    if not 0.0 < rate < 1e6:
        allowed = 'a share of the cans above 0, such as "50 per million" or "0.005 %"'
        raise InputError(key, repr(text), allowed)
    return rate


def read_weights(key: str, texts: Sequence[str]) -> dict[str, float]:
    """Return weights by size from texts such as ``211 body=2``; `InputError` under ``key``."""
    weights = {}
    for text in texts:
        name, _, number = text.rpartition("=")
        try:
            weights[name] = float(number)
        except ValueError:
            weights[name] = -1.0
        if not name or not 0.0 < weights[name] < 1e6:
            allowed = 'a size and a number above 0, such as "211 body=2"'
            raise InputError(key, repr(text), allowed)
    return weights


def settings(
    scenario: Scenario, size: str, named: Sequence[str], units: str = "metric"
) -> dict[str, Scenario]:
    """Return the line at each guide setting, by its name.

    A name is ``as-set``, ``window`` (as recommended for the size) or a clear width for every
    stage, a bare number in ``units``. Raises `InputError` under ``guides`` for another name, or
    if the line cannot be set so.
    """
    return {name: _set(scenario, size, name, units) for name in named}


def _set(scenario: Scenario, size: str, name: str, units: str) -> Scenario:
    from packsim.setting import recommend

    if name == "as-set":
        return scenario
    if name == "window":
        return recommend(scenario, size).line
    try:
        width_mm = read_value("guides", "length", name, units)
        return scenario.with_stages(tuple(s.with_clear_width(width_mm) for s in scenario.stages))
    except InputError as refused:
        allowed = f"as-set, window, or a clear width: {refused.allowed}"
        raise InputError("guides", repr(name), allowed) from refused
