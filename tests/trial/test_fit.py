"""Fits against an independent likelihood, and what they say when the counts cannot tell."""

from __future__ import annotations

import math
from collections.abc import Callable
from math import log

import numpy as np
import pytest
from scipy import optimize, stats

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.tipping.row_chance import log_kick_chances
from packsim.trial.fit import fit_trials
from packsim.trial.likelihood import estimate
from packsim.trial.quality import deviance, quality_of
from packsim.trial.stage_case import LineCases
from packsim.trial.statements import statements
from packsim.trial.trial import Trial
from packsim.trial.two_rates import two_count_p

MakeTrial = Callable[..., Trial]
COUNTS = ((44.0, 400_000, 51), (38.0, 600_000, 24), (47.0, 200_000, 40))


def chance(line: Scenario, index: int, slack_trial: Trial, energy: float) -> float:
    """A stage's chance straight from the plain row model, with no table in between."""
    stage = line.stages[index]
    case = LineCases(line, "slim").case(index, slack_trial.width_mm(stage.name))
    assert case.row is not None
    one_way = np.exp(log_kick_chances(case.slack_mm, case.row, np.array([energy]))[0])
    each = (one_way + one_way[::-1]) / 2.0
    dwell = stage.length_mm / line.mat.speed_mm_per_s
    return float(-np.expm1(-stage.kicks.rate_per_s * dwell * each).mean())


def test_the_fit_agrees_with_an_independent_likelihood(
    line: Scenario, make_trial: MakeTrial
) -> None:
    trials = [make_trial(slack, cans, (tips, 0, 0)) for slack, cans, tips in COUNTS]

    def loss(log_energy: float) -> float:
        energy = math.exp(log_energy)
        means = [t.cans * chance(line, 0, t, energy) for t in trials]
        return -sum(stats.poisson.logpmf(t.tipped, m) for t, m in zip(trials, means, strict=True))

    found = optimize.minimize_scalar(
        loss, bounds=(log(0.03), log(1.0)), method="bounded", options={"xatol": 1e-8}
    )
    level = found.fun + stats.chi2.ppf(0.95, 1) / 2.0
    low = optimize.brentq(lambda x: loss(x) - level, found.x - 1.0, found.x)
    high = optimize.brentq(lambda x: loss(x) - level, found.x, found.x + 1.0)
    result = fit_trials(line, trials).group("flood").estimate
    assert result is not None
    assert result.status == "fitted"
    ours = (result.best, result.low, result.high)
    assert ours == pytest.approx(np.exp([found.x, low, high]), rel=2e-4)


def test_deviance_agrees_with_the_saturated_likelihood() -> None:
    counts, means = np.array([0, 3, 17]), np.array([0.4, 5.0, 11.0])
    full, fitted = (stats.poisson.logpmf(counts, m).sum() for m in (counts, means))
    assert deviance(counts, means) == pytest.approx(2.0 * (full - fitted))


def test_more_cans_give_a_narrower_interval(line: Scenario, make_trial: MakeTrial) -> None:
    widths = []
    for times in (1, 4, 16):
        trials = [make_trial(s, n * times, (k * times, 0, 0)) for s, n, k in COUNTS]
        result = fit_trials(line, trials).group("flood").estimate
        assert result is not None
        widths.append(math.log(result.high / result.low))
    assert widths[0] / widths[1] == pytest.approx(2.0, rel=0.1)
    assert widths[1] / widths[2] == pytest.approx(2.0, rel=0.1)


def test_no_tips_give_only_a_limit(line: Scenario, make_trial: MakeTrial) -> None:
    trial = make_trial(44.0, 500_000, (0, 0, 0))
    fit = fit_trials(line, [trial])
    result = fit.group("flood").estimate
    assert result is not None
    assert result.status == "upper limit"
    # at the limit, 2.996 tips would have been expected (T02 of the published values)
    expected = trial.cans * chance(line, 0, trial, result.upper_limit)
    assert expected == pytest.approx(-log(0.05), rel=1e-3)
    assert fit.energies_mJ() == {}
    assert any("only an upper limit" in said for said in statements(fit))


def test_tips_within_the_safe_slack_are_not_hidden(line: Scenario, make_trial: MakeTrial) -> None:
    tight = make_trial(5.0, 300_000, (4, 0, 0))
    fit = fit_trials(line, [*(make_trial(s, n, (k, 0, 0)) for s, n, k in COUNTS), tight])
    group = fit.group("flood")
    assert [one.tipped for one in group.ruled_out] == [4]
    assert group.tipped == sum(k for _, _, k in COUNTS)
    assert any(
        "4 cans tipped at wash" in said and "within the safe" in said for said in statements(fit)
    )
    alone = fit_trials(line, [tight])
    assert alone.group("flood").status == "no information"
    # nor when nobody counted by stage, fitted or left out
    total = make_trial(5.0, 300_000, (None, None, None), tipped=4)
    for how in ("common", "duty"):
        said = statements(fit_trials(line, [total], grouping=how))
        assert any("4 cans tipped" in one and "the model is wrong" in one for one in said)


