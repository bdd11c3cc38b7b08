"""What a proposal rests on, what would settle it, and what a trial made of it, in words."""

from __future__ import annotations

import math
from typing import Final

from packsim.money.down import SURE
from packsim.money.proposal import Counted, MachineProposal
from packsim.money.saving import Saving
from packsim.report.words.chance_words import beside_verdicts, rests_on
from packsim.report.words.compare_words import NOT_CARRIED
from packsim.report.words.doubt_words import MOST_MEASURES, measure_words
from packsim.report.words.money_words import (
    answer_words,
    percent_words,
    possible_words,
    spread_words,
)
from packsim.report.words.numbers import per_million, thousands, times, with_interval
from packsim.trial.trial_plan import LONGEST_H

LEAST_WORTH: Final = 0.05
"""A measurement that takes away a smaller share of the doubt is not worth a line."""


TRY: Final = "Form: packsim trial plan; then proposal --trial"
"""Which commands a trial goes with."""


def case_words(proposal: MachineProposal) -> str:
    """Name the line and what becomes of it; a changed copy often has the name it had."""
    now, then = proposal.before.name, proposal.after.name
    return f"{now}, changed" if now == then else f"{now} → {then}"


def basis_words(saving: Saving) -> str:
    """Say where today's cans down come from: the first thing to know where nobody counted."""
    bare = [one.size for one in saving.sizes if not one.counted]
    if not bare:
        return ""
    return (
        f"Nobody counted the cans down of {', '.join(bare)}: today's number is the model's own "
        "chance."
    )


def taken_words(proposal: MachineProposal) -> list[str]:
    """Say all that a proposal rests on: kicks, sums, what is left out of both."""
    before = proposal.before
    return [
        rests_on(before, before.mat.pack_enters),
        *assumed_words(proposal.saving),
        *after_words(proposal),
        NOT_CARRIED,
    ]


def after_words(proposal: MachineProposal) -> list[str]:
    """Say which sizes nobody gave figures of, and where verdict and chance after seem at odds."""
    known = [one.size for one in proposal.saving.figures.sizes]
    more = [can.name for can in proposal.after.sizes if can.name not in known]
    said = [f"Not in the sums: {', '.join(more)}, of which there are no figures."] if more else []
    laid = proposal.comparison.size(proposal.size)
    told = beside_verdicts(laid.chances[1], [stage.answers[1] for stage in laid.stages])
    return [*said, *(f"After the change, {line}" for line in told)]


def assumed_words(saving: Saving) -> list[str]:
    """Say what the sums take for granted, and which figures they lack."""
    said = []
    if any(one.counted for one in saving.sizes):
        said.append(
            "Today's cans down are those counted; the model says only which share of those that "
            "had tipped is left."
        )
    every = [one.size for one in saving.figures.sizes if one.cans_counted and not one.tipped_share]
    if every:
        said.append(
            f"{', '.join(every)}: all cans counted as down are taken to have tipped, as no "
            "tipped_share is given; fewer did, and less is saved."
        )
    for one in saving.sizes:
        if not one.explained:
            said.append(
                f"{one.size}: the model does not explain so many cans down: it tips "
                f"{spread_words(one.model_before, per_million)} in a million today. Find out why "
                "first (packsim study, with the counts as [[history]])."
            )
        if one.says_nothing > 1.0 - SURE:
            said.append(
                f"{one.size}: in {possible_words(saving, one.says_nothing)} the model tips "
                "none today; there it knows no share, and nothing counts as saved."
            )
    given, (now, then) = saving.figures.given, saving.brackets
    if {"size_changes_a_year", "minutes_a_bracket"} <= given.keys():
        brackets = f"{now}" if now == then else f"{now} before and {then} after"
        said.append(f"At a size change every bracket is set, {brackets}.")
    if saving.sizes_left_out:
        sizes = ", ".join(saving.sizes_left_out)
        said.append(f"Not in the sums: {sizes}, which do not go through both machines.")
    if saving.left_out:
        said.append(f"Not in the sums, as no figure was given: {', '.join(saving.left_out)}.")
    return said


def settle_words(proposal: MachineProposal) -> list[str]:
    """Say what would make the answer surer: what to measure, and the shortest trial."""
    worth = [one for one in proposal.measures if max(one.narrows, one.settles) >= LEAST_WORTH]
    said = [measure_words(one) for one in worth[:MOST_MEASURES]]
    return [*said, _trial_words(proposal)]


def _trial_words(proposal: MachineProposal) -> str:
    cans, hours = proposal.trial_cans, proposal.trial_hours
    shown = next(one for one in proposal.saving.sizes if one.size == proposal.size)
    if math.isinf(cans) and shown.counted and shown.says_nothing > 1.0 - SURE:
        return f"a trial of the changed machine: count its cans down. {TRY}"
    if math.isinf(cans):
        return "no trial tells them apart: what is foretold is the same"
    takes = f"{per_million(cans)} cans on each machine ({_running(hours)} in all)"
    if hours > LONGEST_H:
        return (
            f"no trial: to tell them apart takes {takes}, too long to be run. Judge the change by "
            "measuring first (packsim doubt says what)"
        )
    return (
        f"a trial: count the cans down of {takes}, which tells them apart in "
        f"nine cases of ten if the forecast is right. {TRY}"
    )


def _running(hours: float) -> str:
    if hours < 1.0:
        return f"{max(1, round(60.0 * hours))} minutes of running"
    return f"{per_million(hours)} hours of running"


def counted_words(one: Counted, saving: Saving) -> str:
    """Put what a trial counted beside what was foretold, how far off that was, and if it pays.

    ``saving`` is that without the trial: its answer is not told again where it stays.
    """
    said, before = (
        answer_words(each)[each.verdict == "cannot be worked out"] for each in (one.saving, saving)
    )
    then = "that answer stays." if said == before else f"{said[0].lower()}{said[1:]}"
    return f"{_beside_forecast(one)} With as many down as counted {then}"


def _beside_forecast(one: Counted) -> str:
    counted = with_interval(one.down_per_million, *one.down_per_million_interval)
    said = (
        f"{one.trial.name}, {one.trial.date}: {thousands(one.trial.tipped)} of "
        f"{thousands(one.trial.cans)} cans down, {counted} in a million; foretold "
        f"{spread_words(one.foretold, per_million)}."
    )
    if one.agreement == "agree":
        return f"{said} Counted and foretold agree: what is between them may be chance."
    if one.agreement == "more counted":
        came = spread_words(one.off, times)
        return f"{said} The forecast was too low: {came} times as many were down."
    came = spread_words(one.off, percent_words)
    return f"{said} The forecast was too high: {came} of those foretold were down."
