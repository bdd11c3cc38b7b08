"""What a change saves: by hand, and where nothing is to be saved."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.line.input_range import InputRange
from packsim.money import Figures, SizeFigures, saving_of

DRAWS = 4000
MANY = 10**12
"""So many cans counted that the count leaves nothing open."""


def exact(key: str, value: float) -> InputRange:
    return InputRange(key, value, value, value, "given", "your figure")


def figures(*sizes: SizeFigures, **given: float) -> Figures:
    return Figures("EUR", sizes, {key: exact(key, value) for key, value in given.items()})


def size(cans: float = 1e8, counted: int = 0, down: int = 0, name: str = "slim") -> SizeFigures:
    return SizeFigures(name, exact("cans_a_year", cans), counted, down)


def tips(before: float, after: float, spread: float = 0.0) -> np.ndarray:
    """The tips per million before and after, then draws of them, log-normal about these."""
    rng = np.random.default_rng(5)
    normal = np.vstack((np.zeros((1, 2)), rng.standard_normal((DRAWS, 2))))
    return np.array([before, after]) * np.exp(spread * normal)


def saved(found: Figures, *drawn: np.ndarray, brackets: tuple[int, int] = (10, 10)):
    each = {one.size: draws for one, draws in zip(found.sizes, drawn, strict=False)}
    return saving_of(found, each, brackets, np.random.default_rng(3))


def near(value: float) -> object:
    return pytest.approx(value, rel=1e-9)


def test_a_case_worked_by_hand() -> None:
    """A line of 100 million cans of which 400 in a million are down; the model halves its tips.

    Saved a year: 100e6 × 400e-6 × (1 − 30/60)              =   20,000 cans
    Jams: 20,000 × 0.06 min                                  = 1,200 min = 20 h
    Size changes: 50 × (10 × 6 min − 12 × 3 min)             = 1,200 min = 20 h
    Cans: 20,000 × (0.05 + 0.20 + 0.01)                      =    5,200
    Hours: 40 h × (700 + 100)                                =   32,000
    Saved: 5,200 + 32,000                                    =   37,200 a year
    Payback: 55,800 / 37,200                                 =      1.5 years
    Worth in 2 years at 10 %: 37,200 × (1/1.1 + 1/1.21) − 55,800 = 8,762
    """
    found = saved(
        figures(
            size(1e8, MANY, 4 * MANY // 10_000),
            can_value=0.05,
            cleaning=0.2,
            metal=0.01,
            jam_minutes=0.06,
            size_changes_a_year=50,
            minutes_a_bracket=6,
            minutes_a_bracket_after=3,
            line_hour=700,
            crew_hour=100,
            price_of_change=55_800,
            years=2,
            discount_rate=0.1,
        ),
        tips(60.0, 30.0),
        brackets=(10, 12),
    )
    assert found.saved_cans_per_year.best == near(20_000)
    assert found.saved_hours_per_year.best == near(40)
    assert found.saved_money_per_year.best == near(37_200)
    assert found.payback_years.best == near(1.5)
    assert found.net_present_value.best == pytest.approx(8_761.98, abs=0.005)
    assert (found.verdict, found.never, found.pays) == ("pays", 0.0, 1.0)
    assert found.left_out == {}


def test_net_present_value_is_that_of_the_flows_one_by_one() -> None:
    for rate, years in ((0.0, 4), (0.07, 9), (0.3, 1)):
        found = saved(
            figures(size(), can_value=1, price_of_change=500, years=years, discount_rate=rate),
            tips(5.0, 2.0),
        )
        flows = [-500.0, *[300.0] * years]
        by_hand = sum(flow / (1.0 + rate) ** k for k, flow in enumerate(flows))
        assert found.net_present_value.best == pytest.approx(by_hand)


def test_before_that_is_after_saves_nothing_and_never_pays() -> None:
    draws = tips(400.0, 400.0, 0.3)
    draws[:, 1] = draws[:, 0]
    for one in (size(), size(counted=1_000_000, down=300)):
        found = saved(figures(one, can_value=0.1, price_of_change=10), draws)
        assert found.saved_cans_per_year.interval == (0.0, 0.0)
        assert found.payback_years.best == np.inf
        assert (found.never, found.verdict) == (1.0, "does not pay")


def test_the_other_way_round_it_costs_what_it_saved() -> None:
    one, draws = figures(size(), can_value=0.1, jam_minutes=1, line_hour=60), tips(90.0, 20.0, 0.2)
    there, back = saved(one, draws), saved(one, draws[:, ::-1])
    low, high = there.saved_money_per_year.interval
    assert back.saved_money_per_year.best == pytest.approx(
        -there.saved_money_per_year.best, rel=1e-2
    )
    assert back.saved_money_per_year.interval == pytest.approx((-high, -low), rel=1e-2)


@given(times=st.floats(0.01, 100.0))
def test_twice_the_cans_save_twice(times: float) -> None:
    draws = tips(90.0, 20.0, 0.2)
    one = saved(figures(size(1e7, 10**6, 80), can_value=0.1), draws)
    more = saved(figures(size(1e7 * times, 10**6, 80), can_value=0.1), draws)
    for key in ("saved_cans_per_year", "saved_money_per_year"):
        assert getattr(more, key).best == pytest.approx(times * getattr(one, key).best)
        assert getattr(more, key).interval == pytest.approx(
            tuple(times * end for end in getattr(one, key).interval)
        )


def test_sizes_add_up() -> None:
    two = figures(size(1e7), size(3e7, name="other"), can_value=0.1)
    found = saved(two, tips(90.0, 20.0), tips(50.0, 40.0))
    assert found.saved_cans_per_year.best == pytest.approx(10 * 70 + 30 * 10)
    assert [one.saved_cans_per_year.best for one in found.sizes] == [
        pytest.approx(700),
        pytest.approx(300),
    ]


def test_of_the_model_the_ratio_alone_counts_where_the_line_was_counted() -> None:
    one = figures(size(1e8, 2_000_000, 100), can_value=0.1)
    weak, strong = (saved(one, scale * tips(60.0, 15.0, 0.1)) for scale in (1.0, 50.0))
    assert weak.saved_cans_per_year.best == near(strong.saved_cans_per_year.best)
    assert weak.saved_cans_per_year.best == pytest.approx(1e8 * 50e-6 * 0.75, rel=0.02)
    assert weak.all_counted
    assert not saved(figures(size(), can_value=0.1), tips(60.0, 15.0)).all_counted


def test_where_the_model_tips_none_before_nothing_counts_as_saved() -> None:
    one = figures(size(1e8, 2_000_000, 100), can_value=0.1, price_of_change=1)
    none = saved(one, tips(0.0, 0.0))
    assert none.saved_cans_per_year.best == 0.0
    assert none.sizes[0].says_nothing == 1.0
    assert not none.sizes[0].explained
    assert (none.unknown, none.verdict) == (1.0, "cannot be told yet")
    barely = saved(one, tips(9e-4, 1e-9))  # one can in 10^9 is as good as none
    assert barely.saved_cans_per_year.best == pytest.approx(0.0, abs=1e-3)
    worse = saved(one, tips(0.0, 7.0))
    assert worse.saved_cans_per_year.best == pytest.approx(-700.0)
    assert worse.verdict == "does not pay"


def test_what_is_missing_is_named_and_left_out() -> None:
    found = saved(figures(size()), tips(60.0, 15.0))
    assert found.saved_cans_per_year.best == pytest.approx(4500.0)
    assert found.saved_hours_per_year is None
    assert found.saved_money_per_year is None
    assert found.verdict == "cannot be worked out"
    assert {"can_value", "price_of_change", "jam_minutes", "years"} <= found.left_out.keys()
    only = saved(figures(size(), can_value=0.1), tips(60.0, 15.0))
    assert only.saved_money_per_year.best == pytest.approx(450.0)
    assert only.payback_years is None


def test_a_price_of_zero_is_paid_at_once_where_anything_is_saved() -> None:
    one = figures(size(), can_value=0.1, price_of_change=0)
    assert saved(one, tips(60.0, 15.0)).payback_years.best == 0.0
    assert saved(one, tips(60.0, 15.0)).verdict == "pays"
    assert saved(one, tips(15.0, 60.0)).verdict == "does not pay"


def test_a_line_whose_side_support_does_not_pay() -> None:
    """Few cans are down, so that even none at all would not bring back the price in five years."""
    one = figures(
        size(5e7, 40_000_000, 80), can_value=0.05, cleaning=0.1, price_of_change=60_000, years=5,
        discount_rate=0.08,
    )  # fmt: skip
    found = saved(one, tips(30.0, 1.0, 0.4))
    assert found.saved_money_per_year.interval[0] > 0.0
    assert found.verdict == "does not pay"
    assert found.net_present_value.interval[1] < 0.0


def test_an_interval_that_straddles_cannot_be_told() -> None:
    found = saved(figures(size(), can_value=0.1, price_of_change=10), tips(30.0, 27.0, 0.5))
    assert found.verdict == "cannot be told yet"
    assert 0.025 < found.never < 0.975
    assert found.payback_years.interval[1] == np.inf
    assert found.never == pytest.approx(1.0 - found.pays)


def test_sizes_without_a_chance_have_no_part() -> None:
    one = figures(size(name="other"), can_value=0.1)
    with pytest.raises(InputError, match="sizes: got other; needs one of 'slim'"):
        saving_of(one, {"slim": tips(1.0, 1.0)}, (1, 1), np.random.default_rng(1))


@pytest.mark.all
def test_the_payback_interval_holds_the_truth_as_often_as_it_says() -> None:
    """Simulated lines: counts and repeats of passages about a truth that is known.

    Each line is counted (Poisson) and its chance is worked out with a known spread; the interval
    from both must hold the true payback in 95 of 100 cases.
    """
    rng, held, lines = np.random.default_rng(20), 0, 2000
    for _ in range(lines):
        rate, ratio, spread = rng.uniform(20.0, 500.0), rng.uniform(0.05, 0.7), 0.15
        cans, counted = 1e8, 200_000
        truth = 1000.0 / (cans * rate * (1.0 - ratio) * 1e-6 * 0.1)
        down = int(rng.poisson(rate * counted / 1e6))
        middle = np.array([rate, rate * ratio]) * np.exp(spread * rng.standard_normal(2))
        normal = np.vstack((np.zeros((1, 2)), rng.standard_normal((2000, 2))))
        draws = middle * np.exp(spread * normal)
        one = figures(size(cans, counted, down), can_value=0.1, price_of_change=1000)
        low, high = saving_of(one, {"slim": draws}, (1, 1), rng).payback_years.interval
        held += low <= truth <= high
    assert 0.935 <= held / lines <= 0.965


def test_what_a_trial_counted_stands_in_place_of_what_is_foretold() -> None:
    """Of 100 million cans 400 in a million are down, then 150: 25,000 saved, whatever the model."""
    one = figures(size(1e8, MANY, 400 * MANY // 10**6), can_value=0.1, price_of_change=5_000)
    counted = {"slim": np.full(1 + DRAWS, 150.0)}
    for draws in (tips(60.0, 15.0, 0.2), tips(0.0, 0.0)):
        found = saving_of(one, {"slim": draws}, (1, 1), np.random.default_rng(3), counted)
        assert found.saved_cans_per_year.best == near(25_000)
        assert found.payback_years.best == near(2.0)
        assert (found.unknown, found.verdict) == (0.0, "pays")


def test_counted_cans_are_no_fewer_than_those_down() -> None:
    with pytest.raises(InputError, match="cans_down: got 3; needs no more than the 2"):
        replace(size(), cans_counted=2, cans_down=3)


def test_a_count_is_explained_where_the_model_leaves_room_for_those_that_had_tipped() -> None:
    draws = tips(60.0, 15.0, 0.3)
    for down, share, explained in ((60, 1.0, True), (6000, 1.0, False), (6000, 0.01, True)):
        one = replace(size(1e8, 1_000_000, down), tipped_share=exact("tipped_share", share))
        assert saved(figures(one), draws).sizes[0].explained is explained
