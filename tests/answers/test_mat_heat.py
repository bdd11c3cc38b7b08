"""Heat of two mats of an oven, against the sum done by hand."""

from __future__ import annotations

import pytest

from packsim.answers.mat_heat import oven_heat_rows
from packsim.can import Can
from packsim.line import Bracket, Guides, Kicks, Mat, Scenario, Stage, Wires
from packsim.report.files.as_json import as_json

CAN = Can("big", 66.0, 120.0, 0.010, 72.0, 0.0, 0.0)


def stage(name: str, to_C: float, duty: str = "oven") -> Stage:
    wires = Wires((30.0, 90.0), 600.0, 0.0, 1.3e6)
    guides = Guides((Bracket(0.0, 205.0, 795.0),), wires)
    return Stage(name, duty, 2000.0, guides, Kicks(0.05, 1.0), temperature_C=to_C)


def line(*stages: Stage) -> Scenario:
    return Scenario("small line", "", Mat(1000.0, 100.0), stages, (CAN,), "big")


def test_heat_by_hand() -> None:
    case = line(stage("heat-up", 125.0), stage("cooling", 60.0))
    found = oven_heat_rows(case, 0.6, 880.0)
    assert [(row.size, row.stage) for row in found] == [("big", "heat-up"), ("big", "cooling")]
    # mat: 9.2 kg/m² · 1 m · 500 J/(kg K) · 100 K = 460 kJ/m, at 6 m/min 2760 kJ/min;
    # the other: 0.6 · 880 · 100 = 52.8 kJ/m, 316.8 kJ/min
    first = found[0]
    assert 60.0 * first.now.mat_kW == pytest.approx(2760.0)
    assert 60.0 * first.other.mat_kW == pytest.approx(316.8)
    # cans: 151.5 per metre · 10 g · 897 J/(kg K) · 100 K = 135.9 kJ/m
    assert 60.0 * first.now.cans_kW == pytest.approx(10000.0 / 66.0 * 0.01 * 89.7 * 6.0)
    assert first.now.cans_kW == first.other.cans_kW
    assert found[1].cools
    assert found[1].now.total_kW == 0.0
    data = as_json("oven-heat", case, answers=found)
    assert 60.0 * data["answers"][0]["saved_kW"] == pytest.approx(2760.0 - 316.8)


def test_a_stage_starts_where_the_one_before_ended() -> None:
    case = line(stage("rinse", 40.0, "rinse"), stage("a", 100.0), stage("b", 150.0))
    spans = [(row.from_C, row.to_C) for row in oven_heat_rows(case, 1.0, 500.0, 15.0)]
    assert spans == [(40.0, 100.0), (100.0, 150.0)]
    assert not oven_heat_rows(line(stage("drain", 20.0, "drain")), 1.0, 500.0)
