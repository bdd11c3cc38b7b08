"""What a change saves and when it has paid, in words."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from packsim.errors import whole_percent
from packsim.line.input_range import InputRange
from packsim.money.down import SURE, Spread
from packsim.money.saving import Saving
from packsim.report.words.numbers import (
    money,
    per_million,
    percent,
    signed,
    thousands,
    times,
    with_interval,
)

HEADS: Final = ("today", "after the change", "saved")
"""Columns of the table of what is saved."""

NAMES: Final = {
    "can_value": "value of a can lost",
    "cleaning": "cleaning up after a can down",
    "metal": "metal of a can lost, less scrap",
    "jam_minutes": "minutes the line stands for a can down",
    "size_changes_a_year": "size changes a year",
    "minutes_a_bracket": "minutes the line stands for a bracket",
    "minutes_a_bracket_after": "the same after the change",
    "line_hour": "what the line earns in an hour",
    "crew_hour": "what the crew costs in an hour",
    "price_of_change": "price of the change",
    "years": "years the change is to serve",
    "discount_rate": "what money costs in a year",
}
"""Names of the figures, by key."""

MOST_MORE: Final = 10.0
"""So many times as many more are told as a share saved, −1,000 %; beyond that as a ratio [-]."""


def spread_words(one: Spread, show: Callable[[float], str] = money) -> str:
    """Return a number with its interval, one number where both ends read as it does."""
    low, high = one.interval
    ends = {with_interval(end, None, None, show) for end in (low, high)}  # with their signs
    if len(ends) == 1:
        return with_interval(one.best, None, None, show)
    return with_interval(one.best, low, high, show)


def time_words(years: float) -> str:
    """Return a time until something has paid.

    Examples
    --------
    >>> [time_words(years) for years in (0.0, 0.05, 0.6, 3.21, 140.0, math.inf)]
    ['at once', '3 weeks', '7 months', '3.2 years', '140 years', 'never']
    """
    if math.isinf(years):
        return "never"
    if years == 0.0:
        return "at once"
    for unit, in_a_year, most in (("day", 365.25, 14), ("week", 52.18, 9), ("month", 12.0, 24)):
        if round(years * in_a_year) < most:
            count = max(1, round(years * in_a_year))
            return f"{count} {unit}{'s' if count > 1 else ''}"
    return f"{signed(years, 0 if years >= 20.0 else 1)} years"


def answer_words(saving: Saving) -> tuple[str, str]:
    """Return the answer to whether a change pays, with how sure it is, and the sums behind it."""
    if saving.verdict == "cannot be worked out":
        return _without_price(saving)
    paid, first = _paid(saving), "It"
    share = saving.pays if saving.verdict == "pays" else 1.0 - saving.pays
    head = f"It {saving.verdict}, in {possible_words(saving, share)}: {paid}."
    if saving.verdict == "cannot be told yet":
        taken = "" if saving.pays_as_taken == (saving.pays > 0.5) else "as taken, "
        head = (
            f"It cannot be told yet whether it pays: it does in "
            f"{possible_words(saving, saving.pays)}; {taken}{paid}."
        )
    if saving.verdict != "pays" and saving.unknown > 1.0 - SURE:
        head = (
            f"It cannot be told yet whether it pays: in {possible_words(saving, saving.unknown)} "
            "the model tips no can today and cannot say which share of those counted is saved; it "
            f"pays in {possible_words(saving, saving.pays)}."
        )
        first = "With nothing saved where that is so, it"
    return head, _sums(saving, first)


def _sums(saving: Saving, first: str) -> str:
    """Say what a change costs, what it saves in a year, and what that is worth."""
    own, saved = saving.figures.currency, saving.saved_money_per_year
    lost = _lost(saved)
    yearly = f"saves {_told(saved)} {own} a year"
    if lost is not None:
        yearly = f"then {_told(lost)} {own} more a year than today"
    sums = f"{first} costs {_told(saving.price)} {own} and {yearly}."
    years = saving.figures.given.get("years")
    if saving.net_present_value is not None and years is not None:
        worth = _told(saving.net_present_value)
        sums += f" In {_figure(years)} years it is worth {worth} {own} in today's money."
    return sums


def _lost(saved: Spread | None) -> Spread | None:
    """Return what is lost; None where something is saved, or may be."""
    if saved is None or saved.best >= 0.0 or saved.interval[1] > 0.0:
        return None
    return Spread(-saved.best, (-saved.interval[1], -saved.interval[0]))


def _told(one: Spread | None) -> str:
    return "–" if one is None else spread_words(one)


def possible_words(saving: Saving, share: float) -> str:
    """Return a share of what is possible; so many draws cannot tell all of it."""
    return f"{whole_percent(min(share, 1.0 - 1.0 / saving.draws))} of what is possible"


def _paid(saving: Saving) -> str:
    """Say when it has paid, and in which share it never does."""
    if saving.payback_years is None:
        return ""
    best = time_words(saving.payback_years.best)
    low, high = (time_words(end) for end in saving.payback_years.interval)
    unit = high.rpartition(" ")[2]  # said once where both ends have it: 9 to 20 months
    between = f" ({low.removesuffix(f' {unit}')} to {high})" if low != high else ""
    if best == "never":
        saved = saving.saved_money_per_year
        why = "costs more every year" if saved is not None and saved.best < 0.0 else "saves nothing"
        return f"it {why}, so it never brings back its price{between}"
    years, said = saving.figures.given.get("years"), "" if best == "at once" else "in "
    if years is not None and saving.payback_years.best > years.value:
        between += f", but is to serve {_figure(years)} years"
    if 0.0 < saving.never < 1.0:
        between += f"; in {possible_words(saving, saving.never)} it never does"
    return f"it brings back its price {said}{best}{between}"


def _without_price(saving: Saving) -> tuple[str, str]:
    """Say what is known where no payback is."""
    cans, lost = saving.saved_cans_per_year, _lost(saving.saved_cans_per_year)
    saved = f"It saves {spread_words(cans, per_million)} cans a year"
    if lost is not None:
        saved = f"It costs {spread_words(lost, per_million)} cans a year more"
    lacks = "price_of_change"
    if saving.saved_money_per_year is None:
        lacks = "can_value, or another price of a can down"
    else:
        saved += f"; saved {_told(saving.saved_money_per_year)} {saving.figures.currency} a year"
    return f"Whether it pays cannot be worked out: the figures lack {lacks}.", f"{saved}."


def saving_rows(saving: Saving) -> list[tuple[str, tuple[str, str, str]]]:
    """Return what is saved as rows under `HEADS`; no text where a column has no meaning."""
    rows = []
    for one in saving.sizes:
        now, then = (spread_words(each, per_million) for each in (one.down_before, one.down_after))
        cells = (now, then, _share_saved(one.left_over))
        rows.append((f"{one.size}: cans down in a million", cells))
    own = saving.figures.currency
    rows.append(("cans a year", ("", "", spread_words(saving.saved_cans_per_year, per_million))))
    if saving.saved_hours_per_year is not None:
        hours = spread_words(saving.saved_hours_per_year, per_million)
        rows.append(("hours the line stands, a year", ("", "", hours)))
    if saving.saved_money_per_year is not None:
        rows.append((f"{own} a year", ("", "", spread_words(saving.saved_money_per_year))))
    return rows


def _share_saved(left: Spread) -> str:
    """Return the share that is saved; where far more are down, how many times as many."""
    low, high = left.interval
    if high - 1.0 > MOST_MORE:
        return f"{spread_words(left, times)} times as many"
    return spread_words(Spread(1.0 - left.best, (1.0 - high, 1.0 - low)), percent_words)


def percent_words(share: float) -> str:
    """Return a share of 1 in whole percent."""
    return percent(share, 0)


def figure_rows(saving: Saving) -> list[tuple[str, str]]:
    """Return name and value of every figure that was given."""
    own, rows = saving.figures.currency, []
    for size in saving.figures.sizes:
        rows.append((f"{size.size}: cans a year", _figure(size.cans_a_year)))
        if size.cans_counted:
            of = f"{thousands(size.cans_down)} of {thousands(size.cans_counted)}"
            rows.append((f"{size.size}: cans down today, as counted", of))
        if size.tipped_share is not None:
            share = _figure(size.tipped_share, 100.0)
            rows.append((f"{size.size}: of these had tipped", f"{share} %"))
    for key, one in saving.figures.given.items():
        unit = f" {own}" if key in _IN_MONEY else " %" if key == "discount_rate" else ""
        rows.append((NAMES[key], _figure(one, 100.0 if key == "discount_rate" else 1.0) + unit))
    return rows


_IN_MONEY: Final = {"can_value", "cleaning", "metal", "line_hour", "crew_hour", "price_of_change"}


def _figure(one: InputRange, scale: float = 1.0) -> str:
    ends = (scale * each for each in (one.value, one.low, one.high))
    value, low, high = (thousands(x) if x >= 1000.0 else f"{x:.6g}" for x in ends)
    if one.exact:
        return value
    return f"{low} to {high}" if one.shape == "even" else f"{value} ({low} to {high})"
