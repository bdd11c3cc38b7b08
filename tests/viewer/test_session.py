"""What a person can do: change, undo, compare, pick, save."""

from __future__ import annotations

import numpy as np
import pytest

from packsim.answers import Answer
from packsim.passage.frames import frame_of
from viewer.line import LoadedLine
from viewer.session.actions import ACTIONS, act, tick
from viewer.session.adjust import DIALS
from viewer.session.keys import CONTROLS, control_for, key_label
from viewer.session.looking import point
from viewer.session.moment import slack_measured
from viewer.session.session import Session
from viewer.views.whole_window import whole_window


def texts(session: Session) -> list[str]:
    return [text.text for text in whole_window(session).texts]


def slack(session: Session) -> float:
    found = session.pack.source.answers[session.stage]
    assert isinstance(found, Answer)
    return found.pack.slack_mm


def test_cautions_come_first_and_the_line_of_them_stays(make_session):
    from packsim.report.words.numbers import CAUTION_LINE, CAUTIONS

    session = make_session(start=True)
    said = " ".join(texts(session))
    assert all(caution in said for caution in CAUTIONS)
    assert tick(session, 0.0) == tick(session, 5.0) == 0
    act(session, "close")
    assert CAUTIONS[0] not in " ".join(texts(session))
    assert CAUTION_LINE in texts(session)


def test_wider_guides_show_more_slack_and_undo_takes_it_back(make_session):
    session = make_session()
    before = slack(session)
    act(session, "turn", 10)
    assert slack(session) == pytest.approx(before + 5.0, abs=1e-6)
    act(session, "undo")
    assert slack(session) == pytest.approx(before)
    act(session, "redo")
    assert slack(session) == pytest.approx(before + 5.0, abs=1e-6)
    act(session, "turn", 10)
    act(session, "reset")
    assert session.pack.source.loaded == session.pack.first
    act(session, "undo")
    assert slack(session) == pytest.approx(before + 10.0, abs=1e-6)


def test_the_measured_slack_follows_the_guides(make_session):
    session = make_session()
    before = session.pack.source.slack_now[0]
    act(session, "turn", 20)
    session.step(40)
    after = session.pack.source.slack_now[0]
    assert after - before == pytest.approx(10.0, abs=1.5)


@pytest.mark.parametrize("dial", ["clear width", "mat speed", "kick energy"])
def test_what_is_measured_is_that_of_the_pack_after_a_turn(make_session, dial):
    session = make_session()
    session.dial = [one.name for one in DIALS].index(dial)
    act(session, "turn", 1)
    source = session.pack.source
    fresh = slack_measured(source.moment.line, source.state)
    np.testing.assert_array_equal(source.slack_now, fresh)


def test_one_stage_or_all(make_session):
    session = make_session()
    act(session, "scope")
    act(session, "stage", 1)
    act(session, "turn", 2)
    first, second = session.pack.source.loaded.scenario.stages
    assert first.guides.narrowest_mm == pytest.approx(587.0)
    assert second.guides.narrowest_mm == pytest.approx(588.0)


def test_a_refused_change_is_a_message_and_changes_nothing(make_session):
    session = make_session()
    before = session.pack.source.loaded
    act(session, "turn", 5000)
    assert session.pack.source.loaded == before
    assert "needs" in session.message
    assert session.message in texts(session)
    tick(session, 100.0)
    assert session.message == ""


def test_two_packs_run_in_step_with_one_seed(make_session):
    session = make_session()
    session.step(7)
    act(session, "beside")
    a, b = (pack.source for pack in session.packs)
    assert a.frame.time_s == b.frame.time_s == 0.0
    for k in range(40):
        tick(session, 0.05 * k)
    assert a.frame.time_s == b.frame.time_s > 1.0
    assert np.array_equal(a.frame.x_mm, b.frame.x_mm)
    assert np.array_equal(a.tips, b.tips)


def test_tight_and_loose_side_by_side_show_the_difference(make_session):
    session = make_session()
    act(session, "beside")
    assert session.active == 1
    act(session, "turn", 54)
    act(session, "restart")
    session.step(250)
    tight, loose = (int(pack.source.tips.sum()) for pack in session.packs)
    assert tight == 0
    assert loose > 0
    assert f"+{loose}" in texts(session)
    act(session, "other pack")
    assert session.active == 0
    act(session, "beside")
    assert len(session.packs) == 1


