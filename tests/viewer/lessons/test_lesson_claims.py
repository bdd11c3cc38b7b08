"""What a lesson makes its pupils learn holds whatever the chance: in 20 seeds, not in its own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from packsim.passage.step import DT_S, start, step
from packsim.report.words.display import Display
from packsim.scenario.lesson_tables import read_lesson_file
from viewer.lessons.claims import right_of
from viewer.lessons.lesson import Scene, load_lesson
from viewer.lessons.numbers import Number, Ran, both, numbers_of
from viewer.line import answers_of
from viewer.session.moment import slack_measured, track_line

FOLDER = Path(__file__).resolve().parents[3] / "scenarios" / "lessons"
LESSONS = sorted(FOLDER.glob("*.toml"))
ASKED = [
    (path, i)
    for path in LESSONS
    for i, row in enumerate(read_lesson_file(path).scenes)
    if row.question is not None
]


def ran_for(scene: Scene, seeds: tuple[int, ...]) -> list[Ran]:
    """What the packs of a scene gave, stepped side by side until the scene is over."""
    lines = [track_line(loaded) for loaded in scene.packs]
    draws = [np.random.default_rng(seed) for seed in seeds]
    states = [start(line.track, rng) for line, rng in zip(lines, draws, strict=True)]
    row = scene.row
    for _ in range(round(row.seconds * row.speed / DT_S) if row.running else 0):
        for i, line in enumerate(lines):
            states[i], _ = step(states[i], line.track, DT_S, draws[i])
        if 0 < row.until_tips <= sum(int(state.tips.sum()) for state in states):
            break
    return [
        Ran(
            tuple(int(n) for n in state.tips[0]),
            state.cans_in,
            float(slack_measured(line, state)[1][0]),
        )
        for line, state in zip(lines, states, strict=True)
    ]


def numbers_after(scene: Scene, seeds: tuple[int, ...]) -> dict[str, Number]:
    """What the packs of a scene give, run as long as the scene runs them."""
    ran = ran_for(scene, seeds)
    packs = scene.packs
    numbers = [
        numbers_of(loaded, answers_of(loaded)[scene.stage], one, scene.stage, Display("metric"))
        for loaded, one in zip(packs, ran, strict=True)
    ]
    return both(numbers)


@pytest.mark.parametrize(
    "seeds",
    [
        pytest.param(range(1), id="usual"),
        pytest.param(range(1, 20), id="all", marks=[pytest.mark.all, pytest.mark.slow]),
    ],
)
@pytest.mark.parametrize(
    ("path", "at"),
    [
        pytest.param(path, at, marks=() if path.stem == "why_slack_tips" else pytest.mark.all)
        for path, at in ASKED
    ],
    ids=lambda v: getattr(v, "stem", v),
)
def test_a_claim_holds_in_twenty_seeds(path, at, seeds):
    scene = load_lesson(path).scenes[at]
    assert scene.stage == 0
    here = right_of(scene.answers, numbers_after(scene, scene.seeds))
    assert here is not None
    apart = scene.row.second_seed is not None
    for seed in seeds if scene.row.running else ():
        numbers = numbers_after(scene, (seed, seed + 1000 * apart)[: len(scene.packs)])
        assert right_of(scene.answers, numbers) == here, seed
