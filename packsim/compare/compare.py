"""Lines laid side by side: what differs in the machine, in the answers, and how sure it is."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from packsim.answers import Answer, answer_stage
from packsim.answers.quantities import quantity
from packsim.arrays import Floats
from packsim.chance import chance_of
from packsim.compare.common_draws import answers_drawn, common_values
from packsim.compare.comparison import (
    Change,
    ComparedSize,
    ComparedStage,
    Comparison,
    LeftOut,
)
from packsim.compare.differing import differing
from packsim.compare.tips import stage_draws
from packsim.errors import InputError
from packsim.line import Scenario

SHOWN: Final = (
    "clear_width_mm",
    "lanes",
    "loosest_slack_mm",
    "allowed_slack_mm",
    "tip_index",
    "least_dose_inside_mL",
    "least_dose_top_mL",
    "hold_margin",
    "cans_per_min",
    "dwell_s",
)
"""Quantities of an answer whose difference is told."""

DRAWN: Final = ("loosest_slack_mm", "allowed_slack_mm", "tip_index")
"""Those that are drawn, so that their difference has an interval."""

CASES: Final = 1000
"""Draws of what is not known."""

_DECIMALS: Final = 9  # of a difference: what is less is what two sums are off
_TAILS: Final = (0.025, 0.975)

Progress = Callable[[float, int], None]


def compare_lines(
    named: Mapping[str, Scenario],
    sizes: Sequence[str] = (),
    *,
    rng: np.random.Generator | None = None,
    progress: Progress | None = None,
) -> Comparison:
    """Lay two or more lines side by side.

    Parameters
    ----------
    named : mapping of str to Scenario
        The lines by what to call them; the others are compared with the first.
    sizes : sequence of str
        Can sizes; all that every line has where left out.
    rng : numpy.random.Generator, optional
        Gives the seed; that of the first scenario is the seed where left out.
    progress : callable, optional
        Told of every passage.

    Returns
    -------
    Comparison
        What all lines have is compared, the rest is named.

    Raises
    ------
    InputError
        If there are fewer than two lines, a size is unknown to one of them, or no size or no stage
        is in all.

    Notes
    -----
    Intervals of differences come from `CASES` draws, see `packsim.compare.common_draws` for what
    is drawn once for all lines and `packsim.compare.tips` for what the tips carry.
    """
    lines = tuple(named.values())
    if len(lines) < 2:
        raise InputError("lines", len(lines), "two or more")
    seed = lines[0].seed if rng is None else int(rng.integers(2**63))
    all_sizes = _shared("size", [[can.name for can in line.sizes] for line in lines])
    stages = _shared("stage", [[stage.name for stage in line.stages] for line in lines])
    for name in sizes:
        for line in lines:
            line.size(name)
    asked = [size for size in all_sizes if size in sizes] if sizes else all_sizes
    laid = Comparison(
        names=tuple(named),
        lines=lines,
        seed=seed,
        machine=differing(lines, stages, asked),
        sizes=tuple(
            ComparedSize(
                size, tuple(chance_of(line, size, progress=progress) for line in lines), (), ()
            )
            for size in asked
        ),
        left_out=_left_out(named, stages, all_sizes),
    )
    values = common_values(lines, seed, CASES)
    return replace(laid, sizes=tuple(_of_size(laid, one, stages, values) for one in laid.sizes))


def _shared(what: str, names: Sequence[Sequence[str]]) -> list[str]:
    found = [name for name in names[0] if all(name in other for other in names)]
    if not found:
        raise InputError(what, "none that all lines have", f"a {what} of the same name in each")
    return found


def _left_out(
    named: Mapping[str, Scenario], stages: Sequence[str], sizes: Sequence[str]
) -> tuple[LeftOut, ...]:
    having: dict[tuple[str, str], list[str]] = {}
    for name, line in named.items():
        own = [("size", can.name) for can in line.sizes if can.name not in sizes]
        own += [("stage", stage.name) for stage in line.stages if stage.name not in stages]
        for one in own:
            having.setdefault(one, []).append(name)
    return tuple(LeftOut(*one, tuple(lines)) for one, lines in having.items())


def _of_size(
    laid: Comparison,
    one: ComparedSize,
    stages: Sequence[str],
    values: Sequence[Mapping[str, Floats]],
) -> ComparedSize:
    """Fill in the stages of a size and every difference."""
    tips = stage_draws(laid, one.size, values, laid.seed, CASES)
    found = []
    for stage in stages:
        at = [[s.name for s in line.stages].index(stage) for line in laid.lines]
        answers = tuple(answer_stage(line, stage, one.size) for line in laid.lines)
        chances = tuple(chance.stages[i] for chance, i in zip(one.chances, at, strict=True))
        drawn = [
            answers_drawn(line, stage, one.size, own, DRAWN)
            for line, own in zip(laid.lines, values, strict=True)
        ]
        changes = tuple(
            (
                *_changes(answers[0], answers[k], drawn[0], drawn[k]),
                _tips_change(
                    (chances[0].tips_per_million, chances[k].tips_per_million),
                    tips[0][:, at[0]],
                    tips[k][:, at[k]],
                ),
            )
            for k in range(1, len(answers))
        )
        found.append(ComparedStage(stage, one.size, answers, chances, changes))
    whole = [each.sum(axis=1) for each in tips]
    rates = [chance.tips_per_million for chance in one.chances]
    of_line = tuple(
        _tips_change((rates[0], rates[k]), whole[0], whole[k]) for k in range(1, len(rates))
    )
    return replace(one, changes=of_line, stages=tuple(found))


def _changes(
    first: Answer, other: Answer, drawn: Mapping[str, Floats], other_drawn: Mapping[str, Floats]
) -> list[Change]:
    found = []
    for key in SHOWN:
        values = [quantity(key).plain(answer) for answer in (first, other)]
        if None in values:
            continue
        by, interval = round(float(values[1] - values[0]), _DECIMALS), None
        if key in drawn and key in other_drawn:
            interval = _interval(by, np.round(other_drawn[key] - drawn[key], _DECIMALS))
        found.append(Change(key, by, interval))
    return found


def _tips_change(rates: tuple[float, float], first: Floats, other: Floats) -> Change:
    key, by = "tips_per_million", rates[1] - rates[0]
    interval = _interval(by, other - first)
    some = first > 0.0
    if not rates[0] > 0.0 or some.mean() < 0.5:
        return Change(key, by, interval)
    ratio = rates[1] / rates[0]
    return Change(key, by, interval, ratio, _interval(ratio, other[some] / first[some]))


def _interval(best: float, draws: Floats) -> tuple[float, float] | None:
    """Return the 95 % interval of some draws, about the value; None where there is none."""
    finite = draws[np.isfinite(draws)]
    if not np.isfinite(best) or finite.size < draws.size * 0.975:
        return None
    low, high = np.quantile(finite, _TAILS).tolist()
    return min(low, best), max(high, best)
