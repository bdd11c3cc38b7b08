"""Reads plain values out of a TOML table, and says what is wrong with them."""

from __future__ import annotations

from typing import Any

from packsim.errors import InputError

__all__ = ["known", "number", "typed"]

_REQUIRED: Any = object()


def typed(row: dict[str, Any], key: str, kind: type, default: Any = _REQUIRED) -> Any:
    """Return the value of a key if it is of a kind; raise `InputError` otherwise."""
    if key not in row:
        if default is _REQUIRED:
            raise InputError(key, "nothing", f"a {kind.__name__}")
        return default
    value = row[key]
    if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
        raise InputError(key, repr(value), f"a {kind.__name__}")
    return value


def number(row: dict[str, Any], key: str, low: float, high: float, default: float) -> float:
    """Return the number of a key if it lies between two limits, ends included."""
    value = row.get(key, default)
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise InputError(key, repr(value), f"a number from {low:g} to {high:g}")
    return float(value)


def known(key: str, row: Any, allowed: set[str]) -> None:
    """Refuse a table that holds a key not allowed, or is none."""
    if not isinstance(row, dict):
        raise InputError(key, repr(row), "a table")
    for name in row:
        if name not in allowed:
            where = f"{key}.{name}" if key else name
            raise InputError(where, "an unknown key", "one of " + ", ".join(sorted(allowed)))
