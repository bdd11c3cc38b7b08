"""A funnel is a shape with a purpose: it moves as a whole and has rules of its own."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.answers import answer_stage
from packsim.line import Bracket, Guides, Scenario
from packsim.scenario import parse_scenario, scenario_to_toml
from packsim.scenario.guides import looks_a_funnel
from packsim.size_change import plan_change
from packsim.study import Study, study_line
from packsim.width.funnel import farthest_step_mm, steepest_rad

# 55, 54.5, 54 and 53.5 in about the middle of a mat of 60 in, as in issue 12
ENTRANCE = "".join(
    f'  {{ from_stage_start = "{at} mm", left = "{(60 - width) / 2} in", '
    f'right = "{(60 + width) / 2} in" }},\n'
    for at, width in ((0, 55.0), (500, 54.5), (1000, 54.0), (1500, 53.5))
)


def brackets(*rows: tuple[float, float, float]) -> tuple[Bracket, ...]:
    return tuple(Bracket(*row) for row in rows)


def tapered(small: SimpleNamespace, in_mm: float = 10.0, **given: Any) -> Any:
    """590 mm at the end; each face moves in by ``in_mm`` from bracket to bracket of 500 mm."""
    rows = [(500.0 * i, 205.0 - (3 - i) * in_mm, 795.0 + (3 - i) * in_mm) for i in range(4)]
    plain = {"brackets": brackets(*rows), "shape": "funnel", "length_mm": 1500.0}
    return small.stage("entrance", **(plain | given))


def said(found: Study, words: str) -> list[str]:
    return [f.what for f in found.findings if words in f.what]


def test_a_funnel_is_known_by_its_brackets(small: SimpleNamespace) -> None:
    assert looks_a_funnel(tapered(small).guides.brackets)
    assert looks_a_funnel(tapered(small, in_mm=-10.0).guides.brackets)  # a discharge
    straight_after = brackets((0, 0, 640), (500, 10, 630), (1000, 20, 620), (1500, 20, 620))
    assert looks_a_funnel(straight_after)
    assert not looks_a_funnel(brackets((0, 0, 620), (500, 20, 600)))  # two: one may stand wrong
    assert not looks_a_funnel(brackets((0, 0, 600), (500, 1, 599), (1000, 2, 598)))  # badly set
    assert not looks_a_funnel(brackets((0, 0, 640), (500, 20, 620), (1000, 10, 630)))
    assert not looks_a_funnel(brackets((0, 0, 640), (500, 0, 640), (1000, 20, 620)))


def test_an_entrance_funnel_of_a_file_is_told_nothing_of_its_brackets(
    small_text: str,
) -> None:
    """It was told to set all brackets alike, and `change` closed it."""
    scenario = parse_scenario(small_text)
    (entry,) = [a for a in scenario.assumed if a.key == "stages[0].guides.shape"]
    assert entry.value == "funnel"
    assert parse_scenario(scenario_to_toml(scenario)) == scenario
    found = study_line(scenario)
    assert not any("alike" in f"{f.what} {f.do}" for f in found.findings)
    term = found.answers[0].budget.term("bracket difference")
    assert (term.tightest_mm, term.loosest_mm) == (0.0, 0.0)
    assert found.answers[0].pack.clear_width_mm == pytest.approx(53.5 * 25.4)
    said_straight = small_text.replace(
        "[stages.kicks]", '[stages.guides]\nshape = "straight"\n\n[stages.kicks]'
    )
    term = study_line(parse_scenario(said_straight)).answers[0].budget.term("bracket difference")
    assert term.loosest_mm == pytest.approx(1.5 * 25.4)


@pytest.fixture
def small_text() -> str:
    return f"""\
