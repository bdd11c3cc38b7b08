"""A range of one quantity given on the command line, as values in the units inside."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import Final

from packsim.errors import InputError
from packsim.scenario import kinds
from packsim.scenario.quantities import Kind, Refused, read_quantity

__all__ = ["MAX_STEPS", "read_range", "read_value", "read_weights"]

MAX_STEPS: Final = 2_000
"""More values than any chart can show."""

_KINDS: Final[dict[str, Kind]] = {
    "length": kinds.LENGTH,
    "gap": kinds.GAP,
    "place": kinds.PLACE,
    "share": kinds.SHARE,
    "ratio": Kind("a multiple", "", "", 0.0, 100.0, "1.5"),
    "pressure": kinds.PRESSURE,
    "force": kinds.FORCE,
    "line force": kinds.LINE_FORCE,
    "temperature": kinds.TEMPERATURE,
    "speed": kinds.SPEED,
    "area mass": kinds.AREA_MASS,
    "specific heat": kinds.HEAT,
}


_INCH: Final = {"mm": "in", "m/min": "ft/min", "N": "lbf", "bar": "psi", "degC": "degF"}
"""Unit of a bare number with ``--units inch``; other quantities need their unit then."""


def read_value(key: str, kind: str, text: str, units: str | None = "metric") -> float:
    """Return one quantity from text.

    Parameters
    ----------
    key : str
        What a complaint calls it.
    kind : str
        Sort of quantity: length, gap, place, share, ratio, pressure, force, line force,
        temperature, speed, area mass or specific heat.
    text : str
        A quantity with its unit, or a bare number.
    units : {"metric", "inch"} or None
        Unit system of a bare number. None refuses it, as does a quantity with no usual unit in the
        system; a bare fraction counts as inches only.

    Returns
    -------
    float
        The value in the units inside the package.

    Raises
    ------
    InputError
        If the text is not such a quantity.
    """
    sort = _KINDS[kind]
    with suppress(Refused):
        return read_quantity(text, sort)
    unit = {"metric": sort.unit, "inch": _INCH.get(sort.unit)}.get(units or "")
    bare = text if unit and (units == "inch" or "/" not in text) else ""
    try:
        return read_quantity(f"{bare} {unit}" if bare else text, sort)
    except Refused as refused:
        raise InputError(key, repr(text), str(refused)) from None


def read_range(
    kind: str, first: str, last: str, steps: int, units: str | None = "metric"
) -> tuple[float, ...]:
    """Return evenly spaced values from the first to the last, both included.

    Parameters
    ----------
    kind, units : str
        As for `read_value`.
    first, last : str
        Ends of the range.
    steps : int
        Number of values, 2 to `MAX_STEPS`.

    Returns
    -------
    tuple of float
        Rising values in the units inside the package.

    Raises
    ------
    InputError
        If an end is not such a quantity, the last is not above the first, or ``steps`` is out of
        range.
    """
    low = read_value("lowest", kind, first, units)
    high = read_value("highest", kind, last, units)
    if not high > low:
        raise InputError("highest", repr(last), f"more than --lowest {first}")
    if not 2 <= steps <= MAX_STEPS:
        raise InputError("steps", steps, f"2 to {MAX_STEPS}")
    step = (high - low) / (steps - 1)
    return (*(low + i * step for i in range(steps - 1)), high)


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
