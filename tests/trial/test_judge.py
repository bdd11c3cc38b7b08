"""What is said of counts that do not go together: clusters, mixed-up stages, a setting changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.report.files.trial_fitted import fitted_toml
from packsim.trial import chances
from packsim.trial.fit import fit_trials
from packsim.trial.foretell import predict_fitted
from packsim.trial.places import place_test
from packsim.trial.statements import statements
from packsim.trial.trial import Trial
from tests.trial.conftest import made_up

MakeTrial = Callable[..., Trial]
SETTINGS = ((44.0, 100_000), (42.0, 150_000), (40.0, 200_000), (38.0, 300_000), (36.0, 500_000))


def counted(line: Scenario, make: MakeTrial, seed: int, spread: float = 1.0) -> list[Trial]:
    """Trials of the made-up spectra at the scenario's kicks, by stage and place."""
    rng, trials = np.random.default_rng(seed), []
    for slack, cans in SETTINGS:
        trial = make(slack, cans, (0, 0, 0))
        found = made_up(chances.line_at(line, trial.widths_mm))
        means = np.array([stage.by_place for stage in found.stages]) * cans / 1e6
        counts = rng.poisson(means * rng.gamma(1.0 / spread, spread) if spread > 1.0 else means)
        trials.append(
            make(
                slack,
                cans,
                counts.sum(axis=1).tolist(),
                by_place=tuple(counts.sum(axis=0).tolist()),
            )
        )
    return trials


def test_counts_of_the_model_itself_are_left_in_peace(
    line: Scenario, make_trial: MakeTrial
) -> None:
    fit = fit_trials(line, counted(line, make_trial, 3))
    assert fit.contradicted == ""
    assert not any(one.odd or one.swapped for one in fit.counts)
    said = " ".join(statements(fit))
    assert "consistent" in said
    assert "mixed up" not in said
    assert all(stage.p_value > 0.01 for stage in fit.by_stage)


def test_a_setting_changed_midway_is_named(line: Scenario, make_trial: MakeTrial) -> None:
    trials = counted(line, make_trial, 3)
    odd = trials[3]
    more = tuple(replace(s, tipped=4 * (s.tipped or 0)) for s in odd.stages)
    trials[3] = replace(odd, tipped=4 * odd.tipped, stages=more, by_place=None)
    fit = fit_trials(line, trials)
    told = [one.trial.name for one in fit.counts if one.odd]
    assert "slack 38" in told
    assert fit.dispersion.ratio > 3.0
    said = statements(fit)
    assert any("'slack 38'" in one and "changed midway" in one for one in said)
    assert any("variance over mean" in one for one in said)


def test_mixed_up_stages_are_named(line: Scenario, make_trial: MakeTrial) -> None:
    trials = counted(line, make_trial, 3)
    trials[0] = make_trial(44.0, 100_000, [trials[0].stages[i].tipped for i in (2, 1, 0)])
    fit = fit_trials(line, trials)
    assert fit.counts[0].swapped == ("wash", "dry")
    assert any("wash and dry" in said and "mixed up" in said for said in statements(fit))


def test_tips_in_clusters_widen_every_interval(line: Scenario, make_trial: MakeTrial) -> None:
    """Each tip takes three more along: the same fit, twice as wide, and a wider run."""
    trials = counted(line, make_trial, 4)
    times = [
        replace(
            t,
            cans=4 * t.cans,
            tipped=4 * t.tipped,
            by_place=None,
            stages=tuple(replace(s, tipped=4 * (s.tipped or 0)) for s in t.stages),
        )
        for t in trials
    ]
    plain, wide = fit_trials(line, trials), fit_trials(line, times)
    assert wide.dispersion.ratio == pytest.approx(4.0 * plain.dispersion.ratio, rel=0.02)
    one, other = (f.group("flood").estimate for f in (plain, wide))
    assert one is not None
    assert other is not None
    assert other.best == pytest.approx(one.best, rel=1e-4)
    ratio = np.log(other.high / other.low) / np.log(one.high / one.low)
    by_hand = np.sqrt(wide.dispersion.widening(0.95) / plain.dispersion.widening(0.95)) / 2.0
    assert ratio == pytest.approx(by_hand, rel=0.03)
    widths = trials[0].widths_mm
    runs = [predict_fitted(f, "slim", widths, 200_000).tips_in_run for f in (plain, wide)]
    assert runs[0] is not None
    assert runs[1] is not None
    assert runs[1][1] - runs[1][0] > 1.5 * (runs[0][1] - runs[0][0])


def test_tips_on_one_side_stop_the_forecast(line: Scenario, make_trial: MakeTrial) -> None:
    """The truth has an easier right edge; the model knows no side."""
    trials = [replace(t, by_place=(0, 0, t.tipped)) for t in counted(line, make_trial, 3)]
    fit = fit_trials(line, trials)
    assert "right edge" in fit.contradicted
    assert "drift" in fit.contradicted
    assert "pack enters" in fit.contradicted
    assert statements(fit)[0].startswith("NO FORECAST")
    with pytest.raises(InputError, match="drift of the mat"):
        predict_fitted(fit, "slim", trials[0].widths_mm)
    text = fitted_toml(fit)
    assert "[kicks" not in text
    assert "NO FORECAST" in text
    inside = [replace(t, by_place=(0, t.tipped, 0)) for t in trials]
    assert "centre" in fit_trials(line, inside).contradicted
    edges = [replace(t, by_place=(t.tipped // 2, 0, t.tipped // 2)) for t in trials]
    assert "more tip at the edges" in fit_trials(line, edges).contradicted


def test_the_place_test_is_exact() -> None:
    """Its p-values are uniform under the model, and those of scipy's exact multinomial test."""
    rng, share, none = np.random.default_rng(6), np.array([0.4, 0.35, 0.25]), np.zeros(3)
    found = [
        place_test([tuple(rng.multinomial(60, share).tolist())], [share], [none], 1.0, rng).p_value
        for _ in range(150)
    ]
    assert stats.kstest(found, "uniform").pvalue > 0.01
    table = [(a, b, 9 - a - b) for a in range(10) for b in range(10 - a)]
    chance = np.array([stats.multinomial.pmf(x, 9, share) for x in table])
    worse = np.array(
        [
            sum(x * np.log(x / (9 * s)) for x, s in zip(row, share, strict=True) if x)
            for row in table
        ]
    )
    got = table.index((7, 1, 1))
    exact = chance[worse >= worse[got] - 1e-9].sum()
    p_value = place_test([(7, 1, 1)], [share], [none], 1.0, rng).p_value
    assert p_value == pytest.approx(exact, abs=3.0 * np.sqrt(exact / 4000))
    # a share that is hardly known contradicts nothing
    vague = place_test([(50, 5, 5)], [share], [np.full(3, 0.8)], 1.0, rng)
    assert vague.p_value > 0.05 > place_test([(50, 5, 5)], [share], [none], 1.0, rng).p_value
