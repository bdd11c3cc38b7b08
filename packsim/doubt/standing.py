"""How sure a verdict is and what turns it alone: worked out once, and kept on disk.

What a finding says of doubt is what `packsim doubt` says: `packsim.doubt.confidence`, same seed.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import time
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from packsim.answers.answer_inputs import InputAnswers
from packsim.doubt.action import Action
from packsim.doubt.confidence import Confidence, confidence, moves_wanted, rng_of
from packsim.doubt.measuring import ACTIONS
from packsim.doubt.tornado import alone, bounded_index
from packsim.errors import InputError
from packsim.kept import cache_folder, program_digest
from packsim.line import Scenario
from packsim.line.input_range import InputRange
from packsim.write import write_bytes

_ROOMS: Final = ("answers", "doubt", "line", "pack", "spray", "tipping", "width", "nozzles")
_MOST_FILES: Final = 4000  # of a few hundred bytes; the oldest go


@dataclass(frozen=True, slots=True)
class Standing:
    """How sure the verdict of one stage and size is, and what to measure for it.

    Parameters
    ----------
    sure : Confidence
        As `packsim.doubt.doubt` has it.
    first : str
        Name of the action that settles what by itself turns the verdict, or what the guides want;
        of several inputs the one that swings the tip index most. Empty where none does.
    """

    sure: Confidence
    first: str

    @property
    def action(self) -> Action | None:
        """The action of that name."""
        return next((one for one in ACTIONS if one.name == self.first), None)


def standing(scenario: Scenario, stage: str, size: str) -> Standing | None:
    """Return how sure a verdict is; None for a line that was not read from a file."""
    ranges = tuple(scenario.ranges)
    return _standing(scenario, ranges, stage, size) if ranges else None


@lru_cache(maxsize=256)
def _standing(
    scenario: Scenario, ranges: tuple[InputRange, ...], stage: str, size: str
) -> Standing:
    near = InputAnswers(scenario, stage, size)
    rng = rng_of(scenario, stage, size, scenario.seed)
    folder = cache_folder()
    if folder is None:
        return _worked_out(near, rng)
    # what it depends on and no more: another stage set anew leaves this one as it was
    here = scenario.stage(stage), scenario.size(size), scenario.mat, scenario.factor
    told = repr((here, near.inputs, rng.bit_generator.state, program_digest(*_ROOMS)))
    place = folder / "standing" / f"{hashlib.sha256(told.encode()).hexdigest()}.json"
    kept = _read(place)
    if kept is None:
        kept = _worked_out(near, rng)
        with contextlib.suppress(OSError, InputError):  # a full disk must not stop an answer
            _write(place, kept)
    return kept


def _worked_out(near: InputAnswers, rng: np.random.Generator) -> Standing:
    return Standing(confidence(near, rng), _turning(near))


def _turning(near: InputAnswers) -> str:
    """Return the action for what alone turns the verdict or the move, at either end."""
    inputs = near.inputs
    ends = [np.arange(len(i.choices)) if i.choices else np.array([i.low, i.high]) for i in inputs]
    found = alone(near, inputs, [np.asarray(each, dtype=np.float64) for each in ends])
    told = np.char.add(found.verdict, moves_wanted(found))
    index = bounded_index(found)
    turning, start = [], 0
    for one, values in zip(inputs, ends, strict=True):
        here = slice(start, start + len(values))
        start += len(values)
        if (told[here] != told[-1]).any():
            turning.append((np.ptp([*index[here], index[-1]]), one.key))
    turning.sort(key=lambda pair: -pair[0])
    names = (one.name for _, key in turning for one in ACTIONS if one.settled(key))
    return next(names, "")


def _read(place: Path) -> Standing | None:
    """Return what is kept at a place; None where nothing is, or nothing that can be read."""
    try:
        told = json.loads(place.read_text(encoding="utf-8"))
        sure: dict[str, Any] = {
            name: tuple(v) if isinstance(v, list) else v for name, v in told["sure"].items()
        }
        return Standing(Confidence(**sure), told["first"])
    except (OSError, ValueError, TypeError, KeyError):
        return None


def _write(place: Path, what: Standing) -> None:
    place.parent.mkdir(exist_ok=True)
    write_bytes(place, json.dumps(asdict(what)).encode(), replace=True)
    written = {one: one.stat().st_mtime for one in place.parent.glob("*.json")}
    now = max(time.time(), written[place])
    # what seems to come from the future was written before a clock was set back: the oldest
    kept = sorted(written, key=lambda one: -1.0 if written[one] > now else written[one])
    for old in kept[:-_MOST_FILES]:
        old.unlink(missing_ok=True)
