"""A study in short: does a size fit, does it tip, set the guides to what, do what first.

The first screen of the terminal, the top of the page and the screen of the viewer show this.
"""

from dataclasses import dataclass

from packsim.answers import Answer
from packsim.findings import Finding, in_brief
from packsim.setting import LineSetting, StageSetting, recommend
from packsim.study.study import Study


@dataclass(frozen=True, slots=True)
class StageSummary:
    """One stage with one size.

    Parameters
    ----------
    answer : Answer
        What is found of it as set.
    part : StageSetting
        What it is recommended to be set to.
    """

    answer: Answer
    part: StageSetting

    @property
    def move_mm(self) -> float:
        """How far to open the guides, negative to close them; 0 where they stay [mm]."""
        if self.part.move_mm == 0.0:
            return 0.0
        return self.part.clear_width_mm - self.answer.pack.clear_width_mm

    @property
    def calls(self) -> bool:
        """Whether anything is to be set or looked at here."""
        return self.answer.tipping.verdict != "held" or self.part.move_mm != 0.0


@dataclass(frozen=True, slots=True)
class SizeSummary:
    """One size at all stages studied.

    Parameters
    ----------
    setting : LineSetting
        What the line is recommended to be set to for it.
    level : {"stop", "change", "watch", "note"}
        The most urgent of its findings.
    stages : tuple of StageSummary
        In order along travel.
    steps : tuple of Finding
        What to do, in brief, most urgent first; notes are left out.
    """

    setting: LineSetting
    level: str
    stages: tuple[StageSummary, ...]
    steps: tuple[Finding, ...]

    @property
    def size(self) -> str:
        """Name of the size."""
        return self.setting.size

    @property
    def calls(self) -> bool:
        """Whether guides are to be set at any stage."""
        return any(stage.part.move_mm != 0.0 for stage in self.stages)

    def stages_with(self, verdict: str) -> list[str]:
        """Return the names of the stages of a verdict, in order."""
        return [s.answer.stage for s in self.stages if s.answer.tipping.verdict == verdict]


def summarize(study: Study) -> tuple[SizeSummary, ...]:
    """Return a study in short, size by size in the order of its answers."""
    sizes = []
    for size in dict.fromkeys(answer.size for answer in study.answers):
        found = [one for one in study.findings if one.size == size]
        setting = recommend(study.scenario, size)
        stages = tuple(
            StageSummary(answer, setting.of_stage(answer.stage)) for answer in study.of_size(size)
        )
        steps = in_brief(one for one in found if one.level != "note")
        sizes.append(SizeSummary(setting, found[0].level, stages, steps))
    return tuple(sizes)
