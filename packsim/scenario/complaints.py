"""All that pydantic finds wrong with a file, each as an `InputError` in plain words."""

import difflib
import re
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from packsim.errors import InputError, one_line
from packsim.scenario.keys import Key, keys
from packsim.scenario.renew import RENEW, new_name, old_names
from packsim.scenario.values.fields import Length, kind_of
from packsim.scenario.values.quantities import Refused, read_quantity

UNKNOWN = "an unknown key"
OLD_NAME = "the name before schema 2"

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_LONGEST_SHOWN = 80
_MOST = 50  # a file of a hundred thousand wrong keys is not worth more

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


def complaints(problem: ValidationError, model: type[BaseModel]) -> list[InputError]:
    """Return the findings in plain words, at most `_MOST`, what is missing last.

    A key that only looks missing because it is written a little wrong is complained of once.
    """
    found: list[Any] = problem.errors(include_url=False)
    meant = {
        (*one["loc"][:-1], _nearest(one["loc"], model)) for one in found[:_MOST] if _extra(one)
    }
    kept = [one for one in found if one["type"] != "missing" or one["loc"] not in meant]
    kept.sort(key=lambda one: bool(one["type"] == "missing"))
    made = [InputError(key_path(one["loc"]), *_words(one, model)) for one in kept[:_MOST]]
    if len(kept) > _MOST:
        made.append(InputError("", f"{len(kept) - _MOST} more such places", "the same care"))
    return made


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
    text = one_line(raw, _LONGEST_SHOWN)
    return text if text.strip() else ascii(text)


def _extra(one: Any) -> bool:
    return bool(one["type"] == "extra_forbidden")


def _words(one: Any, model: type[BaseModel]) -> tuple[str, str]:
    """Return what was there and what is allowed."""
    kind, context, got = one["type"], one.get("ctx", {}), written(one["input"])
    if _extra(one):
        return _unknown(one["loc"], model)
    declared = declared_at(one["loc"], model)
    if kind == "missing":
        return "nothing", f"a value here ({declared.about})" if declared else "a value here"
    if kind == "refused":
        own = None if declared is None else declared.example
        refused = context["refused"]
        if own is None or refused is None:
            return got, context["allowed"]
        return got, refused.like(f'"{own}"' if isinstance(own, str) else f"{own:g}")
    if kind in {"greater_than_equal", "less_than_equal", "less_than", "greater_than"}:
        return got, _range(one["loc"], model)
    if kind in {"too_short", "too_long"}:
        few = kind == "too_short"
        count = context["min_length" if few else "max_length"]
        return got, f"at {'least' if few else 'most'} {count} of them"
    return got, _PLAIN.get(kind, one["msg"])


def _unknown(loc: tuple[int | str, ...], model: type[BaseModel]) -> tuple[str, str]:
    new = new_name(loc)
    if new:
        return OLD_NAME, f"the key {new}; {RENEW}"
    near, known = _nearest(loc, model), ", ".join(keys_at(loc[:-1], model))
    hint = f"the key {near}, or another of {known}" if near else f"one of the keys {known}"
    return UNKNOWN, hint


def _range(loc: tuple[int | str, ...], model: type[BaseModel]) -> str:
    rules = model_at(loc[:-1], model).model_fields[str(loc[-1])].metadata
    limits = {
        name: getattr(rule, name)
        for rule in rules
        for name in ("ge", "le", "lt")
        if hasattr(rule, name)
    }
    high = limits["le"] if "le" in limits else limits["lt"] - 1
    return f"a whole number from {limits['ge']} to {high}"


def _nearest(loc: tuple[int | str, ...], model: type[BaseModel]) -> str:
    names = old_names(loc) | {name: name for name in keys_at(loc[:-1], model)}
    near = difflib.get_close_matches(str(loc[-1])[:60], names, n=1, cutoff=0.6)
    return names[near[0]] if near else ""


def declared_at(loc: tuple[int | str, ...], model: type[BaseModel]) -> Key | None:
    """Return the key of a place as it was declared; None where there is none."""
    names = [part for part in loc if isinstance(part, str)]
    return keys_at(loc[: loc.index(names[-1])], model).get(names[-1]) if names else None


def keys_at(loc: tuple[int | str, ...], model: type[BaseModel]) -> dict[str, Key]:
    """Return the keys of the table at a place, by name."""
    return keys(model_at(loc, model))


def model_at(loc: tuple[int | str, ...], model: type[BaseModel]) -> type[BaseModel]:
    """Return the model of the table at a place, by walking the models down to it."""
    here = model
    for part in loc:  # what is no key of a table is a place in a list, or a free key
        info = here.model_fields.get(str(part))
        here = here if info is None else _model_in(info.annotation) or here
    return here


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """Return the model inside a list, a dictionary or an optional."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    inside = (_model_in(part) for part in get_args(annotation))
    return next((found for found in inside if found is not None), None)


class WrongUnit(InputError):
    """A length that cannot be, probably in another unit than was meant.

    ``likely`` says between what a likely length lies [mm], by key: this one's, or another's.
    """

    def __init__(
        self, key: str, got: str, allowed: str, likely: dict[str, tuple[float, float]]
    ) -> None:
        super().__init__(key, got, allowed)
        self.likely = likely


def did_you_mean(text: str, low_mm: float, high_mm: float) -> str:
    """Return a question naming the same number in the unit that makes it likely, or nothing.

    Examples
    --------
    >>> did_you_mean("5.35 in", 1390.0, 2500.0)
    '5.35 in: did you mean 5.35 ft?'
    >>> did_you_mean("700 mm", 500.0, 900.0), did_you_mean("7 mm", 500.0, 900.0)
    ('', '')
    """
    found = re.fullmatch(r"([\d./ ]*\d) *(mm|in|ft|m|)", text)
    if found is None:
        return ""
    for unit in (found[2] or "mm", "mm", "in", "ft", "m"):
        try:
            length_mm = read_quantity(f"{found[1]} {unit}", kind_of(Length))
        except Refused:
            continue
        if low_mm <= length_mm <= high_mm:
            meant = f"{found[1]} {unit}"
            return "" if unit == (found[2] or "mm") else f"{text}: did you mean {meant}?"
    return ""
