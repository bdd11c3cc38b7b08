"""Schema 1: what its keys are called now, and a file rewritten so; comments stay."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from packsim.errors import InputError, InputErrors

SCHEMA: Final = 2
"""The layout of scenario, trial and lesson files."""


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
    "kicks": {"step": "sideways_step_rms", "rate": "kicks_per_second", "drift": "drift_to_right"},
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


@dataclass(slots=True)
class Renewed:
    """A file rewritten: its text, and new name by old one in the order met, words in quotes."""

    text: str = ""
    names: dict[str, str] = field(default_factory=dict)

    def note(self, file: str) -> str:
        """Return one line that names what is called otherwise now."""
        said = ", ".join(f"{old} is now {new}" for old, new in self.names.items())
        return f"{file}: schema 1 was read; {said or 'no name has changed'}. {RENEW}."


def renewed(text: str, file: str) -> Renewed:
    """Rewrite TOML of schema 1, or with names of it left over, with the names of schema 2.

    Values, comments, blank lines and the order of keys stay. Raises `InputError` where an old name
    and the new one of the same key both stand in one table.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
    except TOMLKitError as problem:
        raise InputError("", str(problem), "TOML", file=file) from None
    found = Renewed()
    twice = list(_renew(document, (), found))
    if twice:
        raise InputErrors([problem.in_file(file) for problem in twice])
    found.text = tomlkit.dumps(document)
    return found


def _renew(table: Any, loc: tuple[int | str, ...], found: Renewed) -> Iterator[InputError]:
    """Give every key of a table its new name, and yield what has both names."""
    from tomlkit.items import AoT, Array, InlineTable, SingleKey, Table

    body = table.value.body if isinstance(table, Table | InlineTable) else table.body
    names = {key.key for key, _ in body if key is not None}
    for i, (key, item) in enumerate(body):
        if key is None:
            continue
        here = (*loc, key.key)
        new = new_name(here)
        if new in names:
            path = ".".join(str(part) for part in here)
            yield InputError(
                path, f"both {key.key} and {new}", f"one of them; {new} is the new name"
            )
        if new:
            found.names[key.key] = new
            _keep_column(item, len(new) - len(key.key))
            space = " " * (len(key.as_string()) - len(key.as_string().rstrip()))
            body[i] = (SingleKey(new, sep=key.sep, original=new + space), item)
        inner = item.body if isinstance(item, AoT) else item if isinstance(item, Array) else [item]
        for part in inner:
            if isinstance(part, Table | InlineTable):
                yield from _renew(part, here, found)
        body[i] = (body[i][0], _value(item, here, new or key.key, found))


def _keep_column(item: Any, longer: int) -> None:
    """Leave the comment behind a value in its column, as far as there is room."""
    trivia = item.trivia
    if trivia.comment and set(trivia.comment_ws) == {" "}:
        trivia.comment_ws = " " * max(1, len(trivia.comment_ws) - longer)


def _value(item: Any, loc: tuple[int | str, ...], name: str, found: Renewed) -> Any:
    """Return the new word of a choice, path of an assumption or number of the schema."""
    import tomlkit
    from tomlkit.items import Integer, String

    new: Any = None
    if isinstance(item, Integer) and loc == ("schema",) and item == 1:
        new = tomlkit.integer(SCHEMA)
    elif isinstance(item, String) and str(item) in NEW_WORDS.get(name, {}):
        word = NEW_WORDS[name][str(item)]
        new, found.names[f'"{item}"'] = tomlkit.string(word), f'"{word}"'
    elif isinstance(item, String) and loc[-2:] == ("assumed", "key") and new_path(item) != item:
        new = tomlkit.string(new_path(str(item)))
    if new is None:
        return item
    longer = len(new.as_string()) - len(item.as_string())
    _keep_column(item, longer)
    for part in ("indent", "comment_ws", "comment", "trail"):
        setattr(new.trivia, part, getattr(item.trivia, part))
    return new
