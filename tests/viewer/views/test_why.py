"""The line on top says the answer of the stage in words, and the window opens where it matters."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from packsim.answers.worst_can import full_words
from packsim.report.words.display import Display
from packsim.scenario import load_scenario
from viewer.line import LoadedLine, answers_of, index_of
from viewer.screen.drawing import Writer
from viewer.session.actions import act
from viewer.session.looking import worst_stage
from viewer.session.open import open_session, read_options
from viewer.session.tips import push_on
from viewer.views.answers import answer_rows, crushes
from viewer.views.elevation import elevation_panel
from viewer.views.whole_window import whole_window
from viewer.views.why import why_line, why_text

SWING = "scenarios/swing_line.toml"


@pytest.fixture(scope="module")
def swing(root):
    return load_scenario(root / SWING)


@pytest.mark.parametrize("size", ["211 body", "sleek body"])
def test_the_line_has_the_numbers_of_the_answer(swing, size):
    for found in answers_of(LoadedLine(swing, size)):
        said, tipping = why_text(found, Display()), found.tipping
        if found.hold_down is not None and found.hold_down.state == "crushes":
            assert f"{-found.hold_down.clearance_mm:.1f} mm lower" in said
            continue
        assert f"slack can reach {tipping.loosest_slack_mm:.1f} mm" in said
        if tipping.verdict == "can tip":
            assert f"more than {tipping.safe.slack_mm:.1f} mm" in said
            assert "tip first" in said
        else:
            assert f"allowed is {tipping.allowed_slack_mm:.1f} mm" in said
        assert said.endswith(".")


def test_guides_too_close_and_a_hold_down_that_holds_are_said(swing):
    close = tuple(stage.with_clear_width(60.0) for stage in swing.stages)
    found = answers_of(LoadedLine(swing.with_stages(close), "211 body"))[2]
    assert found.tipping.verdict == "tight"
    assert "too close: the pack does not fit" in why_text(found, Display())
    wide = tuple(
        replace(stage.with_clear_width(1420.0), hold_down_mm=125.0) for stage in swing.stages
    )
    found = answers_of(LoadedLine(swing.with_stages(wide), "211 body"))[2]
    assert found.tipping.blocked
    assert "only the hold-down stops it" in why_text(found, Display())


def test_the_window_opens_near_the_stage_that_matters_a_capture_tells_of_it(root, swing):
    options = [str(root / SWING), "--size", "sleek body"]
    session = open_session(read_options(options))
    act(session, "close")
    answers = session.pack.source.answers
    assert session.stage == worst_stage(answers) == 1  # its hold-down crushes cans
    view = session.views[0]
    assert view.px_per_mm == pytest.approx(0.5, rel=0.01)
    left, _ = session.pack.source.line_map.faces_at(view.u_mm)
    assert view.view.holds(*view.point_px(view.u_mm, left))
    line = f"pre-wash: {why_text(answers[1], session.display)}"
    assert line in [text.text for text in whole_window(session).texts]
    assert session.tips_to_hold == 1
    captured = open_session(read_options([*options, "--capture", "x.png"]))
    assert captured.stage == 1
    assert captured.views[0].px_per_mm < 0.5  # and shows the whole line
    assert captured.tips_to_hold == 0


def test_with_the_hold_down_lifted_the_highest_tip_index_comes_first(swing):
    lifted = tuple(replace(stage, hold_down_mm=None) for stage in swing.stages)
    answers = answers_of(LoadedLine(swing.with_stages(lifted), "sleek body"))
    worst = max(answer.tipping.loosest.worst for answer in answers)
    assert answers[worst_stage(answers)].tipping.loosest.worst == worst


def texts_of(panel, session) -> list[str]:
    w = Writer(1.0)
    panel(session, w)
    return [text.text for text in w.drawing.texts]


@pytest.mark.parametrize("file", [SWING, "scenarios/first_look.toml"])
def test_the_side_view_is_of_the_dome_water_that_the_passage_has(root, file):
    """Where nothing sprays, the tip angle here is the one at rest."""
    session = open_session(read_options([str(root / file), "--look", "line"]))
    source, rest = session.pack.source, []
    for stage, water in enumerate(source.track.standing.water_in_dome):
        session.stage = stage
        can = session.shown_can(session.pack)
        said = texts_of(elevation_panel, session)
        stance = source.loaded.can.stance(water)
        both = said[said.index("tip here, at rest") + 1]
        at_rest = Display.angle(stance.balance_angle_rad)
        assert both.split(", ")[1] == at_rest
        assert said[said.index("dome") + 1] == full_words(water)
        i = index_of(source.frame, can)
        if not np.any(push_on(source, float(source.frame.x_mm[i]), float(source.frame.y_mm[i]))):
            rest.append(both.split(", "))
    assert rest
    assert all(here == at_rest for here, at_rest in rest)


def test_worst_tip_angles_are_said_to_be_the_worst(swing):
    line = LoadedLine(swing, "sleek body")
    for found in answers_of(line):
        worst = Display.angle(found.tipping.worst.balance_rad)
        assert "worst tip angle" in [name for name, *_ in answer_rows(found, line, Display())]
        if not crushes(found):
            assert f"at worst {worst}" in why_text(found, Display())


def test_no_word_of_the_line_is_dropped_unseen(root):
    session = open_session(read_options([str(root / SWING), "--size", "sleek body"]))
    for number, found in enumerate(session.pack.source.answers):
        session.stage = number
        stage = session.pack.source.line_map.stages[session.stage]
        said = " ".join(texts_of(why_line, session))
        assert said == f"{stage}: {why_text(found, session.display)}"


def test_the_worst_can_is_looked_for_in_the_worst_stage(root):
    options = [str(root / SWING), "--size", "sleek body", "--look", "worst"]
    session = open_session(read_options(options))
    assert session.stage == worst_stage(session.pack.source.answers) != 0
    frame = session.pack.source.frame
    at = index_of(frame, session.pack.picked)
    assert session.pack.source.line_map.stage_at(float(frame.x_mm[at])) == session.stage
    asked = open_session(read_options([*options, "--stage", "pre-rinse"]))
    assert asked.stage == 0
