"""What a person can do: change, undo, compare, pick, save."""

from __future__ import annotations

import numpy as np
import pytest

from packsim.answers import Answer
from viewer.session.adjust import KNOBS, Setting
from viewer.session.camera_moves import point
from viewer.session.keys import CONTROLS, control_for, key_label
from viewer.session.session import Session
from viewer.views.whole_window import whole_window


def texts(session: Session) -> list[str]:
    return [text.text for text in whole_window(session).texts]


def slack(session: Session) -> float:
    found = session.pack.feed.answers[session.stage]
    assert isinstance(found, Answer)
    return found.pack.slack_mm


def test_cautions_come_first_and_the_line_of_them_stays(make_session):
    from packsim.report.words.cautions import CAUTION_LINE, CAUTIONS

    session = make_session(start=True)
    said = " ".join(texts(session))
    assert all(caution in said for caution in CAUTIONS)
    assert session.tick(0.0) == session.tick(5.0) == 0
    session.act("close")
    assert CAUTIONS[0] not in " ".join(texts(session))
    assert CAUTION_LINE in texts(session)


def test_wider_guides_show_more_slack_and_undo_takes_it_back(make_session):
    session = make_session()
    before = slack(session)
    session.act("turn", 10)
    assert slack(session) == pytest.approx(before + 5.0, abs=1e-6)
    session.act("undo")
    assert slack(session) == pytest.approx(before)
    session.act("redo")
    assert slack(session) == pytest.approx(before + 5.0, abs=1e-6)
    session.act("turn", 10)
    session.act("reset")
    assert session.pack.feed.setting == session.pack.first
    session.act("undo")
    assert slack(session) == pytest.approx(before + 10.0, abs=1e-6)


def test_the_measured_slack_follows_the_guides(make_session):
    session = make_session()
    before = session.pack.feed.slack_now[0]
    session.act("turn", 20)
    session.step(40)
    after = session.pack.feed.slack_now[0]
    assert after - before == pytest.approx(10.0, abs=1.5)


def test_one_stage_or_all(make_session):
    session = make_session()
    session.act("scope")
    session.act("stage", 1)
    session.act("turn", 2)
    first, second = session.pack.feed.setting.scenario.stages
    assert first.guides.narrowest_mm == pytest.approx(587.0)
    assert second.guides.narrowest_mm == pytest.approx(588.0)


def test_a_refused_change_is_a_message_and_changes_nothing(make_session):
    session = make_session()
    before = session.pack.feed.setting
    session.act("turn", 5000)
    assert session.pack.feed.setting == before
    assert "needs" in session.message
    assert session.message in texts(session)
    session.tick(100.0)
    assert session.message == ""


def test_two_packs_run_in_step_with_one_seed(make_session):
    session = make_session()
    session.step(7)
    session.act("beside")
    a, b = (pack.feed for pack in session.packs)
    assert a.frame.time_s == b.frame.time_s == 0.0
    for k in range(40):
        session.tick(0.05 * k)
    assert a.frame.time_s == b.frame.time_s > 1.0
    assert np.array_equal(a.frame.x_mm, b.frame.x_mm)
    assert np.array_equal(a.tips, b.tips)


def test_tight_and_loose_side_by_side_show_the_difference(make_session):
    session = make_session()
    session.act("beside")
    assert session.active == 1
    session.act("turn", 54)
    session.act("restart")
    session.step(250)
    tight, loose = (int(pack.feed.tips.sum()) for pack in session.packs)
    assert tight == 0
    assert loose > 0
    assert f"+{loose}" in texts(session)
    session.act("other pack")
    assert session.active == 0
    session.act("beside")
    assert len(session.packs) == 1


def test_another_can_begins_both_packs_anew(make_session):
    session = make_session()
    session.act("beside")
    session.step(20)
    session.act("knob", [knob.name for knob in KNOBS].index("can size"))
    session.act("turn", 1)
    sizes = [pack.feed.setting.size for pack in session.packs]
    assert sizes == ["211 body", "sleek body"]
    assert [pack.feed.frame.time_s for pack in session.packs] == [0.0, 0.0]


def test_counts_shown_are_the_passages(make_session):
    session = make_session()
    session.act("turn", 60)
    session.step(320)
    feed = session.pack.feed
    assert len(feed.events) == int(feed.tips.sum()) > 0
    shown = texts(session)
    assert f"{int(feed.tips.sum()):,}" in shown
    fed, out = feed.flow
    assert f"fed {fed:,} · let go {out:,} · here {fed - out:,}" in shown