def test_another_can_starts_both_packs_again(make_session):
    session = make_session()
    act(session, "beside")
    session.step(20)
    act(session, "dial", [dial.name for dial in DIALS].index("can size"))
    act(session, "turn", 1)
    sizes = [pack.source.loaded.size for pack in session.packs]
    assert sizes == ["211 body", "sleek body"]
    assert [pack.source.frame.time_s for pack in session.packs] == [0.0, 0.0]


def test_counts_shown_are_the_passages(make_session):
    session = make_session()
    act(session, "turn", 60)
    session.step(320)
    source = session.pack.source
    assert len(source.events) == int(source.tips.sum()) > 0
    shown = texts(session)
    assert f"{int(source.tips.sum()):,}" in shown
    fed, out = source.flow
    assert f"in {fed:,} · out {out:,} · on the mat {fed - out:,}" in shown


def test_a_picked_can_is_in_the_side_view(make_session):
    session = make_session()
    view = session.views[0]
    frame = session.pack.source.frame
    i = int(np.flatnonzero((frame.x_mm > 2000) & (frame.x_mm < 2500))[3])
    point(session, *view.point_px(float(frame.x_mm[i]), float(frame.y_mm[i])))
    assert session.pack.picked == int(frame.id[i])
    assert session.stage == 1
    assert f"{int(frame.id[i]):,}" in texts(session)
    act(session, "next can")
    assert session.pack.picked != int(frame.id[i])
    act(session, "worst can")
    assert session.pack.picked == session.shown_can(session.pack)


def test_the_wire_key_goes_through_the_wires(make_session):
    session = make_session()
    place = [dial.name for dial in DIALS].index("wire height")
    seen = []
    for _ in range(4):
        act(session, "dial", place)
        seen.append(session.part)
    assert seen == [0, 1, 2, 0]


def test_following_the_pack_keeps_cans_where_they_are(make_session):
    session = make_session()
    act(session, "follow")
    can = int(session.pack.source.frame.id[300])
    before = place(session, can)
    session.step(20)
    after = place(session, can)
    assert after == pytest.approx(before, abs=8.0)


def place(session: Session, can: int) -> tuple[float, float]:
    frame = session.pack.source.frame
    i = int(np.flatnonzero(frame.id == can)[0])
    return session.camera.point_px(float(frame.x_mm[i]), float(frame.y_mm[i]))


def test_the_same_doings_give_the_same_pack(make_session):
    frames = []
    for _ in range(2):
        session = make_session()
        act(session, "turn", 30)
        for k in range(60):
            tick(session, k / 30)
        act(session, "dial", 6)
        act(session, "turn", 5)
        for k in range(60, 120):
            tick(session, k / 30)
        frames.append(session.pack.source.frame)
    assert np.array_equal(frames[0].x_mm, frames[1].x_mm)
    assert np.array_equal(frames[0].role, frames[1].role)


def test_a_hold_down_lower_than_the_cans_is_said_on_the_card(make_session, loaded):
    from dataclasses import replace

    low = tuple(replace(stage, hold_down_mm=110.0) for stage in loaded.scenario.stages)
    session = make_session(at=replace(loaded, scenario=loaded.scenario.with_stages(low)))
    assert "crushes cans" in texts(session)
    verdicts = {found.tipping.verdict for found in session.pack.source.answers}
    assert verdicts <= set(texts(session))  # the verdict of the study stands beside it
    assert "crushes cans" not in texts(make_session())


def test_no_key_is_given_twice():
    keys = [key for control in CONTROLS for key in control.keys]
    assert len(keys) == len(set(keys))
    assert control_for("no such key") is None
    assert key_label("turn", 10) == "Shift+D"


def test_every_action_has_a_key_and_every_key_acts(make_session):
    with_keys = {control.action for control in CONTROLS}
    # a card is reached by the keys of its stage, a row of the list by its letter or the tab key,
    # a place of a tip's time bar by those of the seconds
    # and a lesson of the list by the arrows and the key that goes on
    mouse_only = {"card": "stage", "pick dial": "dial", "tip time": "seconds", "lesson": "lessons"}
    for action in ACTIONS:
        assert mouse_only.get(action, action) in with_keys
    for control in CONTROLS:
        act(make_session(), control.action, control.argument)


