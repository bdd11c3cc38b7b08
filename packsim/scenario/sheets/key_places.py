"""From a key path as a person writes it to its place in a scenario file."""

import difflib
import re
from typing import Any, Final, get_args, get_origin

from packsim.errors import InputError
from packsim.scenario.complaints import declared_at, key_path, keys_at, model_at, written
from packsim.scenario.keys import Key
from packsim.scenario.sheets.in_place import Loc, value_at
from packsim.scenario.tables import ScenarioFile
from packsim.scenario.values.readers import Choice

_A_KEY: Final = "a key such as mat.speed"

_STEP: Final = re.compile(r"(?:^|\.)([A-Za-z_][\w-]*|\"[^\"]*\")|\[([^\[\]]+)\]")


def find_key(path: str, data: dict[str, Any]) -> Loc:
    """Return the place of an input in a file; rows of a list go by number or by name.

    Raises `InputError` with the nearest name where a key, a stage or a size is unknown, and where
    the key is none that can be measured.

    Examples
    --------
    >>> find_key("stages[wash].clear_width", {"stages": [{"name": "rinse"}, {"name": "wash"}]})
    ('stages', 1, 'clear_width')
    """
    steps = list(_STEP.finditer(path))
    if not path or "".join(step[0] for step in steps) != path:
        raise InputError("key", written(path) if path else "nothing", _A_KEY)
    loc: Loc = ()
    for step in steps:
        here = value_at(data, loc)
        name, row = (step[1] or "").strip('"'), step[2]
        loc += (_row_of(row, here, loc),) if row else (_key_of(name, here, loc),)
    one = declared(loc)
    wants_row = _lists(loc) and isinstance(loc[-1], str)
    if one is None or wants_row or not _measurable(one, loc):
        what = f"one of a list, such as {path}[0]" if wants_row else "a key that can be measured"
        raise InputError("key", path, what)
    return loc


def declared(loc: Loc) -> Any:
    """Return the key of a place as it was declared, or None."""
    return declared_at(loc, ScenarioFile)


def _row_of(row: str, here: Any, loc: Loc) -> int:
    """Return which row of a list is meant."""
    where = key_path(loc)
    if not isinstance(here, list):
        allowed = f"{where} without a row; the file has no list" if where else _A_KEY
        raise InputError("key", f"{where}[{row}]", allowed)
    if row.isdecimal() and len(row) < 10:
        if int(row) >= len(here):
            allowed = f"{where}[0] to [{len(here) - 1}]; the file has {len(here)} of them"
            raise InputError("key", f"{where}[{row}]", allowed)
        return int(row)
    names = [str(one.get("name", "")) if isinstance(one, dict) else "" for one in here]
    if row not in names:
        raise InputError("key", f"{where}[{row}]", _nearest(row, names))
    return names.index(row)


def _key_of(name: str, here: Any, loc: Loc) -> str:
    """Return a key of a table, or the name of a table among free ones."""
    known = list(keys_at(loc, ScenarioFile))
    free = [key for key, one in here.items() if isinstance(one, dict)] if type(here) is dict else []
    if name not in known and name not in free:
        raise InputError("key", f"an unknown key {key_path((*loc, name))}", _nearest(name, known))
    return name


def _nearest(name: str, known: list[str]) -> str:
    near = difflib.get_close_matches(name, known, n=1, cutoff=0.5)
    return (f"{near[0]}, or another of " if near else "one of ") + ", ".join(known)


def _lists(loc: Loc) -> bool:
    """Whether the key of a place holds a list of different things, such as the heights of wires."""
    names = [part for part in loc if isinstance(part, str)]
    info = model_at(loc[: loc.index(names[-1])], ScenarioFile).model_fields.get(names[-1])
    annotation = info.annotation if info is not None else None
    return any(get_origin(one) is list for one in (annotation, *get_args(annotation)))


def _measurable(one: Key, loc: Loc) -> bool:
    if one.kind is not None:
        return not one.kind.exact  # what is decided or counted is not measured
    return isinstance(one.reader, Choice) or is_truth(loc)


def is_truth(loc: Loc) -> bool:
    """Whether the key of a place takes true or false."""
    info = model_at(loc[:-1], ScenarioFile).model_fields.get(str(loc[-1]))
    return info is not None and bool in (info.annotation, *get_args(info.annotation))