def test_a_picked_can_is_in_the_side_view(make_session):
    session = make_session()
    view = session.views[0]
    frame = session.pack.feed.frame
    i = int(np.flatnonzero((frame.x_mm > 2000) & (frame.x_mm < 2500))[3])
    point(session, *view.point_px(float(frame.x_mm[i]), float(frame.y_mm[i])))
    assert session.pack.picked == int(frame.id[i])
    assert session.stage == 1
    assert f"{int(frame.id[i]):,}" in texts(session)
    session.act("next can")
    assert session.pack.picked != int(frame.id[i])
    session.act("worst can")
    assert session.pack.picked == session.shown_can(session.pack)


def test_the_wire_key_goes_through_the_wires(make_session):
    session = make_session()
    place = [knob.name for knob in KNOBS].index("wire height")
    seen = []
    for _ in range(4):
        session.act("knob", place)
        seen.append(session.wire)
    assert seen == [0, 1, 2, 0]


def test_riding_with_the_pack_keeps_cans_where_they_are(make_session):
    session = make_session()
    session.act("follow")
    can = int(session.pack.feed.frame.id[300])
    before = place(session, can)
    session.step(20)
    after = place(session, can)
    assert after == pytest.approx(before, abs=8.0)


def place(session: Session, can: int) -> tuple[float, float]:
    frame = session.pack.feed.frame
    i = int(np.flatnonzero(frame.id == can)[0])
    return session.camera.point_px(float(frame.x_mm[i]), float(frame.y_mm[i]))


def test_the_same_doings_give_the_same_pack(make_session):
    frames = []
    for _ in range(2):
        session = make_session()
        session.act("turn", 30)
        for k in range(60):
            session.tick(k / 30)
        session.act("knob", 6)
        session.act("turn", 5)
        for k in range(60, 120):
            session.tick(k / 30)
        frames.append(session.pack.feed.frame)
    assert np.array_equal(frames[0].x_mm, frames[1].x_mm)
    assert np.array_equal(frames[0].role, frames[1].role)


def test_a_hold_down_lower_than_the_cans_is_said_on_the_card(make_session, setting):
    from dataclasses import replace

    low = tuple(replace(stage, hold_down_mm=110.0) for stage in setting.scenario.stages)
    session = make_session(at=replace(setting, scenario=setting.scenario.with_stages(low)))
    assert "crushed" in texts(session)
    assert "crushed" not in texts(make_session())


def test_no_key_is_given_twice():
    keys = [key for control in CONTROLS for key in control.keys]
    assert len(keys) == len(set(keys))
    assert control_for("no such key") is None
    assert key_label("turn", 10) == "Shift+D"


def test_every_action_has_a_key_and_every_key_acts(make_session):
    session = make_session()
    with_keys = {control.action for control in CONTROLS}
    # a card is reached by the keys of its stage, a row of the list by its letter or the tab key
    mouse_only = {"card": "stage", "pick knob": "knob"}
    for action in session._acts:
        assert mouse_only.get(action, action) in with_keys
    for control in CONTROLS:
        make_session().act(control.action, control.argument)


def test_everything_clickable_is_reached_by_a_key(make_session):
    session = make_session()
    with_keys = {control.action for control in CONTROLS} | {"card", "pick knob"}
    for state in ("cautions", "help", ""):
        session.overlay = state
        for hit in whole_window(session).hits:
            assert hit.action in with_keys


def test_help_is_the_table_of_keys(make_session):
    session = make_session()
    session.act("help")
    said = texts(session)
    assert all(control.what in said for control in CONTROLS)


def test_save_writes_what_is_shown(make_session, tmp_path):
    from packsim.scenario.load import load_scenario

    session = make_session()
    session.act("turn", 4)
    session.act("save")
    session.act("save")
    files = sorted(path.name for path in tmp_path.iterdir())
    assert files == ["line-changed-1.toml", "line-changed-2.toml"]
    saved = load_scenario(tmp_path / files[0])
    assert saved.stages[0].guides.narrowest_mm == pytest.approx(589.0)


def test_two_packs_are_named_by_what_parts_them(make_session, setting):
    session = make_session()
    session.act("beside")

    def names() -> list[str]:
        parts = ("upper: ", "lower: ", "upper pack", "lower pack")
        return [text for text in texts(session) if text.startswith(parts)]

    session.packs[1].feed.retune(session.packs[0].feed.setting, restart=False)
    assert names() == ["upper pack", "lower pack"]
    session.act("turn", 20)

    wide = [p.feed.setting.scenario.stages[0].guides.narrowest_mm for p in session.packs]
    assert abs(wide[0] - wide[1]) == pytest.approx(10.0)
    assert names() == [f"upper: {wide[0]:.1f} mm", f"lower: {wide[1]:.1f} mm"]
    other = next(s.name for s in setting.scenario.sizes if s.name != setting.size)
    session.set_beside(Setting(setting.scenario, other))
    assert names() == [f"upper: {setting.size}", f"lower: {other}"]