def test_everything_clickable_is_reached_by_a_key(make_session):
    session = make_session()
    with_keys = {control.action for control in CONTROLS} | {"card", "pick dial"}
    for state in ("cautions", "help", ""):
        session.overlay = state
        for hit in whole_window(session).hits:
            assert hit.action in with_keys


def test_help_is_the_table_of_keys(make_session):
    session = make_session()
    act(session, "help")
    said = texts(session)
    assert all(control.what in said for control in CONTROLS)


def test_save_writes_what_is_shown(make_session, tmp_path):
    from packsim.scenario.load import load_scenario

    session = make_session()
    act(session, "turn", 4)
    act(session, "save")
    act(session, "save")
    files = sorted(path.name for path in tmp_path.iterdir())
    assert files == ["line-changed-1.toml", "line-changed-2.toml"]
    saved = load_scenario(tmp_path / files[0])
    assert saved.stages[0].guides.narrowest_mm == pytest.approx(589.0)


def test_two_packs_are_named_by_what_parts_them(make_session, loaded):
    session = make_session()
    act(session, "beside")

    def names() -> list[str]:
        parts = ("upper: ", "lower: ", "upper pack", "lower pack")
        said = [text for text in texts(session) if text.startswith(parts)]
        return [text for text in said if " · " not in text and "million" not in text]

    session.packs[1].source.retune(session.packs[0].source.loaded, restart=False)
    assert names() == ["upper pack", "lower pack"]
    act(session, "turn", 20)

    wide = [p.source.loaded.scenario.stages[0].guides.narrowest_mm for p in session.packs]
    assert abs(wide[0] - wide[1]) == pytest.approx(10.0)
    assert names() == [f"upper: {wide[0]:.1f} mm", f"lower: {wide[1]:.1f} mm"]
    other = next(s.name for s in loaded.scenario.sizes if s.name != loaded.size)
    session.set_beside(LoadedLine(loaded.scenario, other))
    assert names() == [f"upper: {loaded.size}", f"lower: {other}"]


def test_the_side_view_keeps_its_can_until_another_is_worse_or_one_tips(make_session):
    session = make_session()
    act(session, "turn", 60)
    shown, roles, frames = [], [], []
    for _ in range(320):
        session.step(1)
        frame = session.pack.source.frame
        shown.append(session.shown_can(session.pack))
        roles.append(int(frame.role[frame.id == shown[-1]][0]))
        frames.append(frame)
    changes = np.flatnonzero(np.diff(shown))
    assert 0 < changes.size < 25
    tipped = {event.can: event.time_s for event in session.pack.source.events if event.stage == 0}
    assert tipped
    for can, at_s in tipped.items():  # the tip comes into the side view
        assert shown[round(at_s / 0.05)] == can
    for k in changes.tolist():
        if shown[k + 1] not in tipped and (frames[k + 1].id == shown[k]).any():
            old = frames[k + 1].role[frames[k + 1].id == shown[k]][0]
            assert roles[k + 1] > old


def test_whatever_is_looked_at_next_has_its_leans(make_session):
    session = make_session((1280, 720))
    session.step(3)
    source = session.pack.source
    line_map, low = source.line_map, 0.0
    for stage in (0, len(line_map.stages) - 1, 1):
        session.stage, session.pack.kept = stage, None
        whole = frame_of(source.state, source.track)
        low, high = line_map.bounds_mm[stage : stage + 2].tolist()
        here = (whole.x_mm >= low) & (whole.x_mm < high)
        worst = source.frame.id == session.pack.worst(stage)
        assert whole.lean_rad[worst] == whole.lean_rad[here].max()
        session.look_at(0.4 * low + 0.6 * high, 0.3 * low + 0.7 * high)
        counts = [text.text for text in roles_of(session)]
        x0, x1, y0, y1 = session.views[0].spans_mm()
        seen = (whole.x_mm >= max(x0, 0.0)) & (whole.x_mm <= min(x1, line_map.length_mm))
        seen &= (whole.y_mm >= y0) & (whole.y_mm <= y1)
        assert 0 < seen.sum() < len(whole)
        assert counts == [f"{n:,}" for n in np.bincount(whole.role[seen], minlength=5)]
        session.step(1)


def roles_of(session: Session):
    """Texts of the counts beside the legend, after a picture."""
    box = session.layout.roles
    return [
        text
        for text in whole_window(session).texts
        if text.align == "right" and box.holds(text.box.x, text.box.y)
    ]
