"""Comparisons a lesson file makes: which answer of a question is right, when a task is done.

Such as ``tipped_2 > tipped``, ``tips_first is edge``, ``widest_gap_mm_2 > 0.6 slack_mm_2``; several
with "and" between them.
"""

import itertools
import operator
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from packsim.errors import InputError
from packsim.report.words.display import Display
from viewer.lessons.numbers import RUN_NAMES, Number, Ran, both

_SIGNS: Final[Mapping[str, Callable[[Any, Any], bool]]] = {
    "<=": operator.le,
    ">=": operator.ge,
    "<": operator.lt,
    ">": operator.gt,
    "=": operator.eq,
    "!=": operator.ne,
}

_NUMBERS = re.compile(r"(\w+) *(<=|>=|!=|<|>|=) *(?:([0-9.]+) *)?([a-z]\w*)?")

_WORDS = re.compile(r"(\w+) is (not )?(.+)")

_SHOW = Display("metric")

ALLOWED = "comparisons such as tipped_2 > tipped, slack_mm < 8, verdict is held, joined by and"

_SMALL: Final = (0, 1, 2, 5, 40)
"""What a count may be when answers are tried before anything has run, besides what they name."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """A name compared with a number, a share of another name, or a word."""

    name: str
    sign: str
    factor: float
    other: str
    word: str = ""

    def holds(self, numbers: Mapping[str, Number]) -> bool:
        """Whether it holds; it does not where one of its numbers is missing."""
        mine = numbers.get(self.name, Number()).value
        if self.word:
            return (str(mine) == self.word) == (self.sign == "is")
        other: Any = numbers.get(self.other, Number()).value if self.other else 1.0
        if not isinstance(mine, int | float) or not isinstance(other, int | float):
            return False
        return _SIGNS[self.sign](mine, self.factor * other)


Claim = tuple[Comparison, ...]
"""Comparisons that all have to hold."""


def holds(claim: Claim, numbers: Mapping[str, Number]) -> bool:
    """Whether all of a claim holds."""
    return all(one.holds(numbers) for one in claim)


def read_claim(key: str, text: str, allowed: Sequence[str]) -> Claim:
    """Read comparisons; raise `InputError` where it is none, or names what is not ``allowed``."""
    return tuple(_comparison(key, part.strip(), allowed) for part in text.split(" and "))


def _comparison(key: str, text: str, allowed: Sequence[str]) -> Comparison:
    words, numbers = _WORDS.fullmatch(text), _NUMBERS.fullmatch(text)
    if words:
        found = Comparison(words[1], "is not" if words[2] else "is", 1.0, "", words[3])
    elif numbers and (numbers[3] or numbers[4]) and (numbers[3] or "1").count(".") < 2:
        found = Comparison(numbers[1], numbers[2], float(numbers[3] or 1.0), numbers[4] or "")
    else:
        raise InputError(key, text, ALLOWED)
    for name in filter(None, (found.name, found.other)):
        if name not in allowed:
            raise InputError(key, name, "one of " + ", ".join(allowed))
    return found


def right_of(claims: Sequence[Claim], numbers: Mapping[str, Number]) -> int | None:
    """Return which of some answers is right, from 0; None unless exactly one is."""
    right = [i for i, claim in enumerate(claims) if holds(claim, numbers)]
    return right[0] if len(right) == 1 else None


def check_answers(claims: Sequence[Claim], numbers: Mapping[str, Number]) -> None:
    """Raise `InputError` unless exactly one answer is right, whatever the run will give.

    What only a run gives is tried: small counts at each place, and what the answers name.
    """
    for tried in _tried(claims, numbers):
        right = [str(i + 1) for i, claim in enumerate(claims) if holds(claim, {**numbers, **tried})]
        if len(right) != 1:
            named = {one.name for claim in claims for one in claim}
            told = ", ".join(f"{n} = {tried[n].text}" for n in sorted(named) if n in tried)
            got = f"{' and '.join(right) or 'none'} right" + (f" where {told}" if told else "")
            raise InputError("choices", got, "exactly one that is right, whatever the run gives")


def _tried(claims: Sequence[Claim], numbers: Mapping[str, Number]) -> Iterator[dict[str, Number]]:
    """Yield what runs of one or two packs may give; once nothing where no answer names a run."""
    run = [one for claim in claims for one in claim if _of_run(one.name) or _of_run(one.other)]
    if not run:
        yield {}
        return
    beside = set()
    for one in run:
        known = numbers[one.other].value if one.other and not _of_run(one.other) else 1.0
        edge = one.factor * known if isinstance(known, int | float) else 0.0
        beside |= {max(0.0, edge - 1.0), edge, edge + 1.0}
    counts = [*_SMALL, *(int(value) for value in beside)]
    places = [(n, 0, 0) for n in counts] + [(0, n, 0) for n in counts] + [(1, 2, 0), (2, 1, 2)]
    gapped = any(name.startswith("widest_gap") for one in run for name in (one.name, one.other))
    each = [
        Ran(tipped, cans=1000, widest_gap_mm=gap).numbers(_SHOW)
        for tipped in dict.fromkeys(places)
        for gap in (sorted(beside) if gapped else [1.0])
    ]
    packs = 2 if any(name.endswith("_2") for name in numbers) else 1
    for runs in itertools.product(each, repeat=packs):
        yield both(runs)


def _of_run(name: str) -> bool:
    return name.removesuffix("_2") in RUN_NAMES
