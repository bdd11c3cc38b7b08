"""What was counted, under which line: it outlives undo, a second pack and a change of size.

A step is counted once, when it is made: looking at it again counts nothing. Runs that began at one
time on one line begin alike, as they share the seed: of those only the longest counts for a line.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from packsim.arrays import Floats, Ints
from viewer.line import LoadedLine

SAMPLE_S = 0.5
"""Tips and slack are noted this often [s]."""

MERGED_S = 1.0
"""Changes that follow one another so closely are marked as one, such as those of a drag [s]."""


@dataclass
class Count:
    """Tips of every stage, shape (k,), and cans that came in, under one line in one run."""

    tips: Ints
    cans: int = 0


@dataclass(frozen=True, slots=True)
class Sample:
    """What was seen at a time [s]: tips since the beginning and slack by stage, shape (k,) [mm]."""

    time_s: float
    tips: Ints
    slack_mm: Floats


@dataclass(frozen=True, slots=True)
class Mark:
    """A change of the line at a time [s]."""

    time_s: float
    before: LoadedLine
    after: LoadedLine


@dataclass
class Run:
    """One passage from where it began: counts by line, samples and changes in order of time."""

    first: tuple[float, LoadedLine]
    counts: list[tuple[LoadedLine, Count]] = field(default_factory=list)
    samples: list[Sample] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)

    def count_of(self, line: LoadedLine) -> Count:
        """Return the count under a line, a new one where there is none yet."""
        for other, count in self.counts:
            if other == line:
                return count
        self.counts.append((line, Count(np.zeros(len(line.scenario.stages), dtype=np.int64))))
        return self.counts[-1][1]

    def note(self, time_s: float, tips: Ints, slack_mm: Floats) -> None:
        """Note what is seen, now and then."""
        if not self.samples or time_s >= self.samples[-1].time_s + SAMPLE_S - 1e-9:
            self.samples.append(Sample(time_s, tips, slack_mm))

    def change(self, time_s: float, before: LoadedLine, after: LoadedLine) -> None:
        """Mark a change; what had been seen after that time, before going back to it, is dropped.

        What was counted then stays: those cans did pass.
        """
        self.samples = [sample for sample in self.samples if sample.time_s <= time_s]
        self.marks = [mark for mark in self.marks if mark.time_s <= time_s]
        if self.marks and time_s - self.marks[-1].time_s < MERGED_S:
            before = self.marks.pop().before
        if before != after:
            self.marks.append(Mark(time_s, before, after))


class Counted:
    """Everything counted in a session, run by run."""

    def __init__(self) -> None:
        self.runs: list[Run] = []

    def begin(self, time_s: float, first: LoadedLine) -> Run:
        """Begin to count a passage that starts at a time [s] on a line."""
        self.runs.append(Run((time_s, first)))
        return self.runs[-1]

    def lines(self) -> list[LoadedLine]:
        """Return every line under which a can came in, in the order they were first seen."""
        found: list[LoadedLine] = []
        for run in self.runs:
            found += [line for line, count in run.counts if count.cans and line not in found]
        return found

    def under(self, line: LoadedLine) -> tuple[Count, int]:
        """Return what was counted under a line, and in how many runs that did not begin alike."""
        best: list[tuple[tuple[float, LoadedLine], Count]] = []
        for run in self.runs:
            for count in (count for other, count in run.counts if other == line and count.cans):
                alike = next((i for i, (first, _) in enumerate(best) if first == run.first), None)
                if alike is None:
                    best.append((run.first, count))
                elif best[alike][1].cans < count.cans:
                    best[alike] = run.first, count
        total = Count(np.zeros(len(line.scenario.stages), dtype=np.int64))
        for _, count in best:
            total = Count(total.tips + count.tips, total.cans + count.cans)
        return total, len(best)


def other_guides_only(one: LoadedLine, other: LoadedLine) -> bool:
    """Whether two lines differ at most in where their guides stand."""
    if one.size != other.size or one.scenario.mat != other.scenario.mat:
        return False
    pairs = zip(one.scenario.stages, other.scenario.stages, strict=False)
    return len(one.scenario.stages) == len(other.scenario.stages) and all(
        replace(a, guides=replace(a.guides, brackets=b.guides.brackets)) == b for a, b in pairs
    )
