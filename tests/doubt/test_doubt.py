"""What decides a verdict: shares, swings and indices against independent ways to the same."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from packsim import answer_stage, load_scenario
from packsim.answers.answer_inputs import InputAnswers
from packsim.doubt import confidence, doubt
from packsim.doubt.confidence import rng_of, share_interval, values_at
from packsim.doubt.measuring import ACTIONS
from packsim.doubt.shares import REST, _indices, shares
from packsim.doubt.tornado import QUANTITIES, tornado
from packsim.errors import whole_percent
from packsim.line import Scenario, with_value
from packsim.line.input_range import InputRange

FIRST = load_scenario("scenarios/first_look.toml")
SWING = load_scenario("scenarios/swing_line.toml")


def only(line: Scenario, *keys: str) -> Scenario:
    """The line with every input exact but some."""
    ranges = tuple(
        one if one.key in keys else replace(one, low=one.value, high=one.value)
        for one in line.ranges
    )
    return replace(line, ranges=ranges)


def near(line: Scenario, stage: str = "wash", size: str = "211 body") -> InputAnswers:
    return InputAnswers(line, stage, size)


# ---- indices against published values


def ishigami(x: np.ndarray) -> np.ndarray:
    """The Ishigami function, a = 7 and b = 0.1."""
    return np.sin(x[0]) + 7.0 * np.sin(x[1]) ** 2 + 0.1 * x[2] ** 4 * np.sin(x[0])


def test_indices_of_the_ishigami_function_are_those_published():
    # closed forms with a = 7, b = 0.1, [ishigami1990]_; digits as in [saltelli2008]_
    rng = np.random.default_rng(7)
    one, other = rng.uniform(-math.pi, math.pi, (2, 3, 2**15))
    looked = [one, other]
    groups = [[0], [1], [2], [0, 2]]
    for group in groups:
        mixed = one.copy()
        mixed[group] = other[group]
        looked.append(mixed)
    told = np.array([[ishigami(each)] for each in looked])
    found = _indices(["x1", "x2", "x3", "x1 and x3"], told, rng)
    first = [0.3139, 0.4424, 0.0, 0.3139 + 0.2437]
    total = [0.5576, 0.4424, 0.2437, 0.5576]
    for each, want, whole in zip(found, first, total, strict=True):
        assert each.first[0] == pytest.approx(want, abs=0.02)
        assert each.total[0] == pytest.approx(whole, abs=0.02)
        assert each.first_low[0] <= each.first[0] <= each.first_high[0]
        assert each.first_low[0] - 0.01 < want < each.first_high[0] + 0.01
        assert each.total_high[0] - each.total_low[0] < 0.05


def test_an_input_that_does_nothing_has_no_share_left_over_from_the_sums():
    rng = np.random.default_rng(5)
    one, other = rng.random((2, 1, 512))
    still, moved = _indices(["still", "moved"], np.array([one, other, one + 1e-15, other]), rng)
    for name in ("first", "first_low", "first_high", "total", "total_low", "total_high"):
        assert getattr(still, name) == (0.0,), name
    assert moved.total[0] == pytest.approx(1.0, abs=0.2)


def test_errors_are_those_of_the_library_that_gives_the_indices():
    from scipy.stats import sobol_indices, uniform

    dists = [uniform(-math.pi, 2.0 * math.pi)] * 3
    got = sobol_indices(func=ishigami, n=1024, dists=dists, rng=np.random.default_rng(3))
    theirs = got.bootstrap(n_resamples=200).first_order.confidence_interval
    rng = np.random.default_rng(3)
    one, other = rng.uniform(-math.pi, math.pi, (2, 3, 1024))
    looked = [one, other]
    for k in range(3):
        mixed = one.copy()
        mixed[k] = other[k]
        looked.append(mixed)
    ours = _indices(["a", "b", "c"], np.array([[ishigami(each)] for each in looked]), rng)
    for k, each in enumerate(ours):
        width = each.first_high[0] - each.first_low[0]
        assert width == pytest.approx(theirs.high[k] - theirs.low[k], rel=0.5)


# ---- indices against closed forms of our own budget


BUDGET = ("sizes[0].diameter_tol", "guides.guide_wear_each_side", "stages[0].clear_width")


def test_shares_of_a_linear_budget_are_those_of_its_variances():
    # loosest slack = clear width + 2 wear + tolerance times diameters across, plus what is exact;
    # the growth of the frame scales the width by a share of a thousandth
    line = only(FIRST, *BUDGET)
    ranges = {one.key: one for one in line.ranges}
    across = answer_stage(FIRST, "wash", "211 body").budget.pack_width_mm / 66.09
    slopes = dict(zip(BUDGET, (across, 2.0, 1.0), strict=True))
    variances = {
        key: slope**2 * (ranges[key].high - ranges[key].low) ** 2 / 12.0
        for key, slope in slopes.items()
    }
    found, _ = shares(near(line), tornado(near(line)), "held", np.random.default_rng(1), cases=4096)
    told = {one.name: one for one in found}
    for key, variance in variances.items():
        want = variance / sum(variances.values())
        assert told[key].first[2] == pytest.approx(want, abs=0.01)
        assert told[key].total[2] == pytest.approx(want, abs=0.01)


def test_an_input_made_exact_loses_just_its_share():
    some = only(FIRST, *BUDGET)
    found, _ = shares(near(some), tornado(near(some)), "held", np.random.default_rng(1), cases=4096)
    first = {one.name: one.first[2] for one in found}
    gone = "guides.guide_wear_each_side"
    rest = only(FIRST, *(key for key in BUDGET if key != gone))
    spread = []
    for line in (some, rest):
        draws = np.random.default_rng(5).random((len(near(line).inputs), 20_000))
        slack = near(line).answers(values_at(near(line).inputs, draws)).loosest_slack_mm
        spread.append(float(np.var(slack)))
    assert 1.0 - spread[1] / spread[0] == pytest.approx(first[gone], abs=0.02)
    left, _ = shares(near(rest), tornado(near(rest)), "held", np.random.default_rng(1), cases=4096)
    assert gone not in {one.name for one in left}
    kept = {one.name: one.first[2] for one in left}
    for key, share in kept.items():
        assert share == pytest.approx(first[key] / (1.0 - first[gone]), abs=0.02)


def test_a_measurement_settles_what_its_inputs_share_less_what_it_leaves_open():
    line = only(FIRST, "sizes[0].diameter_tol", "guides.guide_wear_each_side")
    caliper = next(one for one in ACTIONS if one.settled("sizes[0].diameter_tol"))
    rng = np.random.default_rng(1)
    found, settled = shares(
        near(line), tornado(near(line)), "held", rng, actions=[caliper], cases=4096
    )
    alone = next(one.first[2] for one in found if one.name == "sizes[0].diameter_tol")
    assert 0.7 * alone < settled[0].first[2] < alone


# ---- swings against direct answers


def test_swings_are_the_answers_at_both_ends():
    for swing in tornado(near(FIRST)):
        for k, end in enumerate((swing.input.low, swing.input.high)):
            alone = answer_stage(with_value(FIRST, swing.input.key, end), "wash", "211 body")
            told = (swing.low, swing.high)[k]
            want = (
                alone.tipping.loosest.worst,
                alone.tipping.safe.slack_mm,
                alone.budget.loosest_mm,
                alone.window.width_mm,
            )
            assert told == pytest.approx(want, rel=1e-9, abs=1e-9), swing.input.key
            assert swing.verdicts[k] == alone.tipping.verdict
    assert len(QUANTITIES) == 4


def test_where_a_verdict_turns_is_where_the_answer_turns():
    swings = {swing.input.key: swing for swing in tornado(near(SWING, "drain", "sleek body"))}
    turned = [swing for swing in swings.values() if not math.isnan(swing.known_within)]
    assert turned
    for swing in turned:
        for at, sign in zip(swing.turns, (-1.0, 1.0), strict=True):
            if math.isnan(at) or swing.input.choices:
                continue
            step = 1e-3 * (swing.input.high - swing.input.low)
            words = [
                answer_stage(
                    with_value(SWING, swing.input.key, value), "drain", "sleek body"
                ).tipping.verdict
                for value in (at - sign * step, at)
            ]
            assert words[0] == "can tip" != words[1], swing.input.key


# ---- confidence against brute sampling


@pytest.mark.parametrize(
    ("line", "stage", "size"),
    [
        (FIRST, "wash", "211 body"),
        pytest.param(SWING, "drain", "sleek body", marks=pytest.mark.all),
        pytest.param(SWING, "treatment", "211 body", marks=pytest.mark.all),
    ],
)
def test_confidence_is_the_share_of_full_answers(line, stage, size):
    cases = 250
    asked = near(line, stage, size)
    rng = np.random.default_rng(99)
    values = values_at(asked.inputs, rng.random((len(asked.inputs), cases)))
    now, stands = answer_stage(line, stage, size).tipping.verdict, 0
    for k in range(cases):
        case = line
        for key, each in values.items():
            case = with_value(case, key, float(each[k]))
        stands += answer_stage(case, stage, size).tipping.verdict == now
    sure = confidence(asked, rng_of(line, stage, size, line.seed), 4000)
    assert sure.verdict == now
    low, high = share_interval(stands, cases)
    assert low - 0.02 < sure.share < high + 0.02
    assert sum(sure.shares) == pytest.approx(1.0)


def test_nothing_open_is_all_sure():
    sure = confidence(near(only(FIRST)), np.random.default_rng(0))
    assert (sure.share, sure.others, sure.said) == (1.0, (), "held in 100 % of what is possible")
    found = doubt(only(FIRST))
    assert found.measures == ()
    assert found.places[0].swings == ()


def test_the_same_seed_draws_the_same_whatever_else_is_asked():
    whole = doubt(SWING, size="211 body", stage=["drain", "pre-rinse"])
    part = doubt(SWING, size="211 body", stage="pre-rinse")
    assert part.places[0] == whole.place("pre-rinse", "211 body")
    other = doubt(SWING, "211 body", "pre-rinse", rng=np.random.default_rng(4))
    assert other.seed != part.seed
    assert other.places[0].confidence.shares != part.places[0].confidence.shares


def test_wilson_interval():
    # 95 % score interval of 81 of 263, [newcombe1998]_ table I: 0.2553 to 0.3662
    assert share_interval(81, 263) == pytest.approx((0.2553, 0.3662), abs=5e-5)
    assert share_interval(0, 20)[0] == 0.0
    assert [whole_percent(x) for x in (0.0, 0.994, 0.996)] == ["0 %", "99 %", "over 99 %"]


def test_draws_follow_their_shapes():
    shares_of = np.linspace(0.0005, 0.9995, 1000)
    even = InputRange("a", 2.0, 1.0, 5.0, "given", "")
    assert even.at_shares(shares_of).mean() == pytest.approx(3.0)
    normal = InputRange("a", 2.0, 1.0, 3.0, "measured", "", shape="normal")
    values = normal.at_shares(shares_of)
    assert values.std() == pytest.approx(0.5, rel=0.01)  # half the range is two deviations
    assert np.mean((values > 1.0) & (values < 3.0)) == pytest.approx(0.9545, abs=0.002)
    words = InputRange("a", 0.0, 0.0, 2.0, "assumed", "", "choice", choices=("x", "y", "z"))
    assert np.unique(words.at_shares(shares_of), return_counts=True)[1] == pytest.approx(333, abs=2)


# ---- the measuring list


def test_the_layout_then_the_diameter_are_first_on_a_line_nobody_measured():
    line = load_scenario("scenarios/imperial_line.toml")
    found = doubt(line, size="211 body", stage=["pre-rinse", "rinse"])
    first, second = found.measures[:2]
    assert first.action.settled("stages[0].rows")
    assert second.action.settled("sizes[0].diameter")
    assert found.measures[0].worth_per_min >= found.measures[1].worth_per_min
    assert REST in {share.name for share in found.places[0].shares}


def test_every_action_settles_inputs_there_are_and_says_what_to_write():
    keys = {one.key for line in (FIRST, SWING) for one in line.ranges}
    keys |= {"guides.bracket_spacing", "stages[0].brackets[0].left"}
    for action in ACTIONS:
        assert any(action.settled(key) for key in keys), action.name
        assert action.write_down
        assert action.tools
        assert action.takes_min(SWING.ranges) > 0.0
    assert len({action.name for action in ACTIONS}) == len(ACTIONS)
