"""Fits against an independent likelihood, and what they say when the counts cannot tell."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from math import log

import numpy as np
import pytest
from scipy import optimize, stats

from packsim.chance.likelihood import deviance, estimate
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.trial.fit import fit_trials
from packsim.trial.foretell import predict_fitted
from packsim.trial.quality import quality_of
from packsim.trial.statements import statements
from packsim.trial.trial import Trial
from tests.trial.conftest import KICKS, LANES, PACK_MM, barriers_mJ

MakeTrial = Callable[..., Trial]
COUNTS = ((44.0, 100_000, 75), (41.0, 150_000, 48), (38.0, 300_000, 42))


def chance(slack_mm: float, energy: float) -> float:
    """A stage's chance straight from the barriers of conftest, by hand."""
    edge, inside = (
        KICKS / 24.0 * np.exp(-factor * barriers_mJ(slack_mm) / energy).sum()
        for factor in (1.0, 1.3)
    )
    return float(-(2.0 * np.expm1(-edge) + (LANES - 2) * np.expm1(-inside)) / LANES)


def test_the_fit_agrees_with_an_independent_likelihood(
    line: Scenario, make_trial: MakeTrial
) -> None:
    trials = [make_trial(slack, cans, (tips, 0, 0)) for slack, cans, tips in COUNTS]

    def loss(log_energy: float) -> float:
        means = [cans * chance(slack, math.exp(log_energy)) for slack, cans, _ in COUNTS]
        return -sum(stats.poisson.logpmf(t.tipped, m) for t, m in zip(trials, means, strict=True))

    found = optimize.minimize_scalar(
        loss, bounds=(log(0.02), log(0.2)), method="bounded", options={"xatol": 1e-8}
    )
    fit = fit_trials(line, trials)
    # the counts vary less than chance alone lets them: plain intervals
    level = found.fun + stats.chi2.ppf(0.95, 1) / 2.0 * fit.dispersion.widening(0.95)
    low = optimize.brentq(lambda x: loss(x) - level, found.x - 1.0, found.x)
    high = optimize.brentq(lambda x: loss(x) - level, found.x, found.x + 1.0)
    result = fit.group("flood").estimate
    assert result is not None
    assert result.status == "fitted"
    ours = (result.best, result.low, result.high)
    assert ours == pytest.approx(np.exp([found.x, low, high]), rel=5e-4)


def test_deviance_agrees_with_the_saturated_likelihood() -> None:
    counts, means = np.array([0, 3, 17]), np.array([0.4, 5.0, 11.0])
    full, fitted = (stats.poisson.logpmf(counts, m).sum() for m in (counts, means))
    assert deviance(counts, means) == pytest.approx(2.0 * (full - fitted))
    # with the standard error of a passage: negative binomial counts of shape 1/s²
    shape = 1.0 / np.array([0.1, 0.2, 0.3]) ** 2
    full, fitted = (
        stats.nbinom.logpmf(counts, shape, shape / (shape + m)).sum() for m in (counts, means)
    )
    assert deviance(counts, means, shape**-0.5) == pytest.approx(2.0 * (full - fitted))


def test_more_cans_give_a_narrower_interval(line: Scenario, make_trial: MakeTrial) -> None:
    widths = []
    for times in (1, 4, 16):
        trials = [make_trial(44.0, 100_000 * times, (75 * times, 0, 0))]
        result = fit_trials(line, trials).group("flood").estimate
        assert result is not None
        widths.append(math.log(result.high / result.low))
    assert widths[0] / widths[1] == pytest.approx(2.0, rel=0.1)
    assert widths[1] / widths[2] == pytest.approx(2.0, rel=0.1)


