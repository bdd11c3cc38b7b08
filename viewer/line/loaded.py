"""What is watched: a line with one can size on it, and packsim's answers for it."""

from dataclasses import dataclass, replace
from functools import lru_cache

from packsim.answers import Answer, answer_stage
from packsim.can import Can
from packsim.errors import InputError
from packsim.line import Scenario

Answers = tuple[Answer | InputError, ...]
"""One for each stage: the answer, or the reason why there is none."""


@dataclass(frozen=True, slots=True)
class LoadedLine:
    """A scenario as it is set, and the one of its can sizes that is on the line."""

    scenario: Scenario
    size: str

    def __post_init__(self) -> None:
        self.scenario.size(self.size)

    @property
    def can(self) -> Can:
        """The can on the line."""
        return self.scenario.size(self.size)


def answers_of(loaded: LoadedLine) -> Answers:
    """Return packsim's answers for every stage; stages that did not change are not asked again.

    Settings on record are of no account for a stage as it is set, and may be for other sizes.
    """
    scenario = replace(loaded.scenario, name="", about="", assumed=(), seed=0)
    return tuple(
        _answer(replace(scenario, stages=(stage,), sizes=(loaded.can,), set_for=loaded.size))
        for stage in (replace(stage, settings=()) for stage in scenario.stages)
    )


@lru_cache(maxsize=256)
def _answer(alone: Scenario) -> Answer | InputError:
    try:
        return answer_stage(alone, alone.stages[0].name, alone.sizes[0].name)
    except InputError as problem:
        return problem
