"""One thing to tell the engineer: what is wrong, by how much, what to do, with which command.

A rule looks at one stage and says nothing or one thing. Stages of one size that get the same words
become one finding, in which each stage keeps its own numbers.
"""

import re
import shlex
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from packsim.answers import Answer, full_words
from packsim.errors import one_of, whole_percent

LEVELS: Final = ("stop", "change", "watch", "note")
"""``stop``: cans cannot run so. ``change``: before a run. ``watch``: keep an eye on it."""

Values = Mapping[str, float | str]
"""What stands in a text, by name: a length where the name ends in ``_mm`` [mm], a share of dome
water where it ends in ``_full``, any share where it ends in ``_share``, else a word."""

_OF_STAGES: Final = ("_mm", "_full", "_share")

WHY: Final = "packsim why FILE --stage {stage} --size {size}"
"""The command that shows the calculation behind a finding."""

CHANGE: Final = "packsim change FILE --to {size}"
"""The command that says what to move where."""

DESIGN: Final = "packsim nozzles design FILE"
"""The command that says where new headers are to be drilled."""

Length = Callable[[float], str]
"""Formats one length [mm] with its unit."""


def metric(mm: float) -> str:
    """Format a length [mm] with its unit."""
    return f"{mm:.1f} mm"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to tell, for one size and the stages it holds for.

    Parameters
    ----------
    level : {"stop", "change", "watch", "note"}
        How urgent it is.
    size : str
        Name of the can size.
    stages : tuple of str
        Names of the stages, in order; none when it holds for the whole line.
    what_text, do_text : str
        What is the case, and what to do; ``{name}`` stands for a value.
    command_text : str
        The command that tells more, or empty; ``{stage}`` and ``{size}`` stand for names.
    values : tuple of mapping
        The values of each stage, or one set for the whole line; see `Values`.
    brief_text : str
        The finding in a few words for a screen with little room; ``what_text`` when empty.
    """

    level: str
    size: str
    stages: tuple[str, ...]
    what_text: str
    do_text: str = ""
    command_text: str = ""
    values: tuple[Values, ...] = ({},)
    brief_text: str = ""

    def __post_init__(self) -> None:
        one_of("level", self.level, LEVELS)

    @property
    def what(self) -> str:
        """What is the case, lengths in mm."""
        return self.what_in()

    @property
    def do(self) -> str:
        """What to do about it, lengths in mm; may be empty."""
        return "; ".join(self.do_in())

    @property
    def command(self) -> str:
        """The command that tells more, with ``STAGE`` for each of several; may be empty."""
        stage = quoted(self.stages[0]) if len(self.stages) == 1 else "STAGE"
        return _filled(self.command_text, {"stage": stage, "size": quoted(self.size)})

    def what_in(self, length: Length = metric) -> str:
        """Say what is the case; a length that differs between stages as a range over them."""
        return _filled(self.what_text, _ranges(self.values, length))

    def do_in(self, length: Length = metric) -> tuple[str, ...]:
        """Say what to do, in one line for all stages that do the same, and the command last.

        Stages that differ only by how much is missing or to be reduced do the same: a range.
        """
        groups: dict[str, tuple[list[str], list[Values]]] = {}
        for stage, values in zip(self.stages or ("",), self.values, strict=True):
            amounts = dict.fromkeys(filter(_AMOUNT.fullmatch, values), "")
            key = _filled(self.do_text, _ranges((values,), length) | amounts)
            stages, rows = groups.setdefault(key, ([], []))
            stages.append(stage)
            rows.append(values)
        lines = []
        for stages, rows in groups.values():
            text = _filled(self.do_text, _ranges(rows, length))
            lines.append(text if len(groups) == 1 else f"{', '.join(stages)}: {text}")
        if self.command_text:
            each = len(self.stages) > 1 and "{stage}" in self.command_text
            lines.append(f"run{' for each stage' if each else ''}: {self.command}")
        return tuple(filter(None, lines))


_AMOUNT: Final = re.compile(r"missing_mm|(take|now)\d+_mm")
"""Names of lengths that nobody sets: how much is missing, or to be reduced."""


def tell(
    answer: Answer,
    level: str,
    what: str,
    do: str = "",
    command: str = "",
    brief: str = "",
    /,
    **values: float | str,
) -> Finding:
    """Return a finding about one answer; values whose names end in ``_mm`` are lengths [mm]."""
    return Finding(
        level=level,
        size=answer.size,
        stages=(answer.stage,),
        what_text=what,
        do_text=do,
        command_text=command,
        values=(values,),
        brief_text=brief,
    )


def water(answer: Answer) -> tuple[str, dict[str, float]]:
    """Say with which dome water an answer is the worst, and the share in those words.

    Nothing where it is known how full the domes are.
    """
    if answer.water.low == answer.water.high:
        return "", {}
    return " (worst with the domes {dome_full})", {"dome_full": answer.water.sprayed}


def joined(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Join findings of one wording, the most urgent first, else in the order given."""
    groups: dict[object, Finding] = {}
    for one in found:
        words = sorted((k, v) for k, v in one.values[0].items() if not k.endswith(_OF_STAGES))
        key = one.level, one.size, one.what_text, one.do_text, one.command_text, tuple(words)
        last = groups.get(key)
        if last is not None:
            one = replace(last, stages=last.stages + one.stages, values=last.values + one.values)
        groups[key] = one
    return tuple(sorted(groups.values(), key=lambda one: LEVELS.index(one.level)))


