"""The line's own history in words: what the model explains of it, what would explain the rest."""

import math

from packsim.chance import Cause, Compared, History
from packsim.chance.history import WIDER_MM
from packsim.report.words.chance_words import rate_text
from packsim.report.words.display import Display
from packsim.report.words.numbers import per_million, percent, with_interval


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
