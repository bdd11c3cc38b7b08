"""Checks of plain numbers at the moment a noun is built; each complaint says got and allowed."""

import math
from itertools import pairwise
from numbers import Integral, Real

from packsim.errors import InputError


def finite(key: str, value: float) -> float:
    """Return ``value`` if it is a finite number, else raise `InputError`."""
    if isinstance(value, bool) or not isinstance(value, Real) or not math.isfinite(value):
        raise InputError(key, value, "a finite number")
    return float(value)


def positive(key: str, value: float) -> float:
    """Return ``value`` if it is finite and above zero, else raise `InputError`."""
    if finite(key, value) <= 0.0:
        raise InputError(key, value, "a number above 0")
    return float(value)


def non_negative(key: str, value: float) -> float:
    """Return ``value`` if it is finite and not below zero, else raise `InputError`."""
    if finite(key, value) < 0.0:
        raise InputError(key, value, "a number of 0 or more")
    return float(value)


def at_least(key: str, value: float, low: float, unit: str = "") -> float:
    """Return ``value`` if it is finite and not below ``low``, else raise `InputError`."""
    if finite(key, value) < low:
        raise InputError(key, value, f"at least {low:g} {unit}".rstrip())
    return float(value)


def between(key: str, value: float, low: float, high: float, unit: str = "") -> float:
    """Return ``value`` if ``low`` <= value <= ``high``, else raise `InputError`."""
    if not low <= finite(key, value) <= high:
        raise InputError(key, value, f"a value from {low:g} to {high:g} {unit}".rstrip())
    return float(value)


def whole(key: str, value: int, low: int, high: int, allowed: str) -> int:
    """Return ``value`` if it is whole and from ``low`` to ``high``, else raise `InputError`."""
    if isinstance(value, bool) or not isinstance(value, Integral) or not low <= value <= high:
        raise InputError(key, value, allowed)
    return int(value)


def count(key: str, value: int) -> int:
    """Return a whole number of 0 or more; raise `InputError` for anything else."""
    return whole(key, value, 0, 2**53, "a whole number of 0 or more")


def one_of(key: str, value: str, allowed: tuple[str, ...]) -> str:
    """Return ``value`` if it is one of ``allowed``, else raise `InputError`."""
    if value not in allowed:
        raise InputError(key, repr(value), "one of " + ", ".join(allowed))
    return value


def wire_heights(key: str, heights_mm: tuple[float, ...]) -> None:
    """Raise `InputError` unless there is a wire, each above the mat and above the one before."""
    if not heights_mm:
        raise InputError(key, "no wire", "at least one wire")
    for i, height in enumerate(heights_mm):
        positive(f"{key}[{i}]", height)
    if any(b <= a for a, b in pairwise(heights_mm)):
        raise InputError(key, list(heights_mm), "heights rising from the mat")
