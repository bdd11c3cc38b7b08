"""What a change saves: cans, hours and money in a year, when it has paid, what it is worth.

Everything is drawn together, so that an interval of a difference is that of the difference: the
tips of both lines, today's count, and every figure that has a range. Arrays begin with the case in
which everything is as it is taken; the draws come after it.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from packsim.arrays import Bools, Floats
from packsim.errors import InputError
from packsim.money.down import SURE, SizeSaving, Spread, saving_of_size, silent
from packsim.money.figures import LEFT_OUT, Figures, drawn


@dataclass(frozen=True, slots=True)
class Saving:
    """What a change saves, and when it has paid.

    Parameters
    ----------
    figures : Figures
        What it was worked out from.
    sizes : tuple of SizeSaving
        Size by size.
    brackets : tuple of int
        Brackets that a size change sets, before and after.
    draws : int
        How many draws it is from.
    saved_cans_per_year, saved_hours_per_year : Spread
        Fewer cans down, and fewer hours the line stands, in a year; None where no figure says it.
    saved_money_per_year : Spread or None
        Saved in a year; None where no figure puts a price on anything.
    price : Spread or None
        Price of the change.
    payback_years : Spread or None
        Price over what is saved in a year; infinite where it never pays.
    net_present_value : Spread or None
        Of the years the change is to serve, at the discount rate.
    never : float
        Share of the draws in which it never pays [-].
    pays : float
        Share of the draws in which it pays within the years it is to serve, at the discount rate,
        as far as both are given [-].
    pays_as_taken : bool
        Whether it does so with everything as it is taken.
    unknown : float
        Share of the draws in which it does not pay, but the model tips no can of a size that was
        counted, before or after: what is saved of it is not known, and counts as nothing [-].
    """

    figures: Figures
    sizes: tuple[SizeSaving, ...]
    brackets: tuple[int, int]
    draws: int
    saved_cans_per_year: Spread
    saved_hours_per_year: Spread | None
    saved_money_per_year: Spread | None
    price: Spread | None
    payback_years: Spread | None
    net_present_value: Spread | None
    never: float
    pays: float
    pays_as_taken: bool
    unknown: float

    @property
    def verdict(self) -> str:
        """One of ``pays``, ``does not pay``, ``cannot be told yet``, ``cannot be worked out``.

        It is told only where the draws and the case with everything as it is taken say the same.
        """
        if self.payback_years is None:
            return "cannot be worked out"
        if self.pays_as_taken:
            return "pays" if self.pays >= SURE else "cannot be told yet"
        not_told = self.pays + self.unknown
        return "does not pay" if not_told <= 1.0 - SURE else "cannot be told yet"

    @property
    def left_out(self) -> dict[str, str]:
        """What the sums leave out, by the key of the figure that is missing."""
        return {key: LEFT_OUT[key] for key in self.figures.missing}

    @property
    def sizes_left_out(self) -> tuple[str, ...]:
        """Sizes of the figures that have no part in the sums."""
        counted = [one.size for one in self.sizes]
        return tuple(one.size for one in self.figures.sizes if one.size not in counted)

    @property
    def all_counted(self) -> bool:
        """Whether today's cans down are counted for every size."""
        return all(one.counted for one in self.sizes)