schema = 2
name = "entrance"
[mat]
width = "60 in"
speed = "6 m/min"
[[sizes]]
name = "body"
catalogue = "us_12oz_std"
[[sizes]]
name = "slim"
catalogue = "sleek_355ml"
[guides]
wire_heights = ["30 mm", "65 mm", "100 mm"]
[[stages]]
name = "entrance"
duty = "drain"
length = "1500 mm"
brackets = [
{ENTRANCE}]
[stages.kicks]
energy = "0.05 mJ"
"""


def test_a_size_change_moves_it_as_a_whole(small_text: str) -> None:
    scenario = parse_scenario(small_text)
    (stage,) = plan_change(scenario, "body", "slim").stages
    now = scenario.stages[0].guides.brackets
    moves = {
        (round(b.left_mm - a.left_mm, 9), round(b.right_mm - a.right_mm, 9))
        for a, b in zip(now, stage.setting.brackets, strict=True)
    }
    assert len(moves) == 1
    assert moves != {(0.0, 0.0)}


@given(width=st.floats(300.0, 800.0), centre=st.none() | st.floats(400.0, 600.0))
def test_set_to_keeps_the_shape(small: SimpleNamespace, width: float, centre: float | None) -> None:
    stage = tapered(small)
    moved: Guides = stage.guides.set_to(width, centre)
    assert moved.narrowest_mm == pytest.approx(width)
    assert moved.widest_mm - moved.narrowest_mm == pytest.approx(60.0)
    assert moved.centre_mm == pytest.approx(500.0 if centre is None else centre)


def test_how_steep_a_face_may_be() -> None:
    # tan(30° − atan 0.3) = (1/√3 − 0.3)/(1 + 0.3/√3) = 0.27735/1.17321 = 0.23640
    assert math.tan(steepest_rad("lengthwise", 0.3)) == pytest.approx(0.23640, abs=1e-5)
    assert math.degrees(steepest_rad("crosswise", 0.0)) == pytest.approx(60.0)
    assert steepest_rad("lengthwise", 1.0) == 0.0  # 45° of friction: no face may turn in


@given(st.floats(0.0, 0.55), st.floats(0.0, 1.4))
def test_the_steepest_face_is_where_the_rear_neighbour_carries_all(mu: float, beta: float) -> None:
    """By statics: the push as a sum of the two contacts, neither of which can pull."""
    limit = steepest_rad("lengthwise", mu)
    if abs(beta - limit) < 1e-6:
        return
    normal = np.array([-math.sin(beta), math.cos(beta)])  # along travel, and inwards
    rubbing = mu * np.array([-math.cos(beta), -math.sin(beta)])
    contacts = np.array([[0.5, math.sqrt(0.75)], [-0.5, math.sqrt(0.75)]]).T
    ahead, _ = np.linalg.solve(contacts, normal + rubbing)
    assert (ahead >= 0.0) == (beta <= limit)


def test_how_far_a_corner_may_stand_in() -> None:
    # R (1 − cos β) with tan β = 0.23640: 30 (1 − 0.97318) = 0.805 mm
    assert farthest_step_mm("lengthwise", 60.0, 0.3) == pytest.approx(0.805, abs=1e-3)


def test_steep(small: SimpleNamespace) -> None:
    assert not said(study_line(small.line(tapered(small))), "wedges")
    found = study_line(small.line(tapered(small, in_mm=40.0)))
    assert not said(found, "wedges")  # 40 in 500: 4.6°
    rows = brackets((0, 65, 935), (500, 205, 795), (1000, 205, 795))
    told = study_line(small.line(tapered(small, brackets=rows)))
    (what,) = said(told, "wedges")
    assert "turns in by 15.6° a side between its brackets at 0.0 mm and 500.0 mm" in what
    assert "13.3° at most" in what
    (do,) = [f.do for f in told.findings if "wedges" in f.what]
    assert do == "let the guide face move in by at most 118.2 mm between these two brackets"


def test_turns_back(small: SimpleNamespace) -> None:
    rows = brackets((0, 185, 815), (500, 205, 795), (1000, 195, 805))
    assert said(study_line(small.line(tapered(small, brackets=rows))), "narrow and widen again")
    assert not said(study_line(small.line(tapered(small))), "narrow and widen again")


def test_corner(small: SimpleNamespace) -> None:
    def after(width: float) -> Scenario:
        return small.line(tapered(small), small.stage("wash", width_mm=width))

    (what,) = said(study_line(after(588.0)), "corner")
    assert what == (
        "where wash begins a guide stands 1.0 mm farther in than the one before: a can catches "
        "on the corner past 0.8 mm"
    )
    assert not said(study_line(after(589.0)), "corner")
    assert not said(study_line(after(600.0)), "corner")


def test_wide_end(small: SimpleNamespace) -> None:
    """Eleven lanes are 579.6 mm: 10.4 mm of slack, 1 mm of step, 60 mm at the wide end."""
    line = small.line(tapered(small))
    (what,) = said(study_line(line), "wide end")
    assert "slack can reach 71.4 mm" in what
    safe = answer_stage(line, "entrance", "can").tipping.safe.slack_mm
    assert f"more than {safe:.1f} mm" in what
    held = replace(line.stages[0], hold_down_mm=122.0)
    assert not said(study_line(small.line(held)), "wide end")
