"""What differs between the answers of lines, in words, and how sure a difference of tips is."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

from packsim.answers.quantities import quantity
from packsim.compare.comparison import Change, ComparedSize, ComparedStage, Comparison, LeftOut
from packsim.report.words.chance_words import HEADS, beside_verdicts, rate_text
from packsim.report.words.display import Display
from packsim.report.words.numbers import per_million, times, with_interval

ANSWER_KEYS: Final = (
    "verdict",
    "loosest_slack_mm",
    "allowed_slack_mm",
    "least_dose_inside_mL",
    "least_dose_top_mL",
    "hold_margin",
    "cans_per_min",
    "dwell_s",
)
"""Quantities that stand in the table of a size; tips stand behind the first three."""

_SLACK: Final = 3

NOT_CARRIED: Final = (
    "Intervals of tips leave out: weights, wires, sprays, fill, drift, where the pack enters, and "
    "the model."
)

CARRIED: Final = (
    "Intervals of differences of tips hold the error of the passages and what is not known of "
    "kicks, clear widths and the diameter, drawn once for all lines; those of slack hold every "
    "input. "
) + NOT_CARRIED

_LEAST: Final = 1e-3  # of a ratio or a difference of tips; what is less is shown as below it


def change_cells(
    change: Change, show: Callable[[float], str] = per_million, less: str = "fewer"
) -> tuple[str, str]:
    """Return a difference with its interval, and whether its sign is settled; of tips if unsaid."""
    if math.isnan(change.by):
        return "–", "–"
    if change.interval is None:
        return with_interval(change.by, None, None, show), "–"
    if change.by == 0.0 and change.interval == (0.0, 0.0):
        return "0", "same"
    if not change.settled and max(map(abs, (change.by, *change.interval))) < _LEAST:
        return "below 0.001", "open"
    sign = "open" if not change.settled else less if change.by < 0.0 else "more"
    return with_interval(change.by, *change.interval, show), sign


def title_lines(found: Comparison) -> list[str]:
    """Return what each line is called and its name in its file; one name of all stands once."""
    names = [line.name for line in found.lines]
    if len(set(names)) == 1:
        return [f"{names[0]}: {', '.join(found.names)}"]
    return [f"{each}: {name}" for each, name in zip(found.names, names, strict=True)]


def size_table(
    found: Comparison, one: ComparedSize, display: Display
) -> tuple[list[str], list[tuple[str, tuple[str, ...]]], list[str]]:
    """Return headings and rows of a size, and the stages left out because nothing differs there.

    A row is a stage with its cells, the name of the line first.
    """
    differ = [stage for stage in one.stages if not _same(stage)]
    shown = [
        q
        for q in map(quantity, ANSWER_KEYS)
        if any(q.plain(answer) is not None for stage in differ for answer in stage.answers)
    ]
    heads = [*(f"<{q.heading}" if q.kind == "word" else q.heading for q in shown)]
    heads = ["<line", *heads[:_SLACK], HEADS[0], "difference (95 %)", "<settled", *heads[_SLACK:]]
    rows = []
    for stage in differ:
        for k, (name, answer) in enumerate(zip(found.names, stage.answers, strict=True)):
            cells = [display.show(q.kind, q.of(answer), unit=False) for q in shown]
            tips = change_cells(stage.changes[k - 1][-1]) if k else ("", "")
            told = (*cells[:_SLACK], rate_text(stage.chances[k]), *tips, *cells[_SLACK:])
            rows.append((stage.stage, (name, *told)))
    return heads, rows, [stage.stage for stage in one.stages if _same(stage)]


def _same(stage: ComparedStage) -> bool:
    """Whether no line differs from the first in anything that is told."""
    verdicts = {answer.tipping.verdict for answer in stage.answers}
    return len(verdicts) == 1 and all(one.by == 0.0 for each in stage.changes for one in each)


def size_lines(found: Comparison, one: ComparedSize) -> list[str]:
    """Return what the whole lines tip, each with what it does beside the first one."""
    said = []
    first, *others = zip(found.names, one.chances, strict=True)
    reason = first[1].reason
    said.append(
        f"{first[0]}: {reason or rate_text(first[1].line) + ' tips per million, whole line'}"
    )
    for (name, chance), change in zip(others, one.changes, strict=True):
        if math.isnan(change.by):
            said.append(f"{name}: {chance.reason or rate_text(chance.line)}")
            continue
        cells, sign = change_cells(change)
        text = f"{name}: {rate_text(chance.line)}; against {first[0]} {cells}"
        if change.ratio is not None and change.ratio_interval is not None and sign != "same":
            low, high = (
                change.ratio_interval if change.ratio_interval[1] >= _LEAST else (None, None)
            )
            text += f", {with_interval(change.ratio, low, high, times)} times as many"
        said.append(f"{text}: {_sign_words(change, sign)}")
    return [*said, *_beside_verdicts(found, one)]


def _sign_words(change: Change, sign: str) -> str:
    """Say whether a line tips fewer or more, as far as the doubt leaves that settled."""
    low, high = change.interval or (-math.inf, math.inf)
    if sign == "open" and low < high <= 0.0:
        return "as many tips or fewer; the doubt leaves open which"
    if sign == "open" and 0.0 <= low < high:
        return "as many tips or more; the doubt leaves open which"
    return _SIGNS[sign]


def see_lines(commands: Sequence[str]) -> list[str]:
    """Say how to see two packs at a time, for each line beside the first."""
    if len(commands) == 1:
        return [f"See both packs: {commands[0]}"]
    return ["See two packs at a time:", *commands]


def _beside_verdicts(found: Comparison, one: ComparedSize) -> list[str]:
    """Say where verdict and chance seem at odds; lines of which the same is said share it."""
    each: dict[str, list[str]] = {}
    for k, (name, chance) in enumerate(zip(found.names, one.chances, strict=True)):
        if not chance.reason:
            for text in beside_verdicts(chance, [stage.answers[k] for stage in one.stages]):
                each.setdefault(text.removesuffix("."), []).append(name)
    return [f"{', '.join(names)}: {text}" for text, names in each.items()]


_SETTLED: Final = "in over 97 % of what is possible"  # both ends of 95 % lie on one side of 0
_SIGNS: Final = {
    "fewer": f"fewer tips, {_SETTLED}",
    "more": f"more tips, {_SETTLED}",
    "open": "the doubt leaves open which tips more",
    "same": "the same",
    "–": "nothing is known of the difference",
}


def left_out_line(one: LeftOut) -> str:
    """Say what is not compared, and why."""
    still = "; its tips count in the whole line" if one.what == "stage" else ""
    return f"Not compared: {one.what} {one.name}, only in {', '.join(one.lines)}{still}"
