"""The chance of a tip in words: its interval, what it assumes, whether counts and history agree."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from packsim.report.words.display import Display
from packsim.report.words.numbers import kicks_text, per_million, percent, thousands, with_interval

if TYPE_CHECKING:  # the first screen of a study words no chance, and need not wait for it
    from packsim.answers import Answer
    from packsim.chance import Cause, Compared, History, LineChance, Rate
    from packsim.line import Scenario
    from packsim.size_change import SizeChange
    from packsim.study import Study

HEADS: Final = ("tips per million (95 % interval)", "left edge", "centre", "right edge")
"""Columns of a table of chances."""

WHOLE_LINE: Final = "whole line"

LEAST_PER_MILLION: Final = 1e-3
"""Rates below this, one can in 10^9, count as none where a chance stands beside a verdict."""


def rate_text(rate: Rate) -> str:
    """Return a rate with its interval: ``14,700 (12,600–17,500)``."""
    low, high = rate.interval
    if per_million(low) == per_million(high):
        return per_million(rate.tips_per_million)
    return with_interval(rate.tips_per_million, low, high)


def against_history(history: History | None, chances: Iterable[LineChance]) -> list[str]:
    """Say of each forecast what the history makes of it, where that does not fit the model."""
    if history is None or history.explained:
        return []
    if math.isnan(history.factor):
        return [
            "These chances contradict the line's own history, and no kick energy fits it: "
            "do not rest on them before the line is measured again"
        ]
    return [
        f"{one.size}: this chance contradicts the line's own history; with the kick energies that "
        f"fit it, {rate_text(history.foretold(one))} per million for the whole line"
        for one in chances
        if not one.reason
    ]


@dataclass(frozen=True, slots=True)
class Told:
    """What a setting is called, the line so set, its chance, verdicts beside it, and its past."""

    name: str
    scenario: Scenario
    chance: LineChance
    answers: Sequence[Answer] = ()
    past: History | None = None

    @property
    def rows(self) -> list[tuple[str, tuple[str, ...]]]:
        """Name and cells of every stage and of the whole line, under `HEADS`."""
        if self.chance.reason:
            return []
        rows = [
            (stage.stage, (rate_text(stage), *map(per_million, stage.by_place)))
            for stage in self.chance.stages
        ]
        if len(rows) == 1:
            return rows
        places = np.sum([stage.by_place for stage in self.chance.stages], axis=0)
        return [*rows, (WHOLE_LINE, (rate_text(self.chance.line), *map(per_million, places)))]

    @property
    def said(self) -> list[str]:
        """What stands below: the sides of entry, what it rests on, what verdicts mean beside it."""
        if self.chance.reason:
            return [self.chance.reason]
        lines = [
            slices_text(self.scenario, self.chance),
            sides_text(self.chance),
            rests_on(self.scenario, self.chance.side),
            counting_text(self.chance),
        ]
        past = against_history(self.past, [self.chance])
        return [*filter(None, lines), *beside_verdicts(self.chance, self.answers), *past]


def told_of(study: Study, chances: Iterable[LineChance], past: History | None = None) -> list[Told]:
    """Return the chances of a study's sizes, each with the answers beside it."""
    return [Told(one.size, study.scenario, one, study.of_size(one.size), past) for one in chances]


def told_of_change(
    change: SizeChange,
    lines: Iterable[Scenario],
    chances: Iterable[LineChance],
    past: History | None = None,
) -> list[Told]:
    """Return the chances before and after a size change; none where none were worked out."""
    answers = [one.before for one in change.stages], [one.after for one in change.stages]
    names = f"{answers[0][0].size}, as set now", f"{answers[1][0].size}, as it shall be set"
    each = zip(names, lines, chances, answers, strict=False)
    return [Told(*one, past) for one in each]


def entry_text(side: float) -> str:
    """Say where the pack enters."""
    named = {0.0: "at the left guide", 0.5: "in the centre", 1.0: "at the right guide"}
    return named.get(side, f"with {percent(side, 0)} of its slack to the left")


def rests_on(scenario: Scenario, side: float) -> str:
    """Say what a chance rests on."""
    known = "assumed" if entry_assumed(scenario) else "as given"
    return f"Rests on: the pack enters {entry_text(side)} ({known}); {kicks_text(scenario)}."


def slices_text(scenario: Scenario, chance: LineChance) -> str:
    """Say where slices, which the chance comes from, tip more or fewer cans than a whole line."""
    from packsim.counts.along_travel import room_along

    room, said = room_along(scenario, chance.size), []
    kept = f"{room.kept_mm:.3f} mm of room along travel at this fill"
    if chance.lower_bound:
        said.append(
            "Expected tips are a lower bound: they come from slices, in which cans have "
            f"{kept}; on the whole line kicks open about {room.opened_mm:.3f} mm, and drift more. "
            "Give the fill the line has (pack_fill)."
        )
    if room.cans_close_up:
        said.append(
            f"Expected tips before {room.pushed_at} are too many: the guides step in there and "
            f"push the pack {room.pushed_mm:.1f} mm aside; cans close up before them, but not in "
            f"slices, where they keep {kept}."
        )
    return " ".join([*said, "packsim run counts on the whole line."] if said else [])


