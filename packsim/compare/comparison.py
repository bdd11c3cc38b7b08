"""A comparison of lines, as data: what differs in the machine, in answers and tips, how surely."""

from __future__ import annotations

from dataclasses import dataclass

from packsim.answers import Answer
from packsim.chance import LineChance, StageChance
from packsim.compare.differing import Differing
from packsim.errors import Assumption, InputError
from packsim.line import Scenario


@dataclass(frozen=True, slots=True)
class Change:
    """By how much one quantity of a line differs from that of the first line.

    Parameters
    ----------
    key : str
        One of `packsim.compare.compare.SHOWN`, or ``tips_per_million``.
    by : float
        The difference, above 0 where there is more than in the first line.
    interval : tuple of float or None
        Its 95 % interval, all unknown inputs drawn at once, the same draw of an unknown for both
        lines; None where its doubt is not worked out.
    ratio, ratio_interval : float or None, tuple of float or None
        Of tips: the rate over that of the first line, and its interval among the draws in which
        the first has any; None where it has none, or in most draws none.
    """

    key: str
    by: float
    interval: tuple[float, float] | None = None
    ratio: float | None = None
    ratio_interval: tuple[float, float] | None = None

    @property
    def settled(self) -> bool | None:
        """Whether 0 lies outside of the interval: the doubt leaves the sign as it is."""
        if self.interval is None:
            return None
        return self.interval[0] > 0.0 or self.interval[1] < 0.0


@dataclass(frozen=True, slots=True)
class ComparedStage:
    """One stage with one size in every line.

    Parameters
    ----------
    stage, size : str
        Names of both.
    answers : tuple of Answer
        The answer of each line.
    chances : tuple of StageChance
        The chance of a tip in it in each line.
    changes : tuple of tuple of Change
        For each line after the first, what differs from the first.
    """

    stage: str
    size: str
    answers: tuple[Answer, ...]
    chances: tuple[StageChance, ...]
    changes: tuple[tuple[Change, ...], ...]


@dataclass(frozen=True, slots=True)
class ComparedSize:
    """One size in every line.

    Parameters
    ----------
    size : str
        Its name.
    chances : tuple of LineChance
        The chance of a tip in each line, all its stages.
    changes : tuple of Change
        For each line after the first, by how much the tips of the whole line differ.
    stages : tuple of ComparedStage
        Stage by stage, those that all lines have.
    """

    size: str
    chances: tuple[LineChance, ...]
    changes: tuple[Change, ...]
    stages: tuple[ComparedStage, ...]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A size or a stage that cannot be compared, because not every line has it.

    Parameters
    ----------
    what : {"size", "stage"}
        Which of the two.
    name : str
        Its name.
    lines : tuple of str
        Names of the lines that have it.
    """

    what: str
    name: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Lines side by side; the first is the one the others are compared with.

    Parameters
    ----------
    names : tuple of str
        What each line is called.
    lines : tuple of Scenario
        The lines.
    seed : int
        Seed of what was drawn.
    machine : tuple of Differing
        What differs in the machine.
    sizes : tuple of ComparedSize
        Each size that was asked for and that all lines have.
    left_out : tuple of LeftOut
        Sizes and stages that only some lines have.
    """

    names: tuple[str, ...]
    lines: tuple[Scenario, ...]
    seed: int
    machine: tuple[Differing, ...]
    sizes: tuple[ComparedSize, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def assumed(self) -> tuple[Assumption, ...]:
        """Everything any answer rests on without a measurement, each once."""
        answers = [a for size in self.sizes for stage in size.stages for a in stage.answers]
        return tuple(dict.fromkeys(one for answer in answers for one in answer.assumed))

    def size(self, name: str) -> ComparedSize:
        """Return one size; raise `InputError` if it is not compared."""
        for one in self.sizes:
            if one.size == name:
                return one
        raise InputError("size", repr(name), "one of " + ", ".join(s.size for s in self.sizes))
