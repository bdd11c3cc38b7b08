"""Passages at one guide setting, and what to know about their counts."""

from dataclasses import dataclass
from functools import lru_cache

from packsim.answers import answer_line
from packsim.chance import LineChance
from packsim.counts.intervals import agreement, per_million_interval
from packsim.counts.passages import Passages
from packsim.errors import Assumption
from packsim.findings.rules import STOPPING, find_all
from packsim.line import Scenario
from packsim.report.words.change_words import UNSAFE
from packsim.report.words.numbers import percent, thousands
from packsim.setting import recommend


@dataclass(frozen=True, slots=True, eq=False)
class RunCase:
    """Passages at one guide setting.

    Parameters
    ----------
    name : str
        What the setting is called.
    scenario : Scenario
        The line as it was run.
    passages : Passages
        What was counted.
    again : str
        The command that goes on where it was interrupted; empty where no finished run is kept.
    chance : LineChance, optional
        What was to be expected; None where it was not worked out.
    """

    name: str
    scenario: Scenario
    passages: Passages
    again: str = ""
    chance: LineChance | None = None

    @property
    def agreement(self) -> tuple[str, ...]:
        """Whether each stage's count of first tips and expected chance agree: see `agreement`.

        The chance is that of a pack in which nothing is down yet. Empty where one is not known.
        """
        cans = self.passages.counted
        if self.chance is None or not cans or self.chance.reason:
            return ()
        return tuple(
            agreement(per_million_interval(first, cans), one.interval)
            for first, one in zip(self.passages.first_tips, self.chance.stages, strict=True)
        )

    @property
    def clear_width_mm(self) -> tuple[float, ...]:
        """Clear width of every stage at its narrowest bracket [mm]."""
        return tuple(stage.guides.narrowest_mm for stage in self.scenario.stages)

    @property
    def assumed(self) -> tuple[Assumption, ...]:
        """Everything the counts rest on without a measurement."""
        return self.scenario.assumed + self.scenario.size(self.passages.size).assumed

    @property
    def notes(self) -> list[str]:
        """What to know about the counts: first what stops cans on this line, counted or not."""
        size = self.passages.size
        found = [*stops(self.scenario, size), *self._unsafe(size)]
        found += _notes(self.passages, self.scenario.size(size).diameter_mm)
        found += _cut_off(self.passages, self.again)
        differ = [
            f"{stage} ({word})"
            for stage, word in zip(self.passages.stages, self.agreement, strict=False)
            if word != "agree"
        ]
        if differ:
            found.append(f"counted and expected do not agree: {', '.join(differ)}")
        return found

    def _unsafe(self, size: str) -> list[str]:
        """Say where the recommended setting is not safe, if that is what was run."""
        if not self.name.endswith(" window"):
            return []
        parts = recommend(self.scenario, size).unsafe
        return [
            f"{part.stage.name}: {part.prevents}; run as recommended, {UNSAFE}" for part in parts
        ]


@lru_cache(maxsize=8)
def stops(scenario: Scenario, size: str) -> tuple[str, ...]:
    """Say what stops cans, and where the pack that was run might be a denser one."""
    answers = answer_line(scenario, size)
    found = find_all(scenario, answers, STOPPING)
    told = [f"{', '.join(f.stages)}: {f.what}" for f in found if f.level == "stop"]
    first = answers[0]
    if first.might_be is not None:
        told.append(
            f"counted with {first.pack.lanes} lanes; {first.might_be.lanes} {first.might_be.state} "
            "may stand there instead, and tip less"
        )
    return tuple(told)


def _notes(passages: Passages, diameter_mm: float) -> list[str]:
    notes = _clusters(passages)
    reasons = {run.reason for run in passages.runs if run.reason}
    notes += [f"no can could be fed: {reason}" for reason in sorted(reasons)]
    jammed = {passages.stages[jam.stage] for run in passages.runs for jam in run.jams}
    if jammed:
        notes.append("the pack jams: open the guides in " + ", ".join(sorted(jammed)))
    if passages.max_overlap_mm > 0.1:
        why = "so squeezed a pack" if jammed else "lanes without room along travel"
        notes.append(
            f"cans overlap by up to {percent(passages.max_overlap_mm / diameter_mm)} of a "
            f"diameter: the model cannot follow {why}; the counts are rough"
        )
    return notes


def _cut_off(passages: Passages, again: str) -> list[str]:
    """Say what an interrupt and a full disk did to the runs, and how to go on."""
    notes = []
    if passages.unwritten:
        notes.append(
            f"the file to resume could not be written ({passages.unwritten}): the last runs are "
            "not in it, and would be run again"
        )
    if passages.interrupted:
        goes_on = (
            f"to go on from there: {again}"
            if again
            else "they are not kept: with --resume FILE.jsonl the same command would go on from "
            "there"
        )
        notes.append(f"interrupted: only the runs finished by then are counted; {goes_on}")
    return notes


def _clusters(passages: Passages) -> list[str]:
    """Say what follows on tips, and what that does to the intervals."""
    first = len(passages.clusters)
    if not first:
        return []
    further, most = int(passages.tips.sum()) - first, max(c.tips for c in passages.clusters)
    notes = [
        f"tips: {thousands(first)} first, {thousands(further)} beside cans already down, "
        f"{passages.further_tips_per_first:.2g} for each first; at most {most} together, over "
        f"{passages.disturbed_mm:.0f} mm of pack"
    ]
    if passages.waiting:
        notes.append(f"cans held up at the infeed: {thousands(passages.waiting)}")
    if passages.dispersion > 1.0:
        notes.append(
            f"tips come in clusters: variance over mean of the counts {passages.dispersion:.1f}, "
            "where single tips have 1; the intervals are widened for it"
        )
    return notes
