"""How often intervals hold the truth: thousands of trials drawn from the model with known kicks."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy import stats

from packsim.line import Scenario
from packsim.trial.curves import curve_of
from packsim.trial.fit import fit_trials
from packsim.trial.foretell import predict_fitted
from packsim.trial.likelihood import Observation, estimate, table_of
from packsim.trial.predict import predict
from packsim.trial.stage_case import LineCases
from packsim.trial.trial import Trial

REPEATS, TRUE_MJ = 4000, 0.1
SETTINGS = ((44.0, 100_000), (41.0, 150_000), (38.0, 300_000), (35.0, 600_000))


def observations(line: Scenario, make_trial: Callable[..., Trial]) -> list[Observation]:
    cases = LineCases(line, "slim")
    found = []
    for i, (slack, cans) in enumerate(SETTINGS):
        trial = make_trial(slack, cans, (0, 0, 0))
        curve = curve_of(cases.case(0, trial.width_mm("wash")))
        found.append(Observation(i, cans, 0, (curve,), (0.0,)))
    return found


@pytest.mark.slow
def test_the_profile_interval_holds_the_true_kick_energy(
    line: Scenario, make_trial: Callable[..., Trial]
) -> None:
    table = table_of(observations(line, make_trial))
    means = table.means(float(np.log(TRUE_MJ)))
    assert 20.0 < means.sum() < 200.0  # such counts as a trial brings, not a limit of large numbers
    draws = np.random.default_rng(np.random.SeedSequence(2024)).poisson(
        means, (REPEATS, len(means))
    )
    fits = [estimate(table, [int(c) for c in row]) for row in draws]
    held = np.mean([fit.low <= TRUE_MJ <= fit.high for fit in fits])
    assert 0.93 <= held <= 0.97  # 0.947 measured
    # and the middle of the fits is the truth, within four of its own standard errors
    logs = np.log([fit.best for fit in fits])
    assert abs(logs.mean() - np.log(TRUE_MJ)) < 4.0 * logs.std() / np.sqrt(REPEATS) + 0.002


@pytest.mark.slow
def test_intervals_of_predictions_and_of_runs_hold_what_comes(
    line: Scenario, make_trial: Callable[..., Trial]
) -> None:
    """Both duties tip cans; the sum is foretold at a setting nobody tried."""
    truth = {"flood": 0.1, "rinse": 0.12}
    rng = np.random.default_rng(np.random.SeedSequence(77))
    blank = [make_trial(slack, cans, (0, 0, 0)) for slack, cans in SETTINGS[:3]]
    widths = [[count.clear_width_mm for count in trial.stages] for trial in blank]
    rates = predict(line, "slim", widths, truth).by_stage / 1e6
    rates[:, 2] = 0.0
    other, run = [[blank[0].width_mm("wash") - 1.0] * 3], 100_000
    true_rate = float(predict(line, "slim", other, truth).by_stage[0, :2].sum())
    held, foretold = [], []
    for _ in range(60):
        drawn = [
            make_trial(slack, cans, [int(rng.poisson(cans * r)) for r in row])
            for (slack, cans), row in zip(SETTINGS[:3], rates, strict=True)
        ]
        one = predict_fitted(fit_trials(line, drawn), "slim", other, run)[0]
        held.append(one.low <= true_rate <= one.high)
        assert one.run is not None
        low, high = one.run
        mean = run * true_rate / 1e6
        foretold.append(stats.poisson.cdf(high, mean) - stats.poisson.cdf(low - 1, mean))
    assert np.mean(held) >= 0.865  # 0.95 less three standard errors of 60 repeats
    assert 0.93 <= np.mean(foretold) <= 0.99  # counts are whole, so a little more than 0.95
