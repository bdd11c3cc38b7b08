"""What a saving reads like: the answer follows the numbers beside it."""

from __future__ import annotations

import datetime as dt
import re
from types import SimpleNamespace

import numpy as np
import pytest

from packsim.counts.intervals import per_million_interval
from packsim.money.down import Spread
from packsim.money.proposal import Counted
from packsim.report.words.money_words import answer_words, saving_rows, spread_words
from packsim.report.words.numbers import per_million
from packsim.report.words.proposal_words import (
    assumed_words,
    basis_words,
    case_words,
    counted_words,
    settle_words,
)
from packsim.trial.trial import Trial
from tests.money.test_saving import MANY, figures, saved, size, tips


def answer(before: float, after: float, spread: float, **given: float) -> tuple[str, str]:
    return answer_words(saved(figures(size(), **given), tips(before, after, spread)))


@pytest.mark.parametrize(
    ("after", "price", "said"),
    [
        (
            2.0,
            300,
            "It pays, in over 99 % of what is possible: it brings back its price in 4 months",
        ),
        (30.0, 300, "It does not pay, in over 99 % of what is possible: it costs more every year"),
        (
            2.0,
            90_000,
            "It does not pay, in over 99 % of what is possible: it brings back its price in",
        ),
        (2.0, 0, "It pays, in over 99 % of what is possible: it brings back its price at once."),
    ],
)
def test_the_answer(after: float, price: float, said: str) -> None:
    head, sums = answer(12.0, after, 0.0, can_value=1, price_of_change=price, years=5)
    assert head.startswith(said)
    more = "then" if after > 12.0 else "saves"
    assert sums.startswith(f"It costs {price:,} EUR and {more} ")


