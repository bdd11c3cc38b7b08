"""The charts and the plain data of counted passages, from passages made up by hand."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from packsim.counts.passages import OneRun, Passages
from packsim.passage.record import Profile
from packsim.report.charts.chart_frame import chart_svg
from packsim.report.charts.run_charts import (
    run_chart,
    run_places_chart,
    run_slack_chart,
    run_void_chart,
)
from packsim.report.files.as_json import as_json
from packsim.report.words.display import Display
from packsim.report.words.run_case import RunCase
from packsim.scenario import load_scenario


def profile(slack: list[float], void: list[float]) -> Profile:
    rows = [np.array(row) for row in ([500.0, 1500.0], [440.0, 440.0], slack, void, [1.0, 2.0])]
    return Profile(*rows)


@pytest.fixture
def case(root: Path) -> RunCase:
    line = load_scenario(root / "scenarios" / "swing_line.toml")
    stages = tuple(stage.name for stage in line.stages)
    k = len(stages)
    tips = np.zeros((k, 3), dtype=np.int64)
    tips[0] = 7, 2, 0
    tips[-1, 2] = 3
    kicks, across = np.ones((k, 3), dtype=np.int64), np.ones((k, 40), dtype=np.int64)
    first, second = profile([6.0, np.nan], [0.2, 1.0]), profile([8.0, 10.0], [0.1, 0.3])
    runs = tuple(
        OneRun(i, 500, tips, kicks, across, each, 0.01, (), "")
        for i, each in enumerate((first, second))
    )
    return RunCase("guides as-set", line, Passages(line.set_for, 1, stages, runs, 2, False))


def test_the_mean_profile_leaves_out_windows_nobody_saw(case) -> None:
    found = case.passages.profile
    assert found is not None
    assert found.slack_mm.tolist() == [7.0, 10.0]
    assert found.void_fraction == pytest.approx([0.15, 0.65])


def test_plain_data_holds_profile_and_places_across(case) -> None:
    data = as_json("run", case.scenario, cases=(case,))
    found = json.loads(json.dumps(data, allow_nan=False))["cases"][0]
    assert found["profile"]["void_fraction"] == pytest.approx([0.15, 0.65])
    assert found["profile"]["station_mm"] == [500.0, 1500.0]
    assert np.array(found["across"]).shape == (len(case.scenario.stages), 40)
    assert np.array(found["across"]).sum() == 2 * 40 * len(case.scenario.stages)


def test_bars_of_a_stage_stand_end_to_end_by_place(case) -> None:
    figure = run_places_chart([case])
    axes = figure.axes[0]
    bars = sorted(
        (round(bar.get_y() + 0.3), float(bar.get_x()), float(bar.get_width()))
        for bar in axes.patches
        if bar.get_width() > 0
    )
    last = len(case.scenario.stages)
    # both runs together: 14 at the left edge, then 4 in the centre; 6 at the right edge at the end
    assert bars == [(1, 0.0, 14.0), (1, 14.0, 4.0), (last, 0.0, 6.0)]
    names = [label.get_text() for label in axes.get_yticklabels()]
    assert names == ["guides as-set", *case.passages.stages]
    svg = chart_svg(figure)
    for word in ("left edge", "centre", "right edge", "18"):
        assert word in svg


def test_lines_along_the_line_show_the_means(case) -> None:
    slack = run_slack_chart([case], Display("metric")).axes[0].lines[0].get_xydata()
    assert np.array(slack).tolist() == [[0.5, 7.0], [1.5, 10.0]]
    voids = run_void_chart([case]).axes[0].lines[0].get_xydata()
    assert np.array(voids) == pytest.approx(np.array([[0.5, 15.0], [1.5, 65.0]]))


def test_the_chart_of_counts_has_a_bar_for_all_and_for_each_place(case) -> None:
    names = [label.get_text() for label in run_chart([case]).axes[0].get_yticklabels()]
    assert names == ["guides as-set: all", "left edge", "centre", "right edge"]
