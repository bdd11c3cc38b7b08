"""The loop under the dummy driver: scripted sessions, the command line, random events."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pygame
import pytest
from pygame._sdl2.video import Window

from packsim.answers import Answer
from packsim.compiling import FIRST_TIME
from viewer.lessons.lesson import load_lesson
from viewer.screen.drawing import Drawing, Hit
from viewer.session.actions import tick
from viewer.session.keys import CONTROLS
from viewer.session.lesson_scenes import begin_lesson
from viewer.session.looking import PAN_PX, zoom_at
from viewer.session.session import Session
from viewer.views.answers import WAITS
from viewer.views.whole_window import whole_window
from viewer.window.app import main, run
from viewer.window.events import Mouse, handle_all, key_name
from viewer.window.screen import Screen

LINE = "scenarios/lessons/lines/teaching_line.toml"


def key(name: str) -> None:
    """Post the press of a key as it stands in the table, and its release."""
    parts = name.split("+") if len(name) > 1 and not name.endswith("++") else [name]
    mods = 0
    for part in parts[:-1]:
        mods |= {"ctrl": pygame.KMOD_LCTRL, "shift": pygame.KMOD_LSHIFT}[part]
    code = pygame.key.key_code(parts[-1])
    for kind in (pygame.KEYDOWN, pygame.KEYUP):
        pygame.event.post(pygame.event.Event(kind, key=code, mod=mods, unicode=""))


def click(session: Session, action: str, argument: int = 0) -> None:
    hit = next(
        h for h in whole_window(session).hits if (h.action, h.argument) == (action, argument)
    )
    press(hit.box.x + hit.box.w // 2, hit.box.y + hit.box.h // 2)


def press(x: int, y: int) -> None:
    for kind in (pygame.MOUSEBUTTONDOWN, pygame.MOUSEBUTTONUP):
        pygame.event.post(pygame.event.Event(kind, button=1, pos=(x, y)))


def play(session: Session, script: dict[int, object], frames: int) -> Session:
    """Run a session on an even clock; each entry of the script is called before its picture."""
    at = [0.0]

    def clock() -> float:
        at[0] += 0.05
        return at[0]

    def each(number: int) -> None:
        if number in script:
            script[number]()

    return run(session, max_frames=frames, clock=clock, each_frame=each)


def slack(session: Session) -> float:
    found = session.pack.source.answers[session.stage]
    assert isinstance(found, Answer)
    return found.pack.slack_mm


def test_events_after_full_screen_tell_of_a_window_that_is_still_there(monkeypatch):
    # pygame keeps no hold of the window it has once handed out; on a real screen that ended the
    # viewer with a broken memory some pictures after F11
    monkeypatch.setenv("SDL_VIDEODRIVER", "dummy")
    screen, windows, others = Screen(), [], []
    try:
        screen.show(320, 200)
        for _ in range(20):
            screen.toggle_full()
            others.append([object() for _ in range(3000)])  # they take what memory has come free
            windows += [e.window for e in pygame.event.get() if getattr(e, "window", None)]
    finally:
        pygame.display.quit()
    assert len(windows) >= 20
    assert {type(window) for window in windows} == {Window}


def test_a_session_of_keys_and_mouse_opens_the_guides_and_cans_tip(make_session):
    session = make_session(start=True)
    seen = {}
    script = {
        1: lambda: key("f3"),  # any key closes the cautions
        2: lambda: seen.update(start=slack(session), tips=int(session.pack.source.tips.sum())),
        3: lambda: key("w"),
        4: lambda: [key("shift+d") for _ in range(5)],
        5: lambda: click(session, "turn", 1),
        6: lambda: [key("k"), key("shift+d")],
        7: lambda: [key("v"), key("page up")],
        8: lambda: [key("page up") for _ in range(2)],
    }
    play(session, script, 60)
    assert seen["tips"] == 0
    assert slack(session) == pytest.approx(seen["start"] + 25.5, abs=1e-6)
    assert int(session.pack.source.tips.sum()) > 0
    assert session.clock.speed == 8.0


def test_mouse_drags_zooms_and_picks(make_session):
    session = make_session()
    seen = {}

    def drag() -> None:
        seen["u"] = session.camera.u_mm
        down, move, up = pygame.MOUSEBUTTONDOWN, pygame.MOUSEMOTION, pygame.MOUSEBUTTONUP
        pygame.event.post(pygame.event.Event(down, button=1, pos=(300, 200)))
        pygame.event.post(pygame.event.Event(move, pos=(350, 200), rel=(50, 0), buttons=(1, 0, 0)))
        pygame.event.post(pygame.event.Event(up, button=1, pos=(350, 200)))

    def dragged() -> None:
        seen["moved"] = (seen["u"] - session.camera.u_mm) * session.camera.px_per_mm
        seen["scale"] = session.camera.px_per_mm
        zoom_at(session, 1.15, 300, 200)

    script = {1: drag, 2: dragged, 4: lambda: click(session, "card", 1)}
    play(session, script, 7)
    assert seen["moved"] == pytest.approx(50.0, abs=0.5)
    assert session.camera.px_per_mm == pytest.approx(seen["scale"] * 1.15)
    assert session.stage == 1
    assert session.pack.picked is None


def test_the_wheel_zooms_about_the_pointer(make_session, monkeypatch):
    session = make_session()
    monkeypatch.setattr(pygame.mouse, "get_pos", lambda: (700, 250))
    under = session.views[0].to_mm(700, 250)
    wheel = pygame.event.Event(pygame.MOUSEWHEEL, x=0, y=3)
    handle_all(session, Mouse(), [wheel], whole_window(session))
    assert session.views[0].to_mm(700, 250) == pytest.approx(under)
    session.overlay = "help"
    scale = session.camera.px_per_mm
    handle_all(session, Mouse(), [wheel], whole_window(session))
    assert session.camera.px_per_mm == scale


def test_a_key_held_down_turns_once_by_all_its_steps(make_session):
    pygame.display.init()
    session = make_session()
    code = pygame.key.key_code("d")
    events = [pygame.event.Event(pygame.KEYDOWN, key=code, mod=0) for _ in range(7)]
    handle_all(session, Mouse(), events, whole_window(session))
    guides = session.pack.source.loaded.scenario.stages[0].guides
    assert guides.narrowest_mm == pytest.approx(587.0 + 3.5)
    assert len(session.pack.done) == 1


def held(name: str, times: int) -> list[pygame.event.Event]:
    """What a key sends that is held for a while: pressed, repeated, released."""
    code = pygame.key.key_code(name)
    down = [pygame.event.Event(pygame.KEYDOWN, key=code, mod=0) for _ in range(times)]
    return [*down, pygame.event.Event(pygame.KEYUP, key=code, mod=0)]


def test_a_key_held_down_acts_once_unless_it_moves_something(make_session):
    pygame.display.init()
    session, mouse = make_session(), Mouse()
    handle_all(session, mouse, held("b", 4), whole_window(session))
    assert len(session.packs) == 2
    handle_all(session, mouse, held("b", 9), whole_window(session))
    assert len(session.packs) == 1
    for _ in range(2):  # in pieces, as the loop sees them
        handle_all(session, mouse, held("space", 3)[:-1], whole_window(session))
    assert not session.clock.running
    handle_all(session, mouse, held("space", 1)[-1:], whole_window(session))
    handle_all(session, mouse, held("space", 3), whole_window(session))
    assert session.clock.running
    before = session.camera
    handle_all(session, mouse, held("left", 5), whole_window(session))
    moved = before.u_mm - session.camera.u_mm
    assert moved * before.px_per_mm == pytest.approx(5 * PAN_PX * session.layout.scale)
    before = session.pack.source.frame.time_s
    handle_all(session, mouse, held(".", 5), whole_window(session))
    assert session.pack.source.frame.time_s == pytest.approx(before + 0.25)


def test_enter_held_down_skips_no_scene(make_session, root):
    pygame.display.init()
    session = make_session()
    begin_lesson(session, load_lesson(root / "scenarios/lessons/why_slack_tips.toml"))
    mouse = Mouse()
    for k in range(40):
        handle_all(session, mouse, held("return", 2)[:-1], whole_window(session))
        tick(session, 0.02 * k)
    assert session.lesson.at == 1


def test_every_key_of_the_table_can_be_pressed(make_session):
    pygame.display.init()
    for control in CONTROLS:
        for name in control.keys:
            parts = name.split("+") if len(name) > 1 and not name.endswith("++") else [name]
            if name.endswith("++"):
                parts = ["ctrl", "+"]
            mods = pygame.KMOD_LCTRL if "ctrl" in parts[:-1] else 0
            mods |= pygame.KMOD_LSHIFT if "shift" in parts[:-1] else 0
            assert key_name(pygame.key.key_code(parts[-1]), mods) == name


def test_quit_and_resize(make_session):
    session = make_session()
    script = {
        1: lambda: pygame.event.post(
            pygame.event.Event(pygame.VIDEORESIZE, w=1500, h=900, size=(1500, 900))
        ),
        2: lambda: key("ctrl+q"),
    }
    play(session, script, 50)
    assert session.wants == ["quit"]


def test_a_picture_is_saved_from_the_keys(make_session, tmp_path):
    session = make_session()
    play(session, {1: lambda: key("p"), 2: lambda: key("p")}, 5)
    files = sorted(path.name for path in tmp_path.glob("*.png"))
    assert files == ["line-1.png", "line-2.png"]
    assert pygame.image.load(tmp_path / "line-1.png").get_size() == (1280, 720)


def test_a_window_shows_what_to_set_to_once_the_hand_rests_and_a_saved_picture_at_once(
    make_session, monkeypatch
):
    """One picture waits after each turn; stills and clips never do."""
    session, waited = make_session(start=True), []

    def seen(session: Session) -> Drawing:
        drawing = whole_window(session)
        waited.append(sum(text.text == WAITS for text in drawing.texts))
        return drawing

    monkeypatch.setattr("viewer.window.app.whole_window", seen)
    monkeypatch.setattr("viewer.window.capture.whole_window", seen)
    script = {
        1: lambda: key("f3"),  # any key closes the cautions
        2: lambda: key("d"),
        3: lambda: key("d"),
        5: lambda: [key("d"), key("p")],  # the still is taken first
        7: lambda: [setattr(session, "filmed_s", 0.0), key("d")],
    }
    play(session, script, 9)
    assert waited == [0, 0, 2, 2, 0, 0, 2, 0, 0, 0]


def test_hits_are_where_the_buttons_are(make_session):
    session = make_session()
    drawing = whole_window(session)
    for hit in drawing.hits:
        assert isinstance(hit, Hit)
        assert drawing.hit(hit.box.x + hit.box.w - 1, hit.box.y + 1) is not None


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "scenario file"),
        (["no_such.toml"], "no_such.toml"),
        ([LINE, "--window", "12"], "--window: got '12'; needs WIDTHxHEIGHT"),
        ([LINE, "--size", "nope"], "--size: got 'nope'; needs one of 211 body, sleek body"),
        ([LINE, "--stage", "9"], "--stage: got '9'; needs one of wash, rinse"),
        ([LINE, "--capture", "a.gif", "--fps", "0"], "--fps: got '0'"),
        (
            [LINE, "--capture", "a.gif", "--fps", "many"],
            "--fps: got 'many'; needs a number from 0.1 to 240",
        ),
        ([LINE, "--capture", "a.gif", "--seconds", "nan"], "--seconds: got 'nan'"),
        ([LINE, "--seed", "-1"], "--seed: got '-1'"),
        ([LINE, "--seed", "1.5"], "--seed: got '1.5'; needs a whole number"),
        ([LINE, "--scale", "99"], "--scale"),
        ([LINE, "--look", "up"], "--look: got 'up'; needs one of near, line, stage, worst, tip"),
        ([LINE, "--colours", "red"], "--colours: got 'red'; needs one of light, dark"),
        ([LINE, "--size"], "--size: got nothing; needs a value"),
        ([LINE, "--folder", "none"], "--folder: got none"),
        ([LINE, "--lesson", LINE], "--lesson: got a scenario file too"),
        (["--lesson", LINE, "--stage", "wash"], "--stage: got --lesson too"),
        (["--lesson", LINE, "--size", ""], "--size: got --lesson too"),
        (
            ["--lesson", LINE, "--capture", "a.gif", "--after", "0"],
            "--after: got --lesson too; needs one of the two",
        ),
        ([LINE, "--seconds", "3"], "--seconds: got no --capture"),
        ([LINE, "--replace"], "--replace: got no --capture"),
        ([LINE, "--beside", LINE, "--beside-size", "211 body"], "--beside-size"),
        ([LINE, "--frobnicate"], "--frobnicate: got no such option"),
        ([LINE, LINE], "SCENARIO: got scenarios/lessons"),
        ([LINE, "--capture", "picture.bmp"], "picture.bmp"),
        ([LINE, "--beside-size", "nope"], "--beside-size: got 'nope'"),
        (["--lesson", "none.toml"], "none.toml"),
    ],
)
def test_bad_input_is_one_line_and_exit_code_two(root, monkeypatch, capsys, arguments, said):
    monkeypatch.chdir(root)
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    assert ended.value.code == 2
    complaint = capsys.readouterr().err
    assert complaint.count("\n") == 1
    assert complaint.startswith("packsim-viewer: ")
    assert said in complaint


def test_every_complaint_about_a_lesson_has_a_line(root, monkeypatch, capsys):
    monkeypatch.chdir(root)
    with pytest.raises(SystemExit) as ended:
        main(["--lesson", LINE])
    assert ended.value.code == 2
    lines = capsys.readouterr().err.splitlines()
    assert all(line.startswith(f"packsim-viewer: {LINE}") for line in lines)
    assert any(": scenes: got nothing" in line for line in lines)
    assert any(": stages: got an unknown key" in line for line in lines)


def test_ctrl_c_while_the_window_loads_leaves_no_traceback():
    """The first import of the window stands for any moment of the start."""
    script = (
        "import sys, viewer.__main__ as begin;"
        "find = lambda *_: (_ for _ in ()).throw(KeyboardInterrupt);"
        "stop = type('Stop', (), {'find_spec': find});"
        "sys.meta_path.insert(0, stop()); begin.main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "")


def test_the_module_runs_as_a_command(root: Path, tmp_path: Path, monkeypatch, capsys):
    out = tmp_path / "picture.png"
    command = [sys.executable, "-m", "viewer", LINE, "--capture", str(out), "--seconds", "0.1"]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
    said = done.stderr.replace(FIRST_TIME + "\n", "")  # on a machine that has not compiled yet
    assert (done.returncode, said) == (0, "")
    assert out.stat().st_size > 10_000
    monkeypatch.chdir(root)
    with pytest.raises(SystemExit) as ended:
        main([LINE, "--capture", str(out), "--seconds", "0.1"])
    assert ended.value.code == 2
    assert "--replace" in capsys.readouterr().err
