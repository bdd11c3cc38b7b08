"""Round trip and mirror image of any size change; shifts against a plain scan."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from packsim.line import Bracket, Header, Nozzle, Scenario, Stage
from packsim.scenario import load_scenario, parse_scenario, scenario_to_toml
from packsim.size_change import StageChange, apply_change, plan_change

QUIET = settings(
    max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


@QUIET
@given(
    st.floats(100.0, 300.0),
    st.floats(400.0, 600.0),
    st.floats(0.0, 3.0),
    st.sampled_from(["small", "tall"]),
    st.sampled_from([0.0, 0.5, 1.0]),
)
def test_there_and_back_returns_every_bracket(
    line: Callable[..., Scenario],
    stage: Callable[..., Stage],
    left: float,
    width: float,
    taper: float,
    to: str,
    step: float,
) -> None:
    wash = stage(left=left, right=left + width, setting_step_mm=step, hold_down_mm=123.3)
    stood = (Bracket(0.0, left, left + width), Bracket(2000.0, left + taper, left + width))
    case = line(replace(wash, guides=replace(wash.guides, brackets=stood)))
    out = apply_change(case, plan_change(case, "big", to))
    assert out.set_for == to
    back = apply_change(out, plan_change(out, to, "big"))
    assert back.set_for == "big"
    assert back.stages[0].guides.brackets == stood
    assert back.stages[0].hold_down_mm == 123.3
    assert {known.size for known in back.stages[0].settings} == {"big", to}
    assert back.mat.speed_mm_per_s == pytest.approx(case.mat.speed_mm_per_s)
    again = apply_change(back, plan_change(back, "big", to))
    assert again.stages[0].guides.brackets == out.stages[0].guides.brackets


def mirrored(case: Scenario) -> Scenario:
    mat = case.mat.width_mm
    stages = []
    for stage in case.stages:
        brackets = tuple(
            Bracket(b.station_mm, mat - b.right_mm, mat - b.left_mm) for b in stage.guides.brackets
        )
        headers = tuple(
            replace(h, first_mm=mat - h.first_mm - (h.count - 1) * h.pitch_mm)
            for h in stage.headers
        )
        guides = replace(stage.guides, brackets=brackets)
        stages.append(replace(stage, guides=guides, headers=headers))
    return case.with_stages(tuple(stages))


@QUIET
@given(
    st.floats(150.0, 250.0),
    st.floats(420.0, 600.0),
    st.floats(50.0, 80.0),
    st.floats(30.0, 70.0),
    st.integers(4, 15),
)
def test_the_mirrored_line_has_mirrored_moves(
    line: Callable[..., Scenario],
    stage: Callable[..., Stage],
    left: float,
    width: float,
    first: float,
    pitch: float,
    count: int,
) -> None:
    nozzle = Nozzle("cone", math.radians(50.0), 2e4, 0.2)
    header = Header("above", 900.0, 250.0, first, pitch, count, 0.05, nozzle)
    # continuous settings: a rule would break ties by side
    wash = stage(left=left, right=left + width, setting_step_mm=0.0)
    case = line(replace(wash, headers=(header,)))
    here, there = (plan_change(c, "big", "small") for c in (case, mirrored(case)))
    gains = [part.stages[0].setting for part in (here, there)]
    # equal shifts to either side are as good as each other; the left one is taken on both lines
    assume(abs(gains[0].shift_mm + gains[1].shift_mm) < 1e-6 or _one_best(case, here.stages[0]))
    sides = {"left": "right", "right": "left"}
    swapped = {(sides[m.side], m.station_mm): m.new_mm for m in there.moves}
    for move in here.moves:
        assert swapped[move.side, move.station_mm] == pytest.approx(move.new_mm, abs=1e-6)


def _one_best(case: Scenario, part: StageChange) -> bool:
    """Whether the opposite shift would be worse, so that no tie excuses a difference."""
    pack = part.after.pack
    lines = np.unique(np.round(pack.centres_mm[:, 1], 6)) - pack.clear_width_mm / 2.0
    nozzles = case.stages[0].headers[0].positions_mm
    middle = case.stages[0].guides.centre_mm

    def worst(shift: float) -> float:
        places = lines + middle + shift
        return float(np.max(np.min(np.abs(places[:, None] - nozzles[None, :]), axis=1)))

    return worst(-part.setting.shift_mm) > worst(part.setting.shift_mm) + 1e-6


@pytest.mark.slow
def test_the_changed_swing_line_can_be_saved(root: Path) -> None:
    case = load_scenario(root / "scenarios" / "swing_line.toml")
    after = apply_change(case, plan_change(case, "211 body", "sleek body"))
    assert parse_scenario(scenario_to_toml(after)) == after
    assert all(stage.setting_for("211 body") is not None for stage in after.stages)
