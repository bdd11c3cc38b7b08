"""One complaint instead of a list: pydantic's findings as a single `InputError`."""

from __future__ import annotations

import difflib
import re
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from packsim.errors import InputError

__all__ = ["complaint", "key_path", "written"]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_LONGEST_SHOWN = 80
_SEARCHED = 50  # a file of a hundred thousand wrong keys is not worth comparing them all

_PLAIN = {
    "model_type": "a table",
    "model_attributes_type": "a table",
    "dict_type": "a table",
    "list_type": "a list, or tables written with [[ ]]",
    "bool_type": "true or false",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "int_parsing_size": "a whole number",
}


def complaint(problem: ValidationError, model: type[BaseModel], file: str) -> InputError:
    """Return the most telling finding as one error.

    Parameters
    ----------
    problem : ValidationError
        What pydantic found, in the order of the file's layout.
    model : type
        The model that was asked.
    file : str
        Name of the file.

    Returns
    -------
    InputError
        A key that is nearly right comes before what is then missing; otherwise the first
        finding. How many more there are is said at the end.
    """
    found: list[Any] = problem.errors(include_url=False)
    first = min(found[:_SEARCHED], key=lambda one: not _is_slip(one, model))
    got, allowed = _words(first, model)
    if len(found) > 1:
        allowed += f" (and {len(found) - 1} more)"
    return InputError(key_path(first["loc"]), got, allowed, file=file)


def key_path(loc: tuple[int | str, ...]) -> str:
    """Return a place as a person would write it, e.g. ``stages[0].kicks.energy``."""
    path = ""
    for part in loc:
        if isinstance(part, int):
            path += f"[{part}]"
        elif part != "[key]":
            path += "." * bool(path) + (part if _BARE.fullmatch(part) else written(repr(part)))
    return path


def written(raw: object) -> str:
    """Return a value as it was written, on one line and not too long."""
    if isinstance(raw, bool):
        return str(raw).lower()
    if isinstance(raw, dict):
        return "a table"
    if isinstance(raw, list):
        return f"a list of {len(raw)}"
    try:
        text = str(raw)
    except ValueError:  # Python refuses to print whole numbers of thousands of digits
        return "a whole number of thousands of digits"
    if not text.strip() or not text.isprintable():
        text = ascii(text)
    return text if len(text) <= _LONGEST_SHOWN else text[:_LONGEST_SHOWN] + "..."


def _is_slip(one: Any, model: type[BaseModel]) -> bool:
    return one["type"] == "extra_forbidden" and bool(_nearest(one["loc"], model))


def _words(one: Any, model: type[BaseModel]) -> tuple[str, str]:
    kind, context = one["type"], one.get("ctx", {})
    if kind == "extra_forbidden":
        near = _nearest(one["loc"], model)
        known = ", ".join(_fields_at(one["loc"][:-1], model))
        hint = f"the key {near}, or another of {known}" if near else f"one of the keys {known}"
        return "an unknown key", hint
    if kind == "missing":
        info = _fields_at(one["loc"][:-1], model).get(str(one["loc"][-1]))
        return "nothing", f"a value here ({info.description})" if info else "a value here"
    if kind == "refused":
        return written(one["input"]), context["allowed"]
    if kind in {"greater_than_equal", "less_than_equal", "less_than", "greater_than"}:
        return written(one["input"]), _range(one["loc"], model)
    if kind in {"too_short", "too_long"}:
        few = kind == "too_short"
        count = context["min_length" if few else "max_length"]
        return written(one["input"]), f"at {'least' if few else 'most'} {count} of them"
    return written(one["input"]), _PLAIN.get(kind, one["msg"])


def _range(loc: tuple[int | str, ...], model: type[BaseModel]) -> str:
    info = _fields_at(loc[:-1], model)[str(loc[-1])]
    limits: dict[str, int] = {}
    for rule in info.metadata:
        for name in ("ge", "le", "lt"):
            if hasattr(rule, name):
                limits[name] = getattr(rule, name)
    high = limits["le"] if "le" in limits else limits["lt"] - 1
    return f"a whole number from {limits['ge']} to {high}"


def _nearest(loc: tuple[int | str, ...], model: type[BaseModel]) -> str:
    known = _fields_at(loc[:-1], model)
    near = difflib.get_close_matches(str(loc[-1])[:60], known, n=1, cutoff=0.6)
    return near[0] if near else ""


def _fields_at(loc: tuple[int | str, ...], model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Return the keys of the table at a place, by walking the models down to it."""
    here = model
    for part in loc:  # what is no key of a table is a place in a list, or a free key
        info = _keys(here).get(str(part))
        here = here if info is None else _model_in(info.annotation) or here
    return _keys(here)


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """Return the model inside a list, a dictionary or an optional."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    inside = (_model_in(part) for part in get_args(annotation))
    return next((found for found in inside if found is not None), None)


def _keys(model: type[BaseModel]) -> dict[str, FieldInfo]:
    return {info.alias or name: info for name, info in model.model_fields.items()}
