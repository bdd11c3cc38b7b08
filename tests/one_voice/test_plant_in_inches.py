"""One invented plant in inches: what two outputs say of one thing is one thing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from packsim.answers import answer_line
from packsim.findings import Finding
from packsim.findings.rules import find_all
from packsim.headers.design import design_headers
from packsim.headers.row_search import APART_MM
from packsim.headers.wish import DesignWish
from packsim.line import Scenario
from packsim.report.charts.sweep_chart import sweep_chart
from packsim.report.page.page_change import change_page
from packsim.report.terminal.nozzles.design_table import design_report
from packsim.report.terminal.study_table import study_report
from packsim.report.terminal.sweep_view import sweep_table
from packsim.report.words.compare_words import see_lines
from packsim.report.words.display import Display
from packsim.report.words.drilling import Shop, drillings
from packsim.report.words.numbers import assumed_rows
from packsim.scenario import load_scenario, parse_scenario
from packsim.size_change import plan_change
from packsim.study import study_line
from packsim.sweep import sweep
from packsim.trial.plan import plan_trial
from tests.one_voice.test_printed_words import printed

INCH = Display("inch")
PLANT = Path(__file__).parent / "plant_in_inches.toml"


@cache
def plant() -> Scenario:
    case = load_scenario(PLANT)
    return replace(case, rule_step_mm=INCH.rule_step_mm)


def test_the_chart_of_a_sweep_has_its_recommended_width_inside_the_guide_window() -> None:
    """It drew the window of the wires as found beside the width for those as they shall hang."""
    knob_mm = tuple(25.4 * np.linspace(50.0, 50.5, 5))
    found = sweep(plant(), "clear-width", knob_mm, "wash", "211")
    assert found.recommended is not None
    assert found.recommended.safe
    axes = sweep_chart(found, INCH).axes[0]
    (shaded,) = [patch.get_extents() for patch in axes.patches if patch.get_alpha() != 1.0][:1]
    low, high = axes.transData.inverted().transform(shaded.get_points())[:, 0]
    assert low - 1e-6 <= found.recommended.clear_width_mm / 25.4 <= high + 1e-6


def test_no_two_settings_of_a_trial_are_one() -> None:
    settings = plan_trial(plant(), "211").settings
    shown = [[INCH.setting(mm) for mm in one.widths_mm] for one in settings]
    assert len(shown) > 2
    assert all(one not in shown[:k] for k, one in enumerate(shown))


def test_study_and_sheet_give_one_advice_on_a_wire_that_serves_no_size() -> None:
    study = [f for f in find_all(plant(), answer_line(plant(), "211")) if "no size" in f.what]
    sheet = [f for f in plan_change(plant(), "211", "slim").alerts if "serves neither" in f.what]
    assert study
    assert {f.do_text for f in study} == {f.do_text for f in sheet}


def test_the_page_for_the_crew_says_clear_width() -> None:
    page = change_page(plan_change(plant(), "211", "slim"), INCH)
    assert "guide to guide" not in page
    assert "clear width 49 5/8 in" in page


def holes(lines: list[str]) -> Iterator[str]:
    for line in lines[next(i for i, x in enumerate(lines) if x.startswith("Holes from")) + 1 :]:
        if not line.strip():
            return
        yield from re.findall(r"\d+\.\d+", line)


def test_the_screen_lists_the_holes_that_the_shop_is_given() -> None:
    designs = design_headers(plant(), ("wash",), (), DesignWish(side="below"))
    made = drillings(designs, plant().mat.width_mm, Shop())
    given = [one.places_in_words(i)[1] for one in made for i in range(len(one.places_mm))]
    assert list(holes(printed(design_report(plant(), designs, INCH)))) == given


@pytest.mark.parametrize("ends_mm", [None, (49.0, 1475.0), (75.0, 1449.0)])
def test_no_hole_is_at_the_end_of_the_pipe(ends_mm: tuple[float, float] | None) -> None:
    (one,) = design_headers(plant(), ("wash",), (), DesignWish(side="below", pipe_mm=ends_mm))
    low, high = ends_mm or (0.0, plant().mat.width_mm)
    places = np.concatenate(one.best.nozzles_mm)
    assert low + APART_MM - 1e-6 <= places.min() <= places.max() <= high - APART_MM + 1e-6


def test_every_other_line_has_its_command_for_the_viewer() -> None:
    assert see_lines(["a"]) == ["See both packs: a"]
    assert see_lines(["a", "b"])[1:] == ["a", "b"]


def test_what_can_jam_is_told_wherever_it_is_held_upright() -> None:
    """Slack runs out in the worst case below the window; the verdict there is about tipping."""
    tight = parse_scenario(PLANT.read_text("utf-8").replace("50 1/4 in", "50 in"))
    lines = printed(study_report(study_line(tight), INCH))
    assert any("The pack can jam at all 3 stages" in line for line in lines)
    assert any("CHANGE" in line and "211" in line and "can jam" in line for line in lines)
    widths = [25.4 * inches for inches in (49.9, 50.0, 50.2, 50.3)]
    found = sweep(plant(), "clear-width", widths, "wash", "211")
    said = "Below 50 1/8+ in the pack of 22 lanes can jam."
    assert said in " ".join(" ".join(printed(sweep_table(found, INCH))).split())
    assert "can jam" not in " ".join(
        printed(sweep_table(sweep(plant(), "fill", [0.9, 1.0], "wash", "211"), INCH))
    )


def test_a_can_is_weighed_in_grams_everywhere() -> None:
    """Scales of the trade show grams in inch plants too; assumed ones were told in ounces."""
    keys = assumed_rows(plant().size("211").assumed, [], "inch")
    assert [value for key, value, _ in keys if key.endswith(".mass")] == ["10.18 g"]


def test_stages_that_lack_a_little_more_or_less_are_told_once() -> None:
    """Three stages had the same five lines each, for a length nobody sets."""
    found = find_all(plant(), answer_line(plant(), "slim"))
    (none_safe,) = [one for one in found if one.what_text.startswith("no guide setting is safe")]
    assert len(none_safe.stages) == 3
    line, command = none_safe.do_in(INCH.to_set)
    assert "0.502 in [1/2] to 0.645 in [21/32−] is still not found" in line
    assert command.startswith("run: ")
    # what is set is told stage by stage
    rows = ({"target_mm": 10.0, "missing_mm": 1.0}, {"target_mm": 20.0, "missing_mm": 2.0})
    text = "set {target_mm}; {missing_mm} is missing"
    one = Finding("change", "a", ("x", "y"), "what", text, values=rows)
    assert one.do_in() == ("x: set 10.0 mm; 1.0 mm is missing", "y: set 20.0 mm; 2.0 mm is missing")
