"""A target for the tips of a line, in words: what was tried, and what reaches it."""

from __future__ import annotations

from packsim.compare import Target
from packsim.compare.machine_changes import EFFORTS
from packsim.errors import plain_figures
from packsim.report.words.chance_words import rate_text
from packsim.report.words.numbers import (
    kicks_text,
    per_million,
    percent,
    stage_words,
    thousands,
    times,
)


def target_head(target: Target) -> str:
    """Return what was asked for, as it was given: it is no estimate."""
    return f"{target.size}: at most {_asked(target)} tips per million"


def _asked(target: Target) -> str:
    return plain_figures(target.at_most, 6)


def tried_heads(target: Target) -> tuple[str, ...]:
    """Return the columns of what was tried to reach a target, behind the effort."""
    return (
        "<what",
        "<stages",
        "tips per million (95 %)",
        "kept in",
        f"at most in {percent(target.sure, 0)}",
    )


def tried_rows(target: Target) -> list[tuple[str, tuple[str, ...]]]:
    """Return effort and cells of everything that was tried, what reaches the target first."""
    names = [stage.name for stage in target.tried[0].line.stages]
    rows: list[tuple[str, tuple[str, ...]]] = []
    others = [way for way in target.tried if not way.reaches]
    others.sort(key=lambda way: EFFORTS.index(way.effort))
    for way in (*target.ways, *others):
        then = "does not fit" if way.chance.reason else per_million(way.tips_when_sure)
        cells = (stage_words(way.stages, names) or "–", rate_text(way.chance.line))
        kept = f"{percent(way.share, 0)}{'' if way.reaches else ' !'}"
        effort = "–" if way.effort == "none" else way.effort
        rows.append((effort, (way.what, *cells, kept, then)))
    return rows


def target_lines(target: Target, file: str) -> list[str]:
    """Return what was asked for and what reaches it, or how near it comes; and what it rests on."""
    best, first = target.best, target.tried[0]
    asked = f"{_asked(target)} per million in {percent(target.sure, 0)} or more"
    if first.reaches:
        said = [f"As set, the line keeps to {asked} of what is possible: nothing is to be done"]
    elif best.reaches:
        done = f"{best.what}, in {stage_words(best.stages, first.line.stages)}"
        said = [f"Cheapest that keeps to {asked} of what is possible: {best.effort}: {done}"]
    else:
        over = best.tips_when_sure / target.at_most
        said = [
            f"Nothing that was tried keeps to {asked} of what is possible. Nearest: {best.what}, "
            f"{per_million(best.tips_when_sure)} per million, {times(over)} times as many"
        ]
    taken = [way for way in target.tried if way.tips_per_million <= target.at_most]
    cheap = min(taken, key=lambda way: EFFORTS.index(way.effort), default=best)
    less = EFFORTS.index(cheap.effort) < EFFORTS.index(best.effort) or not best.reaches
    if less and cheap.tips_per_million <= target.at_most:
        said.append(
            f"With the kicks as taken this would do: {cheap.what}, "
            f"{rate_text(cheap.chance.line)} per million. What is not known decides: packsim "
            f"doubt {file} says what to measure, packsim trial plan {file} how to know the kicks"
        )
    said.append(
        f"Shares are those of {thousands(target.draws)} draws, seed {target.seed}: kicks, widths "
        f"and diameter within their ranges, and the error of the passages; {kicks_text(first.line)}"
    )
    said.append(
        "* with the guides as close as they go without a jam in any case; ! less than was asked "
        "for; effort: turn what has a thread or a valve, move what is bolted, buy what is not there"
    )
    return said
