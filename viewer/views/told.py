"""What a session was, in words: the settings it saw with what was counted, and its changes."""

from collections.abc import Iterable
from dataclasses import dataclass

from packsim.answers import Answer
from packsim.counts.intervals import per_million_interval
from packsim.errors import InputError
from packsim.report.words.display import Display
from packsim.report.words.numbers import per_million, stage_words, thousands, with_interval
from viewer.line import LoadedLine, answers_of
from viewer.session.adjust import DIALS
from viewer.session.counted import Counted
from viewer.session.looking import worst_stage

AS_OPENED = "as opened"


@dataclass(frozen=True, slots=True)
class Setting:
    """One line that was watched, by what differs from the first, and what was counted under it.

    ``stage`` is where cans are lost first under it, ``answer`` what packsim says of that stage;
    ``tipped`` cans went over, ``tips`` says in which stages, ``rate`` how many per million with its
    95 % interval, in words.
    """

    what: tuple[str, ...]
    cans: int
    runs: int
    tipped: int
    tips: str
    rate: str
    stage: str
    answer: Answer | InputError


@dataclass(frozen=True, slots=True)
class Changed:
    """A change of the running line: when [s], and what."""

    time_s: float
    what: tuple[str, ...]


def settings_seen(counted: Counted, first: LoadedLine, display: Display) -> list[Setting]:
    """Return every setting under which cans came in, in the order they were first seen."""
    return [_setting(counted, first, line, display) for line in counted.lines()]


def _setting(counted: Counted, first: LoadedLine, line: LoadedLine, display: Display) -> Setting:
    count, runs = counted.under(line)
    answers, tipped = answers_of(line), int(count.tips.sum())
    stage = worst_stage(answers)
    interval = per_million_interval(tipped, count.cans)
    return Setting(
        what=tuple(differences(first, line, display)) or (AS_OPENED,),
        cans=count.cans,
        runs=runs,
        tipped=tipped,
        tips=_tips_words(count.tips.tolist(), [part.name for part in line.scenario.stages]),
        rate=with_interval(1e6 * tipped / count.cans, *interval, per_million),
        stage=line.scenario.stages[stage].name,
        answer=answers[stage],
    )


def _tips_words(tips: list[int], stages: list[str]) -> str:
    """Say how many tipped, and in which stages if in some."""
    where = ", ".join(f"{name} {thousands(n)}" for name, n in zip(stages, tips, strict=True) if n)
    return f"{thousands(sum(tips))}: {where}" if where else "0"


def changes_made(counted: Counted, display: Display) -> list[list[Changed]]:
    """Return the changes of each run that had one, in order of time."""
    runs = [
        [Changed(m.time_s, tuple(differences(m.before, m.after, display))) for m in run.marks]
        for run in counted.runs
    ]
    return [run for run in runs if run]


def differences(before: LoadedLine, after: LoadedLine, display: Display) -> list[str]:
    """Return what differs between two lines, in the words of the dials; stages alike share one.

    Lines that differ in what no dial turns are said to.
    """
    if before == after:
        return []
    stages = [stage.name for stage in after.scenario.stages]
    if stages != [stage.name for stage in before.scenario.stages]:
        return [f"another line: {after.scenario.name}"]
    said: dict[str, list[str]] = {}
    for number in range(len(DIALS)):
        for stage, words in _turned(number, before, after, display):
            said.setdefault(words, []).append(stage)
    rows = [
        f"{words} ({stage_words(found, stages)})" if found != [""] else words
        for words, found in said.items()
    ]
    return rows or ["something else than the dials turn"]


def _turned(
    number: int, before: LoadedLine, after: LoadedLine, display: Display
) -> Iterable[tuple[str, str]]:
    """Yield the stages where a dial reads otherwise, empty for the whole line, and both readings.

    The faces of each guide go without saying where clear width and shift are said.
    """
    dial = DIALS[number]
    for i, stage in enumerate(after.scenario.stages if dial.step else after.scenario.stages[:1]):
        parts = 1 if number == 0 else dial.parts(stage)
        for part in range(parts):
            was, now = (dial.shown(display, line, i, part) for line in (before, after))
            if was != now:
                which, _, short = now.rpartition(": ")
                same = was.startswith(f"{which}: ") and bool(which)
                yield (
                    stage.name if dial.step else "",
                    f"{dial.name} {was} → {short if same else now}",
                )
