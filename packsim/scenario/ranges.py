"""A range of one quantity given on the command line, as values in the units inside."""

from __future__ import annotations

from contextlib import suppress
from typing import Final

from packsim.errors import InputError
from packsim.scenario import kinds
from packsim.scenario.quantities import Kind, Refused, read_quantity

__all__ = ["MAX_STEPS", "read_range", "read_value"]

MAX_STEPS: Final = 2_000
"""More values than any chart can show."""

_KINDS: Final[dict[str, Kind]] = {
    "length": kinds.LENGTH,
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


def read_value(key: str, kind: str, text: str) -> float:
    """Return one quantity from text.

    Parameters
    ----------
    key : str
        What a complaint calls it.
    kind : str
        Sort of quantity: length, place, share, ratio, pressure, force, line force, temperature,
        speed, area mass or specific heat.
    text : str
        A number in the kind's unit, or a quantity with a unit.

    Returns
    -------
    float
        The value in the units inside the package.

    Raises
    ------
    InputError
        If the text is not such a quantity.
    """
    given: object = text
    with suppress(ValueError):
        given = float(text)
    try:
        return read_quantity(given, _KINDS[kind])
    except Refused as refused:
        raise InputError(key, repr(text), str(refused)) from None


def read_range(kind: str, first: str, last: str, steps: int) -> tuple[float, ...]:
    """Return evenly spaced values from the first to the last, both included.

    Parameters
    ----------
    kind : str
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
    low, high = read_value("from", kind, first), read_value("to", kind, last)
    if not high > low:
        raise InputError("to", repr(last), f"more than --from {first}")
    if not 2 <= steps <= MAX_STEPS:
        raise InputError("steps", steps, f"2 to {MAX_STEPS}")
    step = (high - low) / (steps - 1)
    return (*(low + i * step for i in range(steps - 1)), high)
