"""Heat of two oven mats, against the sum done by hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from packsim.line import Scenario, Stage
from packsim.size_change.mat_heat import heat_json, oven_heat_rows


def oven(stage: Stage, name: str, to_C: float) -> Stage:
    return replace(stage, name=name, duty="oven", temperature_C=to_C)


def test_heat_by_hand(line: Callable[..., Scenario], stage: Callable[..., Stage]) -> None:
    case = line(oven(stage(), "heat-up", 125.0), oven(stage(), "cooling", 60.0))
    found = oven_heat_rows(case, 0.6, 880.0)
    assert [(row.size, row.stage) for row in found][:2] == [("big", "heat-up"), ("big", "cooling")]
    # mat: 9.2 kg/m² · 1 m · 500 J/(kg K) · 100 K = 460 kJ/m, at 6 m/min 2760 kJ/min;
    # the other: 0.6 · 880 · 100 = 52.8 kJ/m, 316.8 kJ/min
    first = found[0].heat
    assert 60.0 * first.now.mat_kW == pytest.approx(2760.0)
    assert 60.0 * first.other.mat_kW == pytest.approx(316.8)
    # cans: 151.5 per metre · 10 g · 897 J/(kg K) · 100 K = 135.9 kJ/m
    assert 60.0 * first.now.cans_kW == pytest.approx(10000.0 / 66.0 * 0.01 * 89.7 * 6.0)
    assert first.now.cans_kW == first.other.cans_kW
    assert found[1].cools
    assert found[1].heat.now.total_kW == 0.0
    data = heat_json(case, found, "mesh")
    assert data["rows"][0]["saved_kJ_per_min"] == pytest.approx(2760.0 - 316.8)


def test_a_stage_starts_where_the_one_before_ended(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    washed = replace(stage("rinse"), temperature_C=40.0)
    case = line(washed, oven(stage(), "a", 100.0), oven(stage(), "b", 150.0))
    spans = [(row.from_C, row.to_C) for row in oven_heat_rows(case, 1.0, 500.0, 15.0)]
    assert spans[:2] == [(40.0, 100.0), (100.0, 150.0)]
    assert not oven_heat_rows(line(stage()), 1.0, 500.0)