def in_brief(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings in a few words each; those with the same words become one."""
    brief = []
    for one in found:
        text = one.brief_text or one.what_text
        names = re.findall(r"{(\w+)}", text)
        values = tuple({name: row[name] for name in names} for row in one.values)
        brief.append(replace(one, what_text=text, do_text="", values=values))
    return joined(brief)


def _filled(text: str, words: Mapping[str, str]) -> str:
    filled = re.sub(r"{(\w+)}", lambda found: words[found[1]], text)
    four = r" to ".join([r"([\d.,]+) (mm|in)", *[r"([\d.,]+) \2\b"] * 3])  # a range of each end
    filled = re.sub(four, r"\1–\3 to \4–\5 \2", filled)
    return re.sub(r"(\d) (mm|in) to (?=[\d.]+ \2\b)", r"\1 to ", filled)


def _ranges(values: Iterable[Values], length: Length) -> dict[str, str]:
    """Return the words of every name; a length as a range where it differs between the stages."""
    rows = list(values)
    words = {}
    for name, first in rows[0].items():
        words[name] = str(first)
        if name.endswith("_mm"):
            of_stages = [float(row[name]) for row in rows]
            low, high = length(min(of_stages)), length(max(of_stages))
            words[name] = low if low == high else f"{low} to {high}"
        if name.endswith("_share"):
            shares = [float(row[name]) for row in rows]
            low, high = whole_percent(min(shares)), whole_percent(max(shares))
            words[name] = low if low == high else f"{low.removesuffix(' %')} to {high}"
        if name.endswith("_full"):
            full = [full_words(share) for share in sorted({float(row[name]) for row in rows})]
            words[name] = " or ".join(filter(None, (", ".join(full[:-1]), full[-1])))
    return words


def quoted(name: str) -> str:
    r"""Return a name as a shell takes it; a sign that acts on a terminal or a shell does nothing.

    Examples
    --------
    >>> quoted("wash"), quoted("DI rinse"), quoted("a$(b)")
    ('wash', '"DI rinse"', "'a$(b)'")
    """
    name = "".join(letter if letter.isprintable() else "?" for letter in name)
    if re.search(r'["$`!]', name):
        return shlex.quote(name)
    return f'"{name}"' if re.search(r"[^\w./-]", name) else name
