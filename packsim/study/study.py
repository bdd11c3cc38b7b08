"""Answers every stage with every size of a scenario, and says it in short.

The first screen of the terminal, the top of the page and the screen of the viewer show the summary.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from packsim.answers import Answer, answer_stage
from packsim.errors import Assumption
from packsim.findings import in_brief
from packsim.findings.finding import Finding
from packsim.findings.rules import find_all
from packsim.findings.unsettled import VISIT
from packsim.line import Scenario
from packsim.setting import LineSetting, StageSetting, recommend


@dataclass(frozen=True, slots=True)
class Study:
    """Every answer about a scenario.

    Parameters
    ----------
    scenario : Scenario
        The case that was studied.
    answers : tuple of Answer
        One for each size and stage: all stages of the first size, then of the next.
    findings : tuple of Finding
        What is wrong, by how much, what to do; most urgent first.
    """

    scenario: Scenario
    answers: tuple[Answer, ...]
    findings: tuple[Finding, ...]

    @property
    def seed(self) -> int:
        """Seed of the scenario; nothing in a study is random."""
        return self.scenario.seed

    @property
    def assumed(self) -> tuple[Assumption, ...]:
        """Everything any answer rests on without a measurement, each once."""
        return tuple(dict.fromkeys(a for answer in self.answers for a in answer.assumed))

    @property
    def set_to(self) -> tuple[LineSetting, ...]:
        """The recommended setting of the line for every size answered."""
        return tuple(recommend(self.scenario, size) for size in self.sizes)

    @property
    def sizes(self) -> tuple[str, ...]:
        """The can sizes answered, in order."""
        return tuple(dict.fromkeys(answer.size for answer in self.answers))

    def of_size(self, size: str) -> tuple[Answer, ...]:
        """Return the answers of one size, in stage order."""
        return tuple(answer for answer in self.answers if answer.size == size)

    def answer(self, stage: str, size: str) -> Answer:
        """Return the answer of one stage and size; raise `InputError` if there is none."""
        name = self.scenario.stage(stage).name
        return next(s for s in self.of_size(self.scenario.size(size).name) if s.stage == name)


def study_line(
    scenario: Scenario,
    progress: Callable[[int, int], None] | None = None,
    *,
    stages: Sequence[str] = (),
    sizes: Sequence[str] = (),
) -> Study:
    """Answer every question about a scenario.

    Parameters
    ----------
    scenario : Scenario
        The case.
    progress : callable, optional
        Called with (done, of) after each stage and size.
    stages, sizes : sequence of str
        Names of those to answer; all when empty.

    Returns
    -------
    Study
        Answers of every stage and size, and the findings drawn from them.

    Examples
    --------
    >>> from packsim.line import Bracket, Guides, Kicks, Mat, Scenario, Stage, Wires
    >>> from packsim.catalogue import custom_can
    >>> guides = Guides((Bracket(0.0, 100.0, 706.0),), Wires((40.0, 90.0), 600.0, 0.05, 1.3e6))
    >>> stage = Stage("wash", "flood", 2000.0, guides, Kicks(0.05, 2.0))
    >>> can = custom_can("demo", 66.0, 124.0)
    >>> case = Scenario("demo", "", Mat(900.0, 90.0), (stage,), (can,), "demo")
    >>> found = study_line(case).answers[0]
    >>> found.pack.lanes, round(found.pack.slack_mm, 1)
    (10, 25.6)
    """
    cans = {scenario.size(name).name for name in sizes or [can.name for can in scenario.sizes]}
    places = {scenario.stage(name).name for name in stages or [s.name for s in scenario.stages]}
    jobs = [
        (stage.name, can.name)
        for can in scenario.sizes
        for stage in scenario.stages
        if can.name in cans and stage.name in places
    ]
    answers = []
    for done, (stage, size) in enumerate(jobs, start=1):
        answers.append(answer_stage(scenario, stage, size))
        if progress is not None:
            _ = answers[-1].tipping.verdict  # the work, which is left till asked
            progress(done, len(jobs))
    return Study(scenario, tuple(answers), find_all(scenario, tuple(answers)))


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
    def open(self) -> bool:
        """Whether something is to be measured before guides are set."""
        return any(step.command_text == VISIT for step in self.steps)

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
    for size in study.sizes:
        found = [one for one in study.findings if one.size == size]
        setting = recommend(study.scenario, size)
        stages = tuple(
            StageSummary(answer, setting.of_stage(answer.stage)) for answer in study.of_size(size)
        )
        steps = in_brief(one for one in found if one.level != "note")
        sizes.append(SizeSummary(setting, found[0].level, stages, steps))
    return tuple(sizes)
