"""Predictions: what they must do at any kick energy."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.trial.bounds import Part, bounds
from packsim.trial.fit import fit_trials
from packsim.trial.foretell import predict_fitted
from packsim.trial.predict import predict
from packsim.trial.trial import Trial
from packsim.why import reasons


def test_a_prediction_is_what_why_says_of_a_row(line: Scenario) -> None:
    found = predict(line, "slim", [[s.guides.narrowest_mm for s in line.stages]])
    for i in range(len(line.stages)):
        row = reasons(line, line.stages[i].name, "slim").energies
        assert row is not None
        assert found.by_stage[0, i] == pytest.approx(row.row_at_least_per_million, rel=2e-3)


def test_parts_add_up_and_sides_are_alike(line: Scenario) -> None:
    width = line.stages[0].guides.narrowest_mm
    found = predict(line, "slim", [width - 4.0, width], {"flood": 0.3, "rinse": 0.2, "oven": 0.2})
    passes = np.prod(1.0 - found.by_stage / 1e6, axis=1)  # a can that has tipped tips no more
    assert found.per_million == pytest.approx(1e6 * (1.0 - passes))
    assert found.by_place.sum(axis=1) == pytest.approx(found.per_million)
    assert found.by_place[:, 0] == pytest.approx(found.by_place[:, 2])
    assert found.per_million[0] < found.per_million[1]


def test_a_hold_down_that_blocks_and_safe_slack_let_nothing_tip(line: Scenario) -> None:
    width = line.stages[0].guides.narrowest_mm
    low = replace(line, stages=tuple(replace(s, hold_down_mm=161.0) for s in line.stages))
    assert predict(low, "slim", [width], {"flood": 0.5}).per_million[0] == 0.0
    assert predict(line, "slim", [width - 40.0], {"flood": 5.0}).per_million[0] == 0.0


def test_where_no_can_fits_there_is_no_rate(line: Scenario) -> None:
    """Issue 12: it was 0 tips."""
    assert math.isnan(predict(line, "slim", [50.0]).per_million[0])


def test_the_interval_holds_the_best_value_and_assumed_duties_are_named(
    line: Scenario, make_trial: Callable[..., Trial]
) -> None:
    fit = fit_trials(
        line, [make_trial(44.0, 400_000, (51, 0, 0)), make_trial(38.0, 600_000, (24, 0, 0))]
    )
    width = line.stages[0].guides.narrowest_mm
    for one in predict_fitted(fit, "slim", [width - 6.0, width], 1e5):
        assert one.low < one.per_million < one.high
        assert one.run is not None
        assert one.run[0] <= one.per_million / 10.0 <= one.run[1]
    # where a trial never let a stage tip, its assumed kicks are used and named
    tight = make_trial(5.0, 1000, (0, 0, 0))
    rough = replace(
        line, stages=tuple(replace(s, kicks=replace(s.kicks, energy_mJ=0.3)) for s in line.stages)
    )
    told = predict_fitted(fit_trials(rough, [tight]), "slim", [width])[0]
    assert set(told.assumed) == {"flood", "rinse", "oven"}


def test_bounds_of_a_sum_meet_the_answer_of_two_straight_lines() -> None:
    # two terms 1 + s_i t_i with deviance t_i²: the extreme of the sum is ± √(3.84 (s_1² + s_2²))
    t = np.linspace(-4.0, 4.0, 4001)
    parts = [Part(10.0 + s * t, t**2, 10.0, 2000) for s in (1.0, 0.5)]
    low, high = bounds(parts, 0.95)
    reach = np.sqrt(3.841459 * (1.0 + 0.25))
    assert (low, high) == pytest.approx((20.0 - reach, 20.0 + reach), abs=0.01)
    assert bounds(parts[:1], 0.95) == pytest.approx((10.0 - 1.959964, 10.0 + 1.959964), abs=0.001)
    assert bounds([], 0.95) == (0.0, 0.0)


def test_widths_of_the_wrong_shape_are_refused(line: Scenario) -> None:
    with pytest.raises(InputError, match="widths_mm"):
        predict(line, "slim", [[500.0, 500.0]])
    with pytest.raises(InputError, match="clear_width_mm"):
        predict(line, "slim", [-1.0])
    with pytest.raises(InputError, match="size"):
        predict(line, "stout", [500.0])
