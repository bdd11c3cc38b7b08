"""What keys and words of schema 1 are called now: the only table of old names."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

__all__ = ["NEW_WORDS", "RENEW", "OldNames", "new_name", "new_path", "old_names"]


class OldNames(UserWarning):
    """A file with the names of schema 1 was read; the text says what its keys are called now."""


RENEW: Final = "`packsim renew FILE` writes the new names"

_PLACES: Final = {"station": "from_stage_start"}

_NEW: Final[dict[str, dict[str, str]]] = {
    "": {"factor": "safety_factor", "set_for": "guides_set_for"},
    "guides": {
        "anchored": "wire_ends_fixed",
        "setting_step": "smallest_bracket_step",
        "wear": "guide_wear_each_side",
        "travel_near": "bracket_min",
        "travel_far": "bracket_max",
    },
    "stages": {
        "layout": "rows",
        "state": "packing",
        "fill": "pack_fill",
        "dome_pool": "water_in_dome",
        "centre": "pack_centre_from_left",
        "pack_pressure": "side_load",
    },
    "settings": {"centre": "pack_centre_from_left"},
    "brackets": _PLACES,
    "kicks": {
        "step": "sideways_step_rms",
        "rate": "kicks_per_second",
        "drift": "drift_to_right",
    },
    "headers": {
        **_PLACES,
        "mat_distance": "nozzle_to_mat",
        "first": "first_nozzle",
        "flow": "rated_flow",
        "at_pressure": "rated_pressure",
        "twist": "fan_turn",
        "thin_angle": "fan_thickness_angle",
    },
    "scenes": {"layout": "rows", "fill": "pack_fill"},
    "trials": {"left": "tipped_left", "centre": "tipped_centre", "right": "tipped_right"},
}
"""New name by table and old name; in trials and lessons all tables are named as the outer one."""

NEW_WORDS: Final = {"rows": {"lengthwise": "along", "crosswise": "across"}}
"""New word by the new name of its key and the old word."""


def new_name(loc: Sequence[int | str]) -> str:
    """Return the new name of the last key of a place, or nothing where it kept its own.

    Examples
    --------
    >>> new_name(("stages", 2, "kicks", "rate")), new_name(("stages", 2, "length"))
    ('kicks_per_second', '')
    """
    return old_names(loc).get(str(loc[-1]), "")


def old_names(loc: Sequence[int | str]) -> dict[str, str]:
    """Return the new names by old ones of the table that a place lies in."""
    outer = [part for part in loc[:-1] if isinstance(part, str)]
    tables = [part for part in outer if part in _NEW]
    whole = [table for table in tables if table in {"trials", "scenes"}]
    table = (whole or tables[-1:] or [""])[0]
    return {} if outer and not table else dict(_NEW[table])


def new_path(path: str) -> str:
    """Return a key path, such as an entry of [[assumed]] names, with new names throughout.

    Examples
    --------
    >>> new_path("stages[0].kicks.rate"), new_path("factor"), new_path("sizes[body].mass")
    ('stages[0].kicks.kicks_per_second', 'safety_factor', 'sizes[body].mass')
    """
    parts = [part for part in re.split(r"\.|\[\d+\]", path) if part]
    new = new_name(parts) if parts else ""
    return path[: len(path) - len(parts[-1])] + new if new else path