def saving_of(
    figures: Figures,
    tips: Mapping[str, Floats],
    brackets: tuple[int, int],
    rng: np.random.Generator,
    after: Mapping[str, Floats] | None = None,
) -> Saving:
    """Return what a change saves.

    Parameters
    ----------
    figures : Figures
        The user's own.
    tips : mapping of ndarray, shape (1 + draws, 2)
        Tips per million before and after as they are taken, then equally likely ones, drawn
        together, by size. Sizes of the figures that are not among them have no part in the sums.
    brackets : tuple of int
        Brackets that a size change sets, before and after.
    rng : numpy.random.Generator
        Draws the figures and today's counts.
    after : mapping of ndarray, shape (1 + draws,), optional
        Cans down in a million after the change, by size, in place of what the model says of it.

    Returns
    -------
    Saving
        With 95 % intervals of all of it.

    Raises
    ------
    InputError
        If no size of the figures has tips.

    Notes
    -----
    With a a year's saving, P the price, i the discount rate and n the years, the payback is P/a and
    the net present value −P + a (1 − (1 + i)^−n)/i, a at the end of each year.
    """
    used = [one for one in figures.sizes if one.size in tips]
    if not used:
        known = ", ".join(repr(size) for size in tips)
        raise InputError("sizes", ", ".join(one.size for one in figures.sizes), f"one of {known}")
    draws = next(iter(tips.values())).shape[0] - 1
    value = {key: drawn(one, rng, draws) for key, one in figures.given.items()}
    after = after or {}
    rows, cans, unknown = [], np.zeros(1 + draws), np.zeros(1 + draws, dtype=bool)
    for one in used:
        row, saved = saving_of_size(one, tips[one.size], rng, after.get(one.size))
        rows.append(row)
        cans = cans + saved
        if one.size not in after:
            unknown |= silent(one, tips[one.size])
    hours = _hours(value, cans, brackets)
    money = _money(value, cans, hours)
    payback, npv, paid = _paying(value, money)
    return Saving(
        figures=figures,
        sizes=tuple(rows),
        brackets=brackets,
        draws=draws,
        saved_cans_per_year=Spread.of(cans),
        saved_hours_per_year=_told(hours),
        saved_money_per_year=_told(money),
        price=_told(value.get("price_of_change")),
        payback_years=_told(payback),
        net_present_value=_told(npv),
        never=0.0 if payback is None else float(np.mean(np.isinf(payback[1:]))),
        pays=0.0 if paid is None else float(np.mean(paid[1:])),
        pays_as_taken=paid is not None and bool(paid[0]),
        unknown=0.0 if paid is None else float(np.mean((unknown & ~paid)[1:])),
    )


def _paying(
    value: Mapping[str, Floats], money: Floats | None
) -> tuple[Floats | None, Floats | None, Bools | None]:
    """Return payback, net present value and whether it pays; None of it where figures lack."""
    price = value.get("price_of_change")
    if money is None or price is None:
        return None, None, None
    over = np.full(money.size, np.inf)
    payback = np.divide(price, money, out=over, where=money > 0.0)
    if {"years", "discount_rate"} <= value.keys():
        npv = money * annuity(value["discount_rate"], value["years"]) - price
        return payback, npv, npv >= 0.0
    return payback, None, payback <= value.get("years", sys.float_info.max)


def annuity(rate: Floats, years: Floats) -> Floats:
    """Return what 1 at the end of each year is worth today: (1 − (1 + i)^−n)/i, n without interest.

    Examples
    --------
    >>> annuity(np.array([0.1, 0.0]), np.array([2.0, 2.0])).round(6).tolist()
    [1.735537, 2.0]
    """
    held = -np.expm1(-years * np.log1p(rate))
    return np.divide(held, rate, out=np.array(years, dtype=np.float64), where=rate > 1e-12)


def _hours(value: Mapping[str, Floats], cans: Floats, brackets: tuple[int, int]) -> Floats | None:
    """Return the hours saved in a year, as far as figures tell; None where none does."""
    parts = []
    if "jam_minutes" in value:
        parts.append(cans * value["jam_minutes"])
    if {"size_changes_a_year", "minutes_a_bracket"} <= value.keys():
        now = value["minutes_a_bracket"]
        then = value.get("minutes_a_bracket_after", now)
        parts.append(value["size_changes_a_year"] * (brackets[0] * now - brackets[1] * then))
    return _sum(parts, 1.0 / 60.0)


def _money(value: Mapping[str, Floats], cans: Floats, hours: Floats | None) -> Floats | None:
    """Return the money saved in a year, as far as figures tell; None where none does."""
    parts = [cans * value[key] for key in ("can_value", "cleaning", "metal") if key in value]
    if hours is not None:
        parts += [hours * value[key] for key in ("line_hour", "crew_hour") if key in value]
    return _sum(parts)


def _sum(parts: Sequence[Floats], scale: float = 1.0) -> Floats | None:
    return scale * np.sum(parts, axis=0) if parts else None


def _told(draws: Floats | None) -> Spread | None:
    return None if draws is None else Spread.of(draws)
