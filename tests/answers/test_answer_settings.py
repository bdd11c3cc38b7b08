"""Many settings at once say what is said of each alone."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packsim import answer_settings, answer_stage, load_scenario
from packsim.answers import Answer
from packsim.answers.many_answers import ManyAnswers
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.line.knobs import knob
from tests.one_voice.lines import MANY, made_up

LINES: Final = [load_scenario(path) for path in sorted(Path("scenarios").glob("*.toml"))]
PLACES: Final = [
    (k, s.name, c.name) for k, x in enumerate(LINES) for s in x.stages for c in x.sizes
]


def _window(answer: Answer, of: str) -> float:
    return math.nan if answer.window.empty else getattr(answer.window, of)


ALONE: Final[dict[str, Callable[[Answer], float]]] = {
    "clear_width_mm": lambda a: a.pack.clear_width_mm,
    "lanes": lambda a: a.pack.lanes,
    "slack_mm": lambda a: a.slack_mm,
    "least_slack_mm": lambda a: a.budget.tightest_mm,
    "loosest_slack_mm": lambda a: a.tipping.loosest_slack_mm,
    "balance_rad": lambda a: a.worst.balance_rad,
    "weakest_rad": lambda a: a.worst.weakest_rad,
    "safe_slack_mm": lambda a: a.tipping.safe.slack_mm,
    "allowed_slack_mm": lambda a: a.tipping.allowed_slack_mm,
    "window_low_mm": lambda a: _window(a, "low_mm"),
    "window_high_mm": lambda a: _window(a, "high_mm"),
    "window_missing_mm": lambda a: max(0.0, -a.window.width_mm),
    "index_edge": lambda a: a.tipping.loosest.edge,
    "index_centre": lambda a: a.tipping.loosest.centre,
    "tip_index": lambda a: a.tipping.loosest.worst,
    "index_as_laid": lambda a: max(a.tipping.own.index, a.tipping.gathered.index),
}
"""Each array, and where a single answer says the same."""


@st.composite
def cases(draw: st.DrawFn) -> tuple[Scenario, str, str, dict[str, np.ndarray]]:
    """Draw a stage and size of a shipped line, and some settings of some of its knobs."""
    line = draw(st.sampled_from(LINES) | st.integers(0, MANY - 1).map(made_up))
    stage, can = draw(st.sampled_from(line.stages)), draw(st.sampled_from(line.sizes))
    width, wires = stage.guides.narrowest_mm, (5.0, *stage.guides.wires.heights_mm)
    values = {
        "clear-width": st.floats(0.9 * can.diameter_mm, max(width, can.diameter_mm) + 30.0)
        | st.floats(0.95 * width, width + 30.0),
        "wire-height": st.floats(wires[-2] + 1.0, max(wires[-1], 1.1 * can.height_mm)),
        "fill": st.sampled_from([1.0, 0.99, 0.9]) | st.floats(0.5, 1.0),
        "temperature": st.sampled_from([20.0, 65.0]),
        "water-in-dome": st.sampled_from([0.0, 0.4, 1.0]),
    }
    if stage.headers:
        values["pressure"] = st.floats(0.0, 2.5)
    if stage.hold_down_mm is not None:
        values["hold-down"] = st.floats(can.height_mm - 3.0, can.height_mm + 40.0)
    names = draw(st.sets(st.sampled_from(sorted(values)), min_size=1))
    count = draw(st.integers(1, 4))
    turned = {
        n: np.array(draw(st.lists(values[n], min_size=count, max_size=count)))
        for n in sorted(names)
    }
    return line, stage.name, can.name, turned


def alone(line: Scenario, stage: str, size: str, values: dict[str, float]) -> Answer:
    """Answer one setting by itself."""
    index = line.stages.index(line.stage(stage))
    for name, value in values.items():
        line = knob(name).set(line, index, float(value))
    return answer_stage(line, stage, size)


@given(cases())
def test_many_at_once_are_the_answers_one_by_one(case: Any) -> None:
    line, stage, size, turned = case
    found = answer_settings(line, stage, size, turned)
    count = len(next(iter(turned.values())))
    each = [alone(line, stage, size, {n: v[k] for n, v in turned.items()}) for k in range(count)]
    for name, of in ALONE.items():
        want = [float(of(answer)) for answer in each]
        # can by can, the far side of an arc is asked 1e-7 past its end; the formulas take the end
        near = 1e-5 if name == "index_as_laid" else 1e-9
        np.testing.assert_allclose(getattr(found, name), want, near, near, err_msg=name)
    assert found.verdict.tolist() == [answer.tipping.verdict for answer in each]


def test_a_can_that_tips_at_once_does_so_at_any_pressure() -> None:
    # where it tips within the first lean the cubic needs the moments of three leans more
    line, turned = made_up(152), {"pressure": np.array([0.3, 1.0, 1.4])}
    found = answer_settings(line, "rinse 1", "can A", turned)
    for k, share in enumerate(turned["pressure"]):
        want = alone(line, "rinse 1", "can A", {"pressure": share}).worst.weakest_rad
        assert found.weakest_rad[k] == pytest.approx(want, rel=1e-9)
    assert 0.0 < found.weakest_rad[2] < found.weakest_rad[0] / 3.0


def arrays(found: ManyAnswers) -> dict[str, Any]:
    """Every array of some answers."""
    return {name: getattr(found, name) for name in (*ALONE, "verdict")}


@settings(max_examples=min(20, settings().max_examples))
@given(cases(), st.randoms(use_true_random=False))
def test_order_does_not_matter(case: Any, chance: Any) -> None:
    line, stage, size, turned = case
    order = list(range(len(next(iter(turned.values())))))
    chance.shuffle(order)
    here = arrays(answer_settings(line, stage, size, turned))
    there = arrays(answer_settings(line, stage, size, {n: v[order] for n, v in turned.items()}))
    for name, values in here.items():
        if name == "verdict":
            assert values[order].tolist() == there[name].tolist()
        else:
            np.testing.assert_allclose(there[name], values[order], 1e-9, 1e-9, err_msg=name)


@pytest.mark.parametrize(("index", "stage", "size"), PLACES)
def test_wider_is_looser_for_as_many_lanes(index: int, stage: str, size: str) -> None:
    width = LINES[index].stage(stage).guides.narrowest_mm + np.linspace(-60.0, 60.0, 601)
    found = answer_settings(LINES[index], stage, size, {"clear-width": width})
    assert np.all(np.diff(found.lanes) >= 0)
    same = np.diff(found.lanes) == 0
    for values in (found.slack_mm, found.least_slack_mm, found.loosest_slack_mm):
        np.testing.assert_array_less(0.19, np.diff(values)[same])
    for values in (found.index_edge, found.index_centre, found.tip_index):
        assert np.all(values[1:][same] >= values[:-1][same])  # infinite ones stay so
    for values in (found.safe_slack_mm, found.window_low_mm):
        assert np.unique(values[~np.isnan(values)].round(9)).size <= np.unique(found.lanes).size


def test_arrays_are_broadcast_to_one_shape() -> None:
    line = LINES[PLACES[0][0]]
    stage, size = PLACES[0][1:]
    width = line.stage(stage).guides.narrowest_mm + np.array([[0.0], [5.0], [9.0]])
    found = answer_settings(line, stage, size, {"clear-width": width, "fill": [1.0, 0.9]})
    assert {values.shape for values in arrays(found).values()} == {(3, 2)}
    assert found.wires_mm.shape[1:] == (3, 2)
    one = answer_settings(line, stage, size, {"clear-width": float(width[2, 0]), "fill": 0.9})
    assert one.slack_mm.shape == ()
    assert one.slack_mm == found.slack_mm[2, 1]
    assert one.verdict == found.verdict[2, 1]
    assert answer_settings(line, stage, size, {}).tip_index == pytest.approx(
        answer_stage(line, stage, size).tipping.loosest.worst, rel=1e-12
    )


@pytest.mark.parametrize(
    ("turned", "key", "said"),
    [
        ({"width": [1.0]}, "over", "'width'"),
        ({"fill": [0.9, 2.0]}, "fill", "2.0"),
        ({"wire-height": [90.0, 1.0]}, "wire-height", "1 mm"),
        ({"clear-width": [500.0, math.nan]}, "clear-width", "nan"),
        ({"clear-width": [500.0, 501.0], "fill": [1.0, 1.0, 1.0]}, "settings", "broadcast"),
        ({"clear-width": []}, "settings", "1 to"),
    ],
)
def test_what_cannot_be_is_named(turned: dict[str, Any], key: str, said: str) -> None:
    line = load_scenario("scenarios/swing_line.toml")
    with pytest.raises(InputError) as caught:
        answer_settings(line, "wash", "sleek body", turned)
    assert caught.value.key.startswith(key)
    assert said in str(caught.value)
