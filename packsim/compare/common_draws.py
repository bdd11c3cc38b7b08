"""Inputs of several lines drawn at once: what is the same unknown in two lines is drawn once."""

from __future__ import annotations

import re
import warnings
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from packsim.answers.answer_inputs import InputAnswers
from packsim.arrays import Floats
from packsim.chance.keep import memory_in
from packsim.doubt.tornado import bounded_index
from packsim.kept import cache_folder, digest_of, program_digest
from packsim.line import Scenario

_ROOMS: Final = ("answers", "compare", "doubt", "line", "pack", "spray", "tipping", "width")
_NUMBERED = re.compile(r"^(stages|sizes)\.(\d+)(?=\.)")


def common_values(
    lines: Sequence[Scenario], seed: int, count: int
) -> tuple[dict[str, Floats], ...]:
    """Draw the inputs of some lines from their ranges.

    Parameters
    ----------
    lines : sequence of Scenario
        The lines; one that was not read from a file has no ranges, and none of its inputs is drawn.
    seed : int
        Decides every draw: each unknown has draws of its own, whatever else is asked.
    count : int
        How many draws.

    Returns
    -------
    tuple of dict
        For each line the values of its inputs by key, shape (count,), in the units inside.

    Notes
    -----
    An input of a stage or a size of the same name, taken as the same value in two lines, is one
    unknown: both get the same share of what is possible. What was changed was set anew, and is
    drawn for itself. Inputs are independent of each other, as `packsim.doubt` has them.
    """
    known: dict[tuple[str, float], str] = {}
    found = []
    for line in lines:
        values = {}
        for one in line.ranges:
            if one.exact:
                continue
            names = [(_named(line, place), one.value) for place in one.places]
            name = next((known[each] for each in names if each in known), repr(names[0]))
            known |= {each: known.get(each, name) for each in names}
            values[one.key] = one.at_shares(drawn(name, seed).random(count))
        found.append(values)
    return tuple(found)


def answers_drawn(
    line: Scenario, stage: str, size: str, values: Mapping[str, Floats], keys: Sequence[str]
) -> dict[str, Floats]:
    """Return some answers of a stage and size in every draw, kept on disk once worked out.

    Parameters
    ----------
    line : Scenario
        The line.
    stage, size : str
        Names of both.
    values : mapping of str to ndarray, shape (n,)
        Values of its inputs, from `common_values`.
    keys : sequence of str
        Fields of `packsim.answers.many_answers.ManyAnswers`; the tip index bounded as in doubts.

    Returns
    -------
    dict of ndarray, shape (n,)
        Empty for a line without ranges.
    """
    near = InputAnswers(line, stage, size)
    own = {one.key: values[one.key] for one in near.inputs}
    if not own:
        return {}
    folder = cache_folder()
    if folder is None:
        return _answers("", near, own, keys)
    here = line.stage(stage), line.size(size), line.mat, line.factor, [*own.items()], list(keys)
    told = digest_of((repr(near.inputs), *here), program_digest(*_ROOMS))
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", module="joblib")  # it tells of a full disk and goes on
        kept = memory_in(folder).cache(_answers, ignore=["near", "values", "keys"])
        found: dict[str, Floats] = kept(told, near, own, keys)
        return found


def _answers(
    told: str, near: InputAnswers, values: Mapping[str, Floats], keys: Sequence[str]
) -> dict[str, Floats]:
    many = near.answers(values)
    found = {"tip_index": bounded_index(many)}
    return {key: found.get(key, getattr(many, key)) for key in keys}


def drawn(name: str, seed: int) -> np.random.Generator:
    """Return the generator of one unknown by its name."""
    return np.random.default_rng([seed, int(digest_of(name)[:16], 16)])


def _named(line: Scenario, place: str) -> str:
    """Return a place with the name of its stage or size instead of a number."""

    def name(found: re.Match[str]) -> str:
        table = line.stages if found[1] == "stages" else line.sizes
        return f"{found[1]}.{table[int(found[2])].name!r}"

    return _NUMBERED.sub(name, place)
