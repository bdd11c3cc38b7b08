"""The circle closes: what passages count is fitted, and what is fitted is what passages count."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from packsim.chance import LineChance, chance_of
from packsim.chance.sample import Plan
from packsim.counts.many import Line, run_many
from packsim.line import Scenario
from packsim.passage.track import loaded_track
from packsim.scenario import load_scenario
from packsim.trial import chances
from packsim.trial.chances import line_at, with_kicks
from packsim.trial.fit import fit_trials
from packsim.trial.foretell import predict_fitted
from packsim.trial.plan import plan_trial
from packsim.trial.trial import StageCount, Trial

SIZE, TRUTH = "sleek body", {"wash": 0.8, "drain": 0.6}
REPEATS, CANS = 4, 250
SMALL = Plan(cans=100, dt_s=0.4, look_mm=400.0)


@pytest.fixture(scope="module", autouse=True)
def kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep the passages for the tests of this file."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PACKSIM_CACHE", str(tmp_path_factory.mktemp("kept")))
        yield


def quick(scenario: Scenario, size: str, progress: object = None) -> LineChance:
    """The chance from short slices: the same whoever asks, if not as well known."""
    return chance_of(scenario, size, accuracy=0.2, plan=SMALL)


@pytest.fixture(autouse=True)
def short_passages(monkeypatch: pytest.MonkeyPatch, spectra: None) -> None:
    """Real passages for every trial of this file, of short slices."""
    monkeypatch.setattr(chances, "chance_of", quick)


@pytest.fixture(scope="module")
def small() -> Scenario:
    return load_scenario(Path(__file__).with_name("small_line.toml"))


def counted(line: Scenario, width_mm: float, seed: int) -> Trial:
    """Count cans that tip in passages at one clear width, by stage and place."""
    at = line_at(with_kicks(line, TRUTH), [width_mm] * 2)
    track = loaded_track(at, SIZE)
    (found,) = run_many([Line(SIZE, seed, track)], cans=CANS, repeats=REPEATS)
    stages = tuple(
        StageCount(stage.name, width_mm, int(tips.sum()), tuple(tips.tolist()))
        for stage, tips in zip(line.stages, found.tips, strict=True)
    )
    places = tuple(found.tips.sum(axis=0).tolist())
    total = int(found.tips.sum())
    day = dt.date(2025, 3, 4)
    return Trial(f"{width_mm:g} mm", day, SIZE, found.counted, total, stages, places)


@pytest.mark.all
@pytest.mark.usefixtures("passages")
def test_kicks_that_counted_tips_come_back(small: Scenario) -> None:
    """Cans that tip are counted; the fit, from passages in which none tips, meets the counts.

    And what it then expects of another seed is what is counted there.
    """
    trials = [counted(small, width, seed) for width, seed in ((346.0, 1), (340.0, 2))]
    assert min(trial.tipped for trial in trials) > 5
    fit = fit_trials(small, trials)
    result = fit.group("flood").estimate
    assert result is not None
    assert result.low <= TRUTH["wash"] <= result.high
    assert fit.contradicted == ""
    again = counted(small, 343.0, 3)
    found = predict_fitted(fit, SIZE, again.widths_mm, again.cans)
    assert found.tips_in_run is not None
    assert found.tips_in_run[0] <= again.tipped <= found.tips_in_run[1]


@pytest.mark.slow
@pytest.mark.usefixtures("passages")
def test_one_setting_has_one_chance(small: Scenario) -> None:
    """Plan and fit say what the chance of the line says, and so do their intervals."""
    line = with_kicks(small, {"wash": 0.1, "drain": 0.08})
    plain = quick(line, SIZE)
    setting = plan_trial(line, SIZE).settings[0]
    assert setting.tips_per_million == plain.tips_per_million
    assert setting.tips_per_million_interval == plain.tips_per_million_interval
    widths = [stage.guides.narrowest_mm for stage in line.stages]
    # a fit that learnt nothing leaves the line as it is; one that did is the line so kicked
    stages = tuple(StageCount(s.name, w, 0) for s, w in zip(line.stages, widths, strict=True))
    day = dt.date(2025, 3, 4)
    none = Trial("too few cans", day, SIZE, 1, 0, stages)
    told = predict_fitted(fit_trials(line, [none]), SIZE, widths)
    assert told.tips_per_million == plain.tips_per_million
    found = Trial("counted", day, SIZE, 200_000, 40, (replace(stages[0], tipped=40), stages[1]))
    fit = fit_trials(line, [found])
    told = predict_fitted(fit, SIZE, widths)
    kicked = quick(with_kicks(line, fit.kicks_mJ()), SIZE)
    assert told.tips_per_million == kicked.tips_per_million
    # a single count: its exact Poisson interval, and the error of the passage once in the energy
    # fitted and once in the forecast
    counts = np.log(np.array([29.0, 54.5]) / 40.0)
    passage = np.log(kicked.line.interval[1] / kicked.tips_per_million)
    expected = np.hypot(counts, np.sqrt(2.0) * passage)
    assert np.abs(
        np.log(np.array(told.tips_per_million_interval) / told.tips_per_million)
    ) == pytest.approx(expected, rel=0.25)