NEVER_COUNTED: Final = 1e12
"""Cans of a thousand years, at 2,000 a minute day and night: 1e9 a year."""


def counting_text(chance: LineChance) -> str:
    """Say what it would take to count a chance, and whether it is as exact as asked for."""
    said = []
    cans = chance.cans_counting_would_need
    if cans > NEVER_COUNTED:
        said.append("To know it as well by counting would take a line a thousand years and more.")
    elif math.isfinite(cans):
        many = f"{thousands(cans / 1e6)} million" if cans >= 1e7 else per_million(cans)
        said.append(f"To know it as well by counting would take {many} cans.")
    if not chance.reached:
        said.append("The interval is wider than it should be: the repeats differ much.")
    return " ".join(said)


def sides_text(chance: LineChance) -> str:
    """Say the chance for every side of entry worked out; empty without."""
    if not chance.sides:
        return ""
    each = {side: rate_text(rate) for side, rate in chance.sides.items()}
    if len(set(each.values())) == 1:
        return "The same for a pack that enters left, in the centre or right."
    parts = ", ".join(f"{side} {text}" for side, text in each.items())
    return f"By where the pack enters: {parts} per million."


def entry_assumed(scenario: Scenario) -> bool:
    """Whether nobody has measured where the pack enters."""
    return any(one.key == "mat.pack_enters" for one in scenario.assumed)


def beside_verdicts(chance: LineChance, answers: Iterable[Answer]) -> list[str]:
    """Say where a verdict and the chance beside it seem to say two things, stages alike in one."""
    verdicts = {answer.stage: answer.tipping.verdict for answer in answers}
    more, none = [], []
    for stage in chance.stages:
        verdict, tips = verdicts.get(stage.stage, ""), stage.tips_per_million
        if verdict in ("held", "loose") and tips >= LEAST_PER_MILLION:
            more.append(f"{stage.stage} ({verdict})")
        if verdict == "can tip" and tips < LEAST_PER_MILLION:
            none.append(stage.stage)
    said = [f"{', '.join(more)}: cans tip all the same: {_MORE}"] if more else []
    return [*said, f"{', '.join(none)}: {_NONE}"] if none else said


_MORE: Final = (
    "the pack as it moves parts along travel and leaves more room than clear width less pack width."
)
_NONE: Final = (
    "cans can tip in the worst case of slack, place and spray; as set, not one in 10^9 does."
)


def history_lines(history: History, display: Display) -> list[str]:
    """Return a line for each count, and one about forecasts."""
    lines = [_count(one, display) for one in history.counts]
    return [*filter(None, (*lines, _fit(history)))]


def _count(one: Compared, display: Display) -> str:
    counted = with_interval(one.past.tips_per_million, *one.counted_interval)
    said = (
        f"{one.past.what}: counted {counted} per million, expected {rate_text(one.expected)}: "
        f"{'explained' if one.explained else 'not explained'}"
    )
    if one.explained:
        return said
    if not one.causes:
        from packsim.chance.history import WIDER_MM

        return (
            f"{said}. Nor would other kicks, another side of entry, {display.length(WIDER_MM[-1])} "
            "of width or a thinner infeed explain it: look at rows, stages and counts"
        )
    each = "; or ".join(_cause(cause, display) for cause in one.causes)
    return f"{said}. It would be by {each}"


def _cause(cause: Cause, display: Display) -> str:
    if isinstance(cause.value, str):
        return f"a pack that enters {cause.value}"
    if cause.what == "clear width":
        more = "wider" if cause.value > 0.0 else "narrower"
        return f"guides {display.length(abs(cause.value))} {more} than noted"
    if cause.what == "fill":
        return f"an infeed that fills {percent(cause.value)}"
    low, high = cause.interval or (None, None)
    times = with_interval(cause.value, low, high, show=_two)
    return f"{times} times the {'energy of the kicks' if 'energy' in cause.what else 'kicks'}"


def _fit(history: History) -> str:
    if math.isnan(history.factor):
        return "" if history.explained else "No one kick energy fits these counts."
    factor = with_interval(history.factor, *history.factor_interval, show=_two)
    return f"Kick energies that fit all of it: {factor} times those of the scenario."


def _two(factor: float) -> str:
    return f"{factor:.2f}" if factor < 10.0 else per_million(factor)
