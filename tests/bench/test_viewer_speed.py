"""How fast the viewer draws: medians of processor time in milliseconds, printed.

The limits are twice the aims, so that a busy machine does not fail them.

Run with ``pytest tests/bench/test_viewer_speed.py -s``. The screen is a software surface.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pygame
import pytest

os.environ.setdefault("SDL_VIDEODRIVER", "dummy")

from packsim.passage import Frame
from packsim.scenario.load import load_scenario
from viewer.line import LoadedLine
from viewer.screen.layout import Box, Camera
from viewer.session.actions import act, tick
from viewer.session.session import Session
from viewer.session.source import Live
from viewer.views.plan import plan_drawing
from viewer.views.whole_window import whole_window
from viewer.window.paint import Painter

SIZE = (1920, 1080)


def median_ms(job: Callable[[], object], times: int = 40) -> float:
    for _ in range(3):
        job()
    spent = []
    for _ in range(times):
        start = time.process_time()
        job()
        spent.append((time.process_time() - start) * 1000.0)
    return statistics.median(spent)


@pytest.fixture(scope="module")
def source(root: Path) -> Live:
    scenario = load_scenario(root / "scenarios" / "swing_line.toml")
    return Live(LoadedLine(scenario, scenario.set_for), 1)


def crowd(count: int) -> tuple[Frame, float, float]:
    """A close pack of many cans in the shape of the screen, with every role in it."""
    rng = np.random.default_rng(5)
    rows = round(np.sqrt(count * SIZE[1] / SIZE[0] * 2.0 / np.sqrt(3.0)))
    columns = -(-count // rows)
    x, y = np.meshgrid(np.arange(columns) * 66.3, np.arange(rows) * 57.4)
    x = x + 33.15 * (np.arange(rows) % 2)[:, None] + rng.uniform(0, 0.2, x.shape)
    n = count
    role = rng.choice(5, n, p=[0.3, 0.6, 0.06, 0.03, 0.01]).astype(np.uint8)
    frame = Frame(
        0.0,
        0.0,
        x.ravel()[:n].astype(np.float32) + 40.0,
        y.ravel()[:n].astype(np.float32) + 40.0,
        np.full(n, 33.0, np.float32),
        rng.uniform(0, 0.3, n).astype(np.float32),
        rng.uniform(-3, 3, n).astype(np.float32),
        role,
        np.arange(n, dtype=np.uint32),
    )
    return frame, float(x.max()) + 80.0, float(y.max()) + 80.0


@pytest.mark.parametrize("where", ["all in view", "dots"])
def test_15000_cans_on_a_full_hd_surface(source: Live, where: str) -> None:
    frame, wide, tall = crowd(15_000)
    camera = Camera(0.0, 0.0, 1.0, Box(0, 0, *SIZE)).fitted((0.0, 0.0), (wide, tall))
    if where == "dots":
        camera = camera.zoomed(0.2)
    line_map = source.line_map
    surface, painter = pygame.Surface(SIZE, 0, 32), Painter(1.25)

    from dataclasses import replace

    endless = replace(line_map, bounds_mm=line_map.bounds_mm * (wide / line_map.length_mm))

    def draw() -> None:
        painter.paint(surface, plan_drawing(endless, frame, camera, unit_px=1.25))

    spent = median_ms(draw)
    print(f"\n15,000 cans, {where}, {2 * 33 * camera.px_per_mm:.1f} px each: {spent:.1f} ms")
    assert spent < 32.0  # the aim is 16 ms on an idle core


def test_simulation_and_whole_window_of_6000_cans(source: Live) -> None:
    session = Session(source, SIZE, seed=1)
    act(session, "close")
    surface, painter = pygame.Surface(SIZE, 0, 32), Painter(session.layout.scale)
    now = [0.0]

    def picture() -> None:
        # every picture makes a step: a passage shown faster than it runs at 20 steps per second
        now[0] += source.dt_s
        tick(session, now[0])
        painter.paint(surface, whole_window(session))

    spent = median_ms(picture, 60)
    print(
        f"\n{len(source.frame):,} cans, a step and a picture: {spent:.1f} ms, {1000 / spent:.0f} /s"
    )
    assert spent < 66.0  # the aim is 33 ms, 30 pictures per second, on an idle core