def test_one_setting_leaves_the_shape_untested(line: Scenario, make_trial: MakeTrial) -> None:
    fit = fit_trials(line, [make_trial(44.0, 400_000, (30, 0, 0))])
    group = fit.group("flood")
    assert group.settings == 1
    assert group.quality is not None
    assert group.quality.p_value is None
    assert any("one setting only" in said for said in statements(fit))
    # with one count the fit meets it exactly
    trial = fit.trials[0]
    assert trial.cans * chance(line, 0, trial, group.energy_mJ("flood")) == pytest.approx(
        30, rel=1e-3
    )


def test_more_tips_than_any_kick_gives(line: Scenario, make_trial: MakeTrial) -> None:
    fit = fit_trials(line, [make_trial(25.0, 100, (99, 0, 0))])
    assert fit.group("flood").status == "beyond the model"
    assert fit.energies_mJ() == {}
    assert any("more cans tipped than the model" in said for said in statements(fit))


def test_totals_alone_give_one_common_factor(line: Scenario, make_trial: MakeTrial) -> None:
    trials = [make_trial(s, n, (None, None, None), tipped=k) for s, n, k in COUNTS]
    fit = fit_trials(line, trials)
    assert fit.common
    (group,) = fit.groups
    assert group.estimate is not None
    factor = group.estimate.best
    found = fit.energies_mJ()
    assert found["flood"] / found["oven"] == pytest.approx(0.1 / 0.05)
    assert found["flood"] == pytest.approx(0.1 * factor)
    assert any("one common factor" in said for said in statements(fit))
    # asked for duty by duty, such trials are left out and named
    split = make_trial(44.0, 400_000, (20, 11, 0))
    by_duty = fit_trials(line, [*trials, split], grouping="duty")
    assert by_duty.left_out == tuple(trials)
    assert any("not used" in said for said in statements(by_duty))


def test_counts_that_jump_about_are_called_out(line: Scenario, make_trial: MakeTrial) -> None:
    wild = [(44.0, 400_000, 90), (44.2, 400_000, 12), (47.0, 200_000, 20)]
    fit = fit_trials(line, [make_trial(s, n, (k, 0, 0)) for s, n, k in wild])
    quality = fit.group("flood").quality
    assert quality is not None
    assert quality.poor
    assert any("more than chance" in said for said in statements(fit))


def test_a_true_fit_is_called_poor_as_seldom_as_it_should(
    line: Scenario, make_trial: MakeTrial
) -> None:
    rng = np.random.default_rng(8)
    fit = fit_trials(line, [make_trial(s, n, (k, 0, 0)) for s, n, k in COUNTS])
    table = fit.group("flood").table
    assert table is not None
    means = table.means(log(0.1))
    p_values = []
    for _ in range(150):
        counts = [int(count) for count in rng.poisson(means)]
        quality = quality_of(table, counts, estimate(table, counts).best, rng)
        assert quality.p_value is not None
        p_values.append(quality.p_value)
    assert stats.kstest(p_values, "uniform").pvalue > 0.01


def test_tips_on_one_side_are_called_out(line: Scenario, make_trial: MakeTrial) -> None:
    plain = make_trial(44.0, 400_000, (30, 0, 0))
    leaning = Trial(plain.name, plain.date, "slim", plain.cans, 30, plain.stages, (20, 6, 4))
    assert two_count_p(20, 4) < 0.05
    assert any(
        "more cans tip at the left" in said for said in statements(fit_trials(line, [leaning]))
    )


def test_the_same_trials_give_the_same_fit(line: Scenario, make_trial: MakeTrial) -> None:
    trials = [make_trial(s, n, (k, 0, 0)) for s, n, k in COUNTS]
    first, second = (fit_trials(line, trials).group("flood") for _ in range(2))
    assert first.estimate == second.estimate
    assert first.quality == second.quality


def test_gathered_slack_needs_less_rough_kicks(line: Scenario, make_trial: MakeTrial) -> None:
    trials = [make_trial(s, n, (k, 0, 0)) for s, n, k in COUNTS]
    spread, gathered = (
        fit_trials(line, trials, sharing=how).energies_mJ()["flood"]
        for how in ("spread", "gathered")
    )
    assert gathered < spread


def test_absurd_requests_are_refused(line: Scenario, make_trial: MakeTrial) -> None:
    trial = make_trial(44.0, 1000, (0, 0, 0))
    with pytest.raises(InputError, match="trials"):
        fit_trials(line, [])
    for key, value in (("grouping", "stage"), ("sharing", "even"), ("slack_case", "best")):
        with pytest.raises(InputError, match=key):
            fit_trials(line, [trial], **{key: value})  # type: ignore[arg-type]
    with pytest.raises(InputError, match="tipped"):
        make_trial(44.0, 10, (6, 6, 0))
    with pytest.raises(InputError, match="cans"):
        make_trial(44.0, 0, (0, 0, 0))
