"""A study in short: does a size fit, does it tip, set the guides to what, do what first.

The first screen of the terminal, the top of the page and the screen of the viewer show this.
"""

from __future__ import annotations

from dataclasses import dataclass

from packsim.answers import Answer
from packsim.findings import Finding, in_brief
from packsim.study.study import Study


@dataclass(frozen=True, slots=True)
class StageSummary:
    """One stage with one size.

    Parameters
    ----------
    answer : Answer
        What is found of it as set.
    set_to_mm : float or None
        Clear width to set; None where no width is safe [mm].
    """

    answer: Answer
    set_to_mm: float | None

    @property
    def move_mm(self) -> float | None:
        """How far to open the guides, negative to close them; 0 where they stay [mm]."""
        now = self.answer.pack.clear_width_mm
        return None if self.set_to_mm is None else self.set_to_mm - now

    @property
    def calls(self) -> bool:
        """Whether anything is to be done or looked at here."""
        return self.answer.tipping.verdict != "held" or self.move_mm != 0.0


@dataclass(frozen=True, slots=True)
class SizeSummary:
    """One size at all stages studied.

    Parameters
    ----------
    size : str
        Its name.
    level : {"stop", "change", "watch", "note"}
        The most urgent of its findings.
    stages : tuple of StageSummary
        In order along travel.
    steps : tuple of Finding
        What to do, in brief, most urgent first; notes are left out.
    """

    size: str
    level: str
    stages: tuple[StageSummary, ...]
    steps: tuple[Finding, ...]

    @property
    def calls(self) -> bool:
        """Whether guides are to be set at any stage."""
        return any(stage.move_mm != 0.0 for stage in self.stages)

    def stages_with(self, verdict: str) -> list[str]:
        """Return the names of the stages of a verdict, in order."""
        return [s.answer.stage for s in self.stages if s.answer.tipping.verdict == verdict]


def summarize(study: Study) -> tuple[SizeSummary, ...]:
    """Return a study in short, size by size in the order of its answers."""
    sizes = []
    for size in dict.fromkeys(answer.size for answer in study.answers):
        found = [one for one in study.findings if one.size == size]
        stages = tuple(stage_summary(answer) for answer in study.of_size(size))
        steps = in_brief(one for one in found if one.level != "note")
        sizes.append(SizeSummary(size, found[0].level, stages, steps))
    return tuple(sizes)


def stage_summary(answer: Answer) -> StageSummary:
    """Return one answer and what to set: guides inside their window stay."""
    window, now = answer.window, answer.pack.clear_width_mm
    if not answer.pack.fits or answer.tipping.balance_angle_rad <= 0.0:
        return StageSummary(answer, None)
    return StageSummary(answer, now if window.verdict(now) == "inside" else window.target_mm)
