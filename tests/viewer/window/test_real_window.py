"""A real window on a virtual screen: what is on the screen is what was painted."""

from __future__ import annotations

import json
import os
import shutil
import struct
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from tests.processes import own_group
from viewer.screen.roles import PALETTES

LINE = "scenarios/lessons/lines/teaching_line.toml"

PROBE = """
import sys
from pathlib import Path
from viewer.window.app import run
from viewer.session.actions import act
from viewer.session.open import open_session
from viewer.session.open import read_options
import pygame
session = open_session(read_options([{line!r}]))
act(session, "close")
def hold(number):
    if number == 5:
        print(pygame.display.get_driver(), flush=True)
        sys.stdin.readline()
run(session, max_frames=6, each_frame=hold)
"""


def screen(path: Path) -> np.ndarray:
    """Read an X window dump: a header of big-endian words, then rows of pixels."""
    raw = path.read_bytes()
    head = struct.unpack(">25I", raw[:100])
    size, width, height, order, bits, pitch, colours = (head[i] for i in (0, 4, 5, 7, 11, 12, 19))
    assert bits == 32
    start = size + colours * 12
    rows = np.frombuffer(raw, np.uint8, pitch * height, start).reshape(height, pitch)
    pixels = rows[:, : width * 4].reshape(height, width, 4)
    return pixels[:, :, [2, 1, 0]] if order == 0 else pixels[:, :, 1:]


@contextmanager
def virtual_screen(folder: Path, depth: int = 24) -> Iterator[str]:
    """Start a screen of so many bits a pixel, which is also in a file; its name, as of DISPLAY."""
    if shutil.which("Xvfb") is None:
        pytest.skip("Xvfb is not installed; .ci/run installs it")
    words = ["Xvfb", "-displayfd", "1", "-screen", "0", f"1280x720x{depth}", "-fbdir", str(folder)]
    with own_group(words, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as server:
        assert server.stdout is not None
        number = server.stdout.readline().decode().strip()
        assert number, "no screen was to be had"
        try:
            yield f":{number}"
        finally:
            server.terminate()  # it takes its lock away
            server.wait(60)


@pytest.fixture
def display(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    with virtual_screen(tmp_path) as name:
        yield name, tmp_path / "Xvfb_screen0"


FULL = """
import json, time, pygame
from viewer.session.actions import act
from viewer.session.open import open_session, read_options
from viewer.window import app
screens, screen = [], app.Screen
app.Screen = lambda: screens.append(screen()) or screens[-1]
session = open_session(read_options([{line!r}, "--window", {window!r}]))
act(session, "close")
seen, lately = [], []
def each(number):
    # on once it has stood for some pictures as all say, and otherwise than before where it can
    window = screens[0]._window  # pygame would tell of one of ours, which goes when this ends
    if number == 1 and {place!r}:
        window.position = {place!r}
    size, box = pygame.display.get_surface().get_size(), session.layout.window
    lately.append([*window.position, *window.size, *size, box.w, box.h])
    now = lately[-1]
    stands = len(lately) > 7 and lately[-3:] == 3 * [now] and now[2:4] == now[4:6] == now[6:]
    if stands and not ({place!r} and seen and now[2:] == seen[-1][2:]):
        seen.append(now)
        lately.clear()
        session.wants.append("quit") if len(seen) == 5 else act(session, "full screen")
    time.sleep(0.01)
app.run(session, max_frames=2000, each_frame=each)
print(json.dumps(seen))
"""


@pytest.mark.parametrize(
    ("window", "place", "shown"),
    [
        ("800x600", (700, -50), [480, 0, 800, 600]),
        pytest.param("1600x900", None, [0, 0, 1280, 720], marks=pytest.mark.all),
    ],
)
def test_full_screen_fills_the_screen_and_the_window_comes_back_whole(
    root: Path, display, window: str, place, shown: list[int]
):
    environment = os.environ | {"DISPLAY": display[0], "SDL_VIDEODRIVER": "x11"}
    code = FULL.format(line=LINE, window=window, place=place)
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=root, env=environment, capture_output=True, text=True, timeout=300, check=True,
    )  # fmt: skip
    _, full, back, full_again, back_again = json.loads(done.stdout.splitlines()[-1])
    assert full == full_again == [0, 0, *3 * (1280, 720)]
    assert back == back_again == [*shown, *2 * shown[2:]]


def test_the_window_shows_the_viewer(root: Path, display):
    name, dump = display
    environment = os.environ | {"DISPLAY": name, "SDL_VIDEODRIVER": "x11"}
    probe = subprocess.Popen(
        [sys.executable, "-c", PROBE.format(line=LINE)],
        cwd=root,
        env=environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with probe:
        assert probe.stdout is not None
        driver = probe.stdout.readline().strip()
        caution, until = PALETTES["light"].inks["caution"], time.monotonic() + 60.0
        while tuple((pixels := screen(dump))[717, 3]) != caution and time.monotonic() < until:
            time.sleep(0.1)  # the foot is painted last
        pixels = screen(dump)  # whole: a picture may come while it is read, and none does any more
        keep = os.environ.get("VIEWER_SHOTS")
        if keep:
            from PIL import Image

            Image.fromarray(pixels).save(Path(keep) / "real_window.png")
        probe.communicate("\n", timeout=300)
    assert probe.returncode == 0
    assert driver == "x11"
    assert pixels.shape == (720, 1280, 3)
    assert tuple(pixels[3, 3]) == PALETTES["light"].inks["panel head"]
    assert tuple(pixels[717, 3]) == PALETTES["light"].inks["caution"]
    shown = {tuple(colour) for colour in pixels[60:430:2, 0:976:2].reshape(-1, 3).tolist()}
    assert PALETTES["light"].inks["mat"] in shown
    assert PALETTES["light"].inks["wire"] in shown


@pytest.mark.all
@pytest.mark.parametrize("depth", [24, 16])
def test_random_events_on_a_real_screen_use_no_memory_that_is_gone(
    root: Path, tmp_path: Path, depth: int
):
    """Full screen and other sizes too; what is gone is overwritten here, so that it is noticed."""
    words = [sys.executable, "-X", "faulthandler", "-m", "pytest", "-q", "-p", "no:xdist"]
    words += [f"--basetemp={tmp_path / 'there'}", "tests/viewer/window/test_random_events.py"]
    with virtual_screen(tmp_path, depth) as name:
        done = subprocess.run(
            words,
            cwd=root,
            env=os.environ | {"DISPLAY": name, "SDL_VIDEODRIVER": "x11", "PYTHONMALLOC": "debug"},
            capture_output=True, text=True, check=False, timeout=600,
        )  # fmt: skip
    assert (done.returncode, "1 passed" in done.stdout) == (0, True), done.stdout + done.stderr
