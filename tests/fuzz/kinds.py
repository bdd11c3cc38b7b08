"""The kinds of cases: each makes the files of one case in the folder one is in."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from typer.main import get_command

from packsim.cli.commands import app
from tests.fuzz import other_files, photographs, texts
from tests.fuzz.case import FITTED, SCENARIOS, SHIPPED, Case, asked_of, chance, pick
from tests.fuzz.from_schema import data_of
from tests.fuzz.values import NUMBERS, TEXTS, quantity, written

Rng = np.random.Generator
_SMALL = ("first_look", "oven_lane", "height_only", "teaching_line")
FIRST_LOOK = SCENARIOS / "first_look.toml"


def _shipped(rng: Rng) -> tuple[str, dict[str, Any], bool]:
    place = pick(rng, SHIPPED)
    text = place.read_text(encoding="utf-8")
    return text, tomllib.loads(text), place.stem in _SMALL[:1] or place.stem in _SMALL[3:]


def spoilt(rng: Rng) -> Case:
    """A shipped file with some lines spoilt, asked as it would be if it were right."""
    text, data, small = _shipped(rng)
    text = texts.lines_spoilt(rng, text)
    file = texts.put(rng, text.encode(errors="replace"), ending=".toml", odd=False)
    return Case(asked_of(rng, file, data, small=small))


def scrappy(rng: Rng) -> Case:
    """A shipped file with scraps in it."""
    text, data, small = _shipped(rng)
    raw = texts.scraps(rng, text).encode(errors="surrogatepass")
    return Case(asked_of(rng, texts.put(rng, raw, ending=".toml", odd=False), data, small=small))


def strange(rng: Rng) -> Case:
    """A shipped file in another encoding, torn, or not a plain file at all."""
    text, data, small = _shipped(rng)
    raw = texts.as_bytes(rng, text) if chance(rng, 0.6) else text.encode()
    return Case(asked_of(rng, texts.put(rng, raw, ending=".toml", odd=True), data, small=small))


def huge(rng: Rng) -> Case:
    """A file of far too much."""
    text, data, small = _shipped(rng)
    raw = texts.many(rng, text).encode()
    return Case(asked_of(rng, texts.put(rng, raw, ending=".toml", odd=False), data, small=small))


def from_schema(rng: Rng) -> Case:
    """A file made from the published schema."""
    data = data_of(rng, pick(rng, [0.0, 0.01, 0.05, 0.3]))
    rows = [f"{key} = {written(one)}" for key, one in data.items()]
    file = texts.put(rng, "\n".join(rows).encode(), ending=".toml", odd=False)
    return Case(asked_of(rng, file, data, small=True))


PLANTED = {
    "mat.width": ('width = "700 mm"', 'width = "700 furlong"'),
    "mat.speed": ('speed = "6 m/min"', 'speed = "-6 m/min"'),
    "sizes[0].catalogue": ('"us_12oz_std"', '"no such can"'),
    "guides.tension": ('tension = "600 N"', 'tension = "nan N"'),
    "guides.wire_heights[1]": ('"65 mm"', '"65 mm ± 900 mm"'),
    "stages[0].duty": ('duty = "flood"', 'duty = "wipe"'),
    "stages[0].length": ('length = "3 m"', 'length = "0 m"'),
    "stages[0].temperature": ('temperature = "60 degC"', 'temperature = "60 bar"'),
    "stages[0].clear_width": ('"588 mm"', '"588, 589 furlong"'),
    "stages[0].roughness": ('duty = "flood"', 'roughness = 1\nduty = "flood"'),
    "name": ('name = "First look"', "name = 5"),
}
"""What is put wrong in the smallest scenario, by the key that must then be named."""


def planted(rng: Rng) -> Case:
    """A file with some known faults: all of them are to be named at once."""
    text = FIRST_LOOK.read_text(encoding="utf-8")
    keys = rng.choice(sorted(PLANTED), size=int(rng.integers(1, 7)), replace=False).tolist()
    if {"stages[0].duty", "stages[0].roughness"} <= set(keys):
        keys.remove("stages[0].roughness")
    for key in keys:
        assert PLANTED[key][0] in text, key
        text = text.replace(*PLANTED[key], 1)
    file = texts.put(rng, text.encode(), ending=".toml", odd=False)
    return Case(("packsim", "study", file), keys=tuple(keys), refused=True)


def fitted(rng: Rng) -> Case:
    """A spoilt file of fitted kicks."""
    text = texts.lines_spoilt(rng, FITTED) if chance(rng, 0.7) else texts.scraps(rng, FITTED)
    raw = text.encode(errors="surrogatepass")
    if chance(rng, 0.2):
        raw = texts.as_bytes(rng, FITTED)
    file = texts.put(rng, raw, ending=".toml", odd=chance(rng, 0.2))
    if chance(rng, 0.2):
        return Case(("packsim", "renew", file, "-o", "new.toml"))
    if chance(rng, 0.3):
        line = FIRST_LOOK.read_text(encoding="utf-8")
        Path("line.toml").write_text(f"include = {written(file)}\n{line}", encoding="utf-8")
        return Case(("packsim", "study", "line.toml"))
    return Case(("packsim", "study", str(FIRST_LOOK), "--fitted", file))


_RIGHT = {"stage": "wash", "size": "211 body", "to": "211 body", "over": "clear-width",
          "lowest": "580 mm", "highest": "600 mm", "output": "new.svg", "guides": "window",
          "mat_mass": "0.6 kg/m^2", "mat_specific_heat": "500 J/(kg K)", "file": "new.toml",
          "scenario": str(FIRST_LOOK), "steps": "3", "example": "first_look",
          "pitch": "57 mm", "side": "above", "tolerance": "1 mm", "wander": "3 mm"}  # fmt: skip
_SLOW = {"run": "--seed", "fit": "--confidence", "plan": "--power", "proposal": "--logo"}
"""Commands that follow every can are never asked rightly: one option is always wrong."""

_LONG = ("--chance", "--count", "--kick", "--what-if")
"""Options that ask for minutes of work."""


@cache
def _commands() -> tuple[tuple[tuple[str, ...], Any], ...]:
    """Every command as typer holds it, by its words."""
    found: list[tuple[tuple[str, ...], Any]] = []
    left: list[tuple[tuple[str, ...], Any]] = [((), get_command(app))]
    while left:
        words, command = left.pop()
        inner = getattr(command, "commands", {})
        left += [((*words, name), one) for name, one in inner.items()]
        found.append((words, command))
    return tuple(sorted(found, key=lambda one: one[0]))


def options(rng: Rng) -> Case:
    """A command with options nobody should give it, on a file that is right."""
    words, command = pick(rng, _commands())
    wild = pick(rng, [0.1, 0.3, 0.8])
    found = ["packsim", *words]
    for param in command.params:
        needed = param.required or param.param_type_name == "argument"
        if (needed and chance(rng, 0.05)) or (not needed and not chance(rng, 0.15)):
            continue
        name = max(param.opts, key=len)
        if name in _LONG or (param.is_eager and chance(rng, 0.9)):
            continue
        right = _RIGHT.get(param.name, "new.csv" if "FILE" in (param.metavar or "") else "2")
        odd = [
            quantity(rng),
            pick(rng, TEXTS),
            pick(rng, NUMBERS),
            "-",
            "out.svg",
            ".",
            "no/out.csv",
        ]
        text = pick(rng, odd) if chance(rng, wild) else right
        if param.param_type_name == "argument":
            found.append(text)
        elif getattr(param, "is_flag", False):
            found.append(name)
        else:
            found += [name, text]
    if words and words[-1] in _SLOW:
        found += [_SLOW[words[-1]], "wrong"]
    if chance(rng, 0.1):
        found.append(pick(rng, ["--no-such", "-x", "study", "--", "", "--help"]))
    return Case(tuple(word.replace("\x00", "") for word in found))


KINDS: dict[str, Callable[[Rng], Case]] = {
    "shipped file, lines spoilt": spoilt,
    "shipped file, scraps in it": scrappy,
    "strange bytes or no plain file": strange,
    "far too much": huge,
    "made from the schema": from_schema,
    "known faults, all named": planted,
    "fitted kicks": fitted,
    "options": options,
    "answers to new": other_files.new,
    "readings of a visit": other_files.measured,
    "trials, TOML and CSV": other_files.trial,
    "figures of a proposal": other_files.figures,
    "lesson": other_files.lesson,
    "record": other_files.record,
    "photograph": photographs.photograph,
}


def case_of(seed: int, number: int) -> tuple[str, Case]:
    """A case by its number: its kind, and what is run; its files are made in the folder one is in.

    The kinds come in turn, so that any piece of the numbers has its share of each.
    """
    name = list(KINDS)[number % len(KINDS)]
    return name, KINDS[name](np.random.default_rng([seed, number]))
