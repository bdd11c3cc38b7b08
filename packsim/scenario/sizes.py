"""From a size table to a `Can`: out of the catalogue, or of the user's own making."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from packsim.assumption import Assumption
from packsim.can import Can
from packsim.catalogue import can_size, custom_can
from packsim.errors import InputError
from packsim.scenario.tables import SizeTable

__all__ = ["CAN_FIELDS", "build_size"]

CAN_FIELDS: Final = {
    "diameter": "diameter_mm",
    "diameter_tol": "diameter_tol_mm",
    "height": "height_mm",
    "mass": "mass_kg",
    "cg_height": "cg_mm",
    "dome_depth": "dome_depth_mm",
    "dome_rim_radius": "dome_rim_radius_mm",
    "expansion": "expansion_per_K",
    "specific_heat": "specific_heat_J_per_kgK",
}
"""Keys of a size table and the fields of `Can` they fill."""


def build_size(table: SizeTable, index: int) -> Can:
    """Return one can size; complaints carry the key path from the file's top."""
    here = f"sizes[{index}]"
    given = {
        name: getattr(table, key)
        for key, name in CAN_FIELDS.items()
        if getattr(table, key) is not None
    }
    try:
        can = _can(table, given)
    except InputError as problem:
        raise _under(problem, here) from None
    carried = tuple(Assumption(entry.key, entry.value, entry.why) for entry in table.assumed)
    known = {entry.key for entry in carried}
    own = tuple(entry for entry in can.assumed if entry.key not in known)
    return replace(can, name=table.name, assumed=own + carried)


def _can(table: SizeTable, given: dict[str, float]) -> Can:
    if table.catalogue is not None:
        return can_size(table.catalogue, **given)
    for key in ("diameter", "height"):
        if getattr(table, key) is None:
            allowed = "a length, or a catalogue id under the key catalogue"
            raise InputError(key, "nothing", allowed)
    rest = {name: value for name, value in given.items() if name not in _FIRST}
    return custom_can(table.name, given["diameter_mm"], given["height_mm"], **rest)


_FIRST: Final = {"diameter_mm", "height_mm"}


def _under(problem: InputError, here: str) -> InputError:
    """Put a complaint of the can or the catalogue under the key as the file has it."""
    keys = {name: key for key, name in CAN_FIELDS.items()}
    key = keys.get(problem.key, problem.key)
    return InputError(
        f"{here}.{key if key in CAN_FIELDS else 'catalogue'}", problem.got, problem.allowed
    )