def test_the_standard_error_of_a_passage_widens_the_interval(
    line: Scenario, make_trial: MakeTrial, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With counts without end, what is left open is what the passage leaves open."""
    from packsim.trial import chances
    from tests.trial.conftest import made_up

    trial = make_trial(44.0, 10_000_000, (7500, 0, 0))
    monkeypatch.setattr(chances, "chance_of", lambda line, *_, **__: made_up(line, noise=0.4))
    fit = fit_trials(line, [trial])
    result = fit.group("flood").estimate
    assert result is not None
    one = fit.chances.at("slim", trial.widths_mm).stages[0]
    rates = [
        fit.chances.at("slim", trial.widths_mm).at({"wash": e}).stages[0].tips_per_million
        for e in (result.low, result.high)
    ]
    low, high = one.interval
    assert math.log(rates[1] / rates[0]) == pytest.approx(math.log(high / low), rel=0.15)


def test_no_tips_give_only_a_limit(line: Scenario, make_trial: MakeTrial) -> None:
    fit = fit_trials(line, [make_trial(44.0, 500_000, (0, 0, 0))])
    result = fit.group("flood").estimate
    assert result is not None
    assert result.status == "upper limit"
    # at the limit, 2.996 tips would have been expected (T02 of the published values)
    assert 500_000 * chance(44.0, result.upper_limit) == pytest.approx(-log(0.05), rel=2e-3)
    assert fit.energies_mJ() == {}
    assert any("only an upper limit" in said for said in statements(fit))
    # the assumed kicks are rougher than that: the limit is taken instead
    assert fit.kicks_mJ()["wash"] == pytest.approx(result.upper_limit)


def test_tips_where_none_can_are_not_hidden(line: Scenario, make_trial: MakeTrial) -> None:
    tight = make_trial(5.0, 300_000, (4, 0, 0))
    fit = fit_trials(line, [*(make_trial(s, n, (k, 0, 0)) for s, n, k in COUNTS), tight])
    group = fit.group("flood")
    assert [one.tipped for one in group.ruled_out] == [4]
    assert group.tipped == sum(k for _, _, k in COUNTS)
    assert any("4 cans tipped at wash" in said for said in statements(fit))
    assert fit_trials(line, [tight]).group("flood").status == "no information"
    # nor when nobody counted by stage
    total = make_trial(5.0, 300_000, (None, None, None), tipped=4)
    said = statements(fit_trials(line, [total], grouping="common"))
    assert any("4 cans tipped" in one and "the model is wrong" in one for one in said)


def test_one_setting_leaves_the_shape_untested(line: Scenario, make_trial: MakeTrial) -> None:
    fit = fit_trials(line, [make_trial(44.0, 400_000, (30, 0, 0))])
    group = fit.group("flood")
    assert group.settings == 1
    assert group.quality is not None
    assert group.quality.p_value is None
    assert any("one setting only" in said for said in statements(fit))
    # with one count the fit meets it exactly
    assert 400_000 * chance(44.0, group.energy_mJ("flood")) == pytest.approx(30, rel=3e-3)


def test_more_tips_than_any_kick_gives(line: Scenario, make_trial: MakeTrial) -> None:
    fit = fit_trials(line, [make_trial(25.0, 100, (100, 0, 0))])
    assert fit.group("flood").status == "beyond the model"
    assert fit.energies_mJ() == {}
    assert any("more cans tipped than the model" in said for said in statements(fit))


def test_totals_alone_give_one_common_factor(line: Scenario, make_trial: MakeTrial) -> None:
    trials = [make_trial(s, n, (None, None, None), tipped=k) for s, n, k in COUNTS]
    fit = fit_trials(line, trials)
    assert fit.common
    (group,) = fit.groups
    assert group.estimate is not None
    found = fit.energies_mJ()
    assert found["flood"] / found["oven"] == pytest.approx(2.0)
    assert found["flood"] == pytest.approx(0.04 * group.estimate.best)
    assert any("one common factor" in said for said in statements(fit))
    # asked for duty by duty, such trials are left out and named
    split = make_trial(44.0, 400_000, (20, 11, 0))
    by_duty = fit_trials(line, [*trials, split], grouping="duty")
    assert by_duty.left_out == tuple(trials)
    assert any("not used" in said for said in statements(by_duty))


@pytest.mark.all
def test_a_true_fit_is_called_poor_as_seldom_as_it_should(
    line: Scenario, make_trial: MakeTrial
) -> None:
    rng = np.random.default_rng(8)
    fit = fit_trials(line, [make_trial(s, n, (k, 0, 0)) for s, n, k in COUNTS])
    table = fit.group("flood").table
    assert table is not None
    means = table.means(log(0.04))
    p_values = []
    for _ in range(100):
        counts = [int(count) for count in rng.poisson(means)]
        quality = quality_of(table, counts, estimate(table, counts).best, rng)
        assert quality.p_value is not None
        p_values.append(quality.p_value)
    assert stats.kstest(p_values, "uniform").pvalue > 0.01


def test_a_forecast_is_for_the_line_as_it_then_is(
    line: Scenario, make_trial: MakeTrial, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its wires and mat speed as recommended, its kicks as fitted, its widths as asked."""
    from packsim.trial import chances
    from tests.trial.conftest import made_up

    fit = fit_trials(line, [make_trial(s, n, (k, 0, 0)) for s, n, k in COUNTS])
    asked = []
    monkeypatch.setattr(
        chances, "chance_of", lambda s, size, progress=None: asked.append(s) or made_up(s)
    )
    slower = replace(line, mat=replace(line.mat, speed_mm_per_s=45.0))
    widths = [PACK_MM + 39.0] * 3
    found = predict_fitted(fit, "slim", widths, at=slower)
    (ran,) = asked
    assert ran.mat == slower.mat
    assert [s.guides.narrowest_mm for s in ran.stages] == pytest.approx(widths)
    assert ran.stages[0].kicks.energy_mJ == fit.energies_mJ()["flood"]
    assert found.tips_per_million == made_up(ran).tips_per_million  # as said of that line


def test_the_same_trials_give_the_same_fit(line: Scenario, make_trial: MakeTrial) -> None:
    trials = [make_trial(s, n, (k, 0, 0)) for s, n, k in COUNTS]
    first, second = (fit_trials(line, trials).group("flood") for _ in range(2))
    assert first.estimate == second.estimate
    assert first.quality == second.quality


def test_absurd_requests_are_refused(line: Scenario, make_trial: MakeTrial) -> None:
    trial = make_trial(44.0, 1000, (0, 0, 0))
    with pytest.raises(InputError, match="trials"):
        fit_trials(line, [])
    with pytest.raises(InputError, match="grouping"):
        fit_trials(line, [trial], grouping="stage")
    with pytest.raises(InputError, match="tipped"):
        make_trial(44.0, 10, (6, 6, 0))
    with pytest.raises(InputError, match="cans"):
        make_trial(44.0, 0, (0, 0, 0))
    with pytest.raises(InputError, match="no can fits"):
        fit_trials(line, [make_trial(40.0 - PACK_MM, 1000, (0, 0, 0))])
    fit = fit_trials(line, [trial])
    with pytest.raises(InputError, match="widths_mm"):
        predict_fitted(fit, "slim", [500.0])
    with pytest.raises(InputError, match="size"):
        predict_fitted(fit, "stout", trial.widths_mm)