def test_where_the_model_cannot_tell_the_answer_does_not_either() -> None:
    one = figures(size(counted=MANY, down=MANY // 1000), can_value=1, price_of_change=10)
    head, sums = answer_words(saved(one, np.zeros((4001, 2))))
    assert head == (
        "It cannot be told yet whether it pays: in over 99 % of what is possible the model tips no "
        "can today and cannot say which share of those counted is saved; it pays in 0 % of what is "
        "possible."
    )
    assert sums == "With nothing saved where that is so, it costs 10.00 EUR and saves 0 EUR a year."


def test_a_payback_later_than_the_change_serves_says_so() -> None:
    head, _ = answer(12.0, 2.0, 0.0, can_value=1, price_of_change=90_000, years=5)
    assert head.endswith("it brings back its price in 90 years, but is to serve 5 years.")


def test_an_open_answer_says_in_which_share_it_pays_and_in_which_it_never_does() -> None:
    head, _ = answer(30.0, 27.0, 0.5, can_value=1, price_of_change=10)
    assert head.startswith("It cannot be told yet whether it pays: it does in ")
    assert "to never)" in head
    assert "of what is possible it never does." in head


def test_a_verdict_never_contradicts_the_payback_beside_it() -> None:
    """As all is taken more cans tip after the change; in all else that is possible, far fewer."""
    worse = np.array([[3.0, 4.0], *[[30.0, 3.0]] * 100])
    found = saved(figures(size(), can_value=1, price_of_change=10), worse)
    assert (found.pays, found.pays_as_taken) == (1.0, False)
    head, sums = answer_words(found)
    assert head == (
        "It cannot be told yet whether it pays: it does in 99 % of what is possible; as taken, it "
        "costs more every year, so it never brings back its price (1 day to never)."
    )
    assert sums == "It costs 10.00 EUR and saves −100 (−100 to 2,700) EUR a year."
    found = saved(found.figures, worse[:, ::-1])
    assert (found.pays, found.pays_as_taken) == (0.0, True)
    assert answer_words(found)[0].startswith(
        "It cannot be told yet whether it pays: it does in 0 % of what is possible; as taken, it "
        "brings back its price in "
    )


def test_a_unit_of_both_ends_is_said_once() -> None:
    head, _ = answer(30.0, 3.0, 0.2, can_value=1, price_of_change=1500)
    assert re.search(r"in \d months \(\d to \d+ months\)", head), head


def test_without_a_price_the_answer_names_what_is_missing() -> None:
    head, sums = answer(30.0, 3.0, 0.0, can_value=1)
    assert head == "Whether it pays cannot be worked out: the figures lack price_of_change."
    assert sums == "It saves 2,700 cans a year; saved 2,700 EUR a year."
    head, sums = answer(30.0, 3.0, 0.0)
    assert head.endswith("the figures lack can_value, or another price of a can down.")
    assert sums == "It saves 2,700 cans a year."


def test_a_loss_reads_as_one() -> None:
    found = saved(figures(size(), can_value=1), tips(3.0, 30.0, 0.0))
    assert answer_words(found)[1] == "It costs 2,700 cans a year more; saved −2,700 EUR a year."
    found = saved(figures(size(), can_value=1, price_of_change=10), tips(3.0, 30.0, 0.0))
    assert answer_words(found)[1] == "It costs 10.00 EUR and then 2,700 EUR more a year than today."
    assert saving_rows(found)[0][1] == ("3.0", "30", "−900 %")


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [(3.0, 32.9, "−997 %"), (3.0, 36.0, "12.0"), (0.003, 11.0, "3,670"), (1e-9, 3.0, "over a")],
)
def test_of_next_to_none_no_share_is_told_but_how_many_times_as_many(
    before: float, after: float, said: str
) -> None:
    """Told is the share up to ten times as many more, the ratio of the two beyond it."""
    found = saved(figures(size()), tips(before, after, 0.0))
    cell = saving_rows(found)[0][1][2]
    assert cell.startswith(said)
    assert cell.endswith("times as many" if after > 11.0 * before else "%")
    (row,) = found.sizes
    assert row.left_over.best == pytest.approx(after / before)


def test_a_loss_that_is_not_known_well_has_its_interval() -> None:
    lost = Spread(-53_000.0, (-3_240_000.0, -163.0))
    assert spread_words(lost, per_million) == "−53,000 (−3,240,000 to −163)"
    assert spread_words(Spread(-2.0, (-2.0, 2.0)), per_million) == "−2.0 (−2.0 to 2.0)"
    assert spread_words(Spread(-2.0, (-2.01, -1.99)), per_million) == "−2.0"


def test_an_end_of_a_share_that_is_told_as_a_ratio_takes_all_of_it_along() -> None:
    found = saved(figures(size()), np.array([[3.0, 2.7], *[[3.0, 1.5], [0.0003, 1.5]] * 50]))
    assert saving_rows(found)[0][1][2] == "0.9 (0.5–5,000) times as many"


def test_what_is_taken_for_granted_is_said() -> None:
    counted = size(counted=MANY, down=MANY // 1000)
    said = " ".join(assumed_words(saved(figures(counted), tips(3.0, 1.0))))
    assert "all cans counted as down are taken to have tipped" in said
    assert "Not in the sums, as no figure was given: can_value, cleaning, metal, " in said
    bare = basis_words(saved(figures(size()), tips(3.0, 1.0)))
    assert bare.startswith("Nobody counted the cans down of slim")
    none = assumed_words(saved(figures(counted), np.zeros((4001, 2))))
    assert any("the model does not explain so many cans down: it tips 0 in a" in x for x in none)
    assert any("in over 99 % of what is possible the model tips none today" in x for x in none)
    wide = tips(3.0, 1.0, 3.0)
    wide[0] = wide[-1] = (3.0, 1.0)
    few = size(counted=1_000_000, down=2)
    assert not any("does not explain" in line for line in assumed_words(saved(figures(few), wide)))


def test_a_changed_copy_of_the_same_name_is_called_changed() -> None:
    def case(now: str, then: str) -> str:
        names = SimpleNamespace(before=SimpleNamespace(name=now), after=SimpleNamespace(name=then))
        return case_words(names)

    assert (case("Line 4", "Line 4"), case("A", "B")) == ("Line 4, changed", "A → B")


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        (0.5, "a trial: count the cans down of 150,000 cans on each machine (30 minutes of"),
        (199.0, "a trial: count the cans down of 150,000 cans on each machine (199 hours of"),
        (4321.0, "no trial: to tell them apart takes 150,000 cans on each machine (4,320 hours"),
    ],
)
def test_a_trial_nobody_runs_so_long_is_called_none(hours: float, said: str) -> None:
    found = saved(figures(size()), tips(3.0, 1.0))
    proposal = SimpleNamespace(
        measures=(), saving=found, size="slim", trial_cans=150_000.0, trial_hours=hours
    )
    (trial,) = settle_words(proposal)
    assert trial.startswith(said)
    assert ("too long to be run. Judge the change by measuring first" in trial) is (hours > 200.0)


def test_a_trial_beside_its_forecast_says_by_how_much_it_was_off() -> None:
    def told(tipped: int, foretold: tuple[float, float, float]) -> str:
        best, low, high = foretold
        trial = Trial("week 12", dt.date(2025, 3, 4), "slim", 1_000_000, tipped, ())
        rate = np.array([tipped, 0.9 * tipped, 1.1 * tipped]) / np.array([best, high, low])
        one = Counted(
            trial=trial,
            foretold=Spread(best, (low, high)),
            down_per_million=tipped,
            down_per_million_interval=per_million_interval(tipped, 1_000_000),
            off=Spread(rate[0], (rate[1], rate[2])),
            saving=saved(figures(size(), can_value=1), tips(9.0, 3.0)),
        )
        said, _, then = counted_words(one, one.saving).partition(" With as many down as counted ")
        assert then == "that answer stays."
        other = saved(figures(size(), can_value=1), tips(9.0, 2.0))
        assert counted_words(one, other).startswith(
            f"{said} With as many down as counted it saves "
        )
        return said

    assert told(100, (95.0, 80.0, 110.0)).endswith("what is between them may be chance.")
    assert "too low: 4.00 times as many" in told(400, (100.0, 100.0, 100.0)).replace(
        " (3.60–4.40)", ""
    )
    assert told(50, (200.0, 200.0, 200.0)).endswith(
        "The forecast was too high: 25 % (22 %–28 %) of those foretold were down."
    )
