"""Results of every command as plain data, ready for JSON: schema 2.

Fields go out under their own names, angles in degrees, numbers in 10 digits, those that are not
finite as null; `json_names` lists what differs. An answer goes out as the quantities of
`packsim.answers.quantities`.
"""

import dataclasses
import datetime as dt
import math
import re
from collections.abc import Iterable, Mapping
from operator import attrgetter
from typing import Any, Final

import numpy as np

from packsim.answers import Answer
from packsim.answers.quantities import plain_quantities
from packsim.can import Can
from packsim.errors import Assumption
from packsim.line import Scenario, Stage
from packsim.report.files.json_names import ALSO, FROM_ONE, IN_FULL, LEFT_OUT, PICKED, RENAMED

SCHEMA: Final = 2
"""Version of the keys, on top of every JSON."""

DIGITS: Final = 10
"""Significant digits of a number: enough for a micrometre on a kilometre of mat.

Sums and sines of other versions of numpy, scipy and the compiler differ in the 13th digit at worst
(`python -m tests.versions`). Of 10 digits they leave all the same.
"""


def entries(owner: type) -> dict[str, tuple[str, ...]]:
    """Return what is written of a class, fields first: the keys of each field or property.

    One key, or several for a tuple; without a key its own keys stand among those of its owner. A
    dotted name is that of a part.
    """
    left = ("scenario", *LEFT_OUT.get(owner.__name__, ()))
    renamed = RENAMED.get(owner.__name__, {})
    names = [f.name for f in dataclasses.fields(owner) if f.name not in left]
    picked = {name: PICKED.get(f"{owner.__name__}.{name}") for name in names}
    names = [f"{n}.{part}" if part else n for n in names for part in picked[n] or ("",)]
    found = {}
    for name in (*names, *ALSO.get(owner.__name__, ())):
        keys = renamed.get(name, name.rpartition(".")[2])
        keys = (keys,) if isinstance(keys, str) else keys
        found[name] = tuple(re.sub("_rad$", "_deg", key) for key in keys if key)
    return found


def as_json(
    command: str,
    scenario: Scenario | None,
    result: object = None,
    assumed: Iterable[Assumption] | None = None,
    **parts: object,
) -> dict[str, Any]:
    """Return the result of a command as nested dicts and lists of plain values.

    Parameters
    ----------
    command : str
        Name of the command.
    scenario : Scenario or None
        The case; None for a command without one.
    result : dataclass, optional
        Its fields stand at the top.
    assumed : iterable of Assumption, optional
        What the result rests on; the result's own, or else all of the scenario's, when omitted.
    **parts
        More results, each under its name.

    Returns
    -------
    dict
        ``schema``, ``command``, ``scenario``, ``seed``, ``guides_set_for``, ``safety_factor``,
        then the result, then ``assumed``. Lengths in mm, angles in degrees, forces in N. None
        stands for a number that does not exist.
    """
    top: dict[str, Any] = {"schema": SCHEMA, "command": command}
    if scenario is not None:
        top |= {
            "scenario": scenario.name,
            "seed": scenario.seed,
            "guides_set_for": scenario.set_for,
            "safety_factor": plain(scenario.factor),
        }
    if result is not None:
        top |= _fields(result)
    top |= {name: plain(part) for name, part in parts.items()}
    if assumed is None:
        assumed = _assumed([result, *parts.values()])
    if assumed is None:
        assumed = () if scenario is None else scenario.assumed
    return top | {"assumed": plain(list(dict.fromkeys(assumed)))}


def _assumed(parts: Iterable[object]) -> list[Assumption] | None:
    """Return what results say they rest on; None where none says so."""
    each = [one for part in parts for one in (part if isinstance(part, tuple) else (part,))]
    told = [one.assumed for one in each if hasattr(one, "assumed")]
    found = [a for assumed in told for a in assumed if isinstance(a, Assumption)]
    return found if told else None


def plain(value: Any) -> Any:
    """Return a value as JSON holds it: None, truth, number, text, list or dict."""
    if isinstance(value, Answer):
        return {"stage": value.stage, "size": value.size} | plain(plain_quantities(value))
    if isinstance(value, (Scenario, Stage, Can)):
        return value.name
    if isinstance(value, (np.ndarray, np.generic)):
        return plain(value.tolist())
    if isinstance(value, float):
        shown = float(f"{value:.{DIGITS}g}")
        return shown if math.isfinite(shown) else None
    if isinstance(value, dt.date):
        return value.isoformat()
    if dataclasses.is_dataclass(value):
        return _fields(value)
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(one) for one in value]
    return value


def _fields(value: Any) -> dict[str, Any]:
    """Return what is written of a dataclass."""
    owner = type(value)
    found: dict[str, Any] = {}
    for name, keys in entries(owner).items():
        part, place = attrgetter(name)(value), (owner.__name__, name)
        if place in IN_FULL:
            found[name] = _in_full(part)
            continue
        told = plain(_in_degrees(name, part))
        if place in FROM_ONE:
            told = [one + 1 for one in told] if isinstance(told, list) else told + 1
        many = len(keys) > 1
        found |= zip(keys, told if many else [told], strict=True) if keys else told
    return found


def _in_full(part: Any) -> Any:
    if isinstance(part, tuple):
        return [_in_full(one) for one in part]
    return plain(part) | _fields(part)


def _in_degrees(name: str, value: Any) -> Any:
    if not name.endswith("_rad") or value is None:
        return value
    if dataclasses.is_dataclass(value) and not isinstance(value, type):  # an angle and its error
        parts = {one.name: getattr(value, one.name) for one in dataclasses.fields(value)}
        return dataclasses.replace(value, **{k: math.degrees(v) for k, v in parts.items()})
    degrees = np.degrees(value)
    # a bearing runs round once from travel, through the right; 360 as it is shown is 0
    return np.round(degrees, DIGITS - 3) % 360.0 if "direction" in name else degrees
