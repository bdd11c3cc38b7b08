"""Results as JSON: the agreed keys, plain values, valid for whatever a line may be."""

from __future__ import annotations

import json
import math
import re
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packsim.answers.quantities import QUANTITIES
from packsim.answers.quantity import KINDS as QUANTITY_KINDS
from packsim.line import LAYOUTS, STATES, Bracket, Nozzle, Scenario
from packsim.report.files.as_json import DIGITS, _in_degrees, as_json, plain
from packsim.study import LEVELS, study_line

TOP = {"schema", "command", "scenario", "seed", "answers", "findings", "assumed"}
KINDS = {"number": (int, float), "integer": int, "boolean": bool, "string": str, "object": dict}
VERDICTS = {"tight", "held", "loose", "can tip"}


def told(line: Scenario) -> dict[str, Any]:
    """A line's study as plain data."""
    return as_json("study", line, study_line(line))


def checked(data: dict[str, Any]) -> dict[str, Any]:
    """The same data after a trip through strict JSON, with every agreed key looked at."""
    text = json.dumps(data, allow_nan=False)
    back = json.loads(text)
    assert set(back) >= TOP
    assert back["schema"] == 2
    for answer in back["answers"]:
        assert isinstance(answer["stage"], str)
        assert isinstance(answer["size"], str)
        for one in QUANTITIES:
            value = answer[one.key]
            assert value is None or isinstance(value, KINDS[QUANTITY_KINDS[one.kind]]), one.key
        assert answer["verdict"] in VERDICTS
        assert (answer["window_low_mm"] is None) == bool(answer["window_empty_because"])
        for row in answer["assumed"]:
            assert set(row) == {"key", "value", "why"}
        assert 0.0 <= answer["density"] <= math.pi / math.sqrt(12.0) + 1e-9
        assert sum(answer["voids_by_place"].values()) == answer["voids"]
    assert back["findings"]
    for finding in back["findings"]:
        assert finding["level"] in LEVELS
        assert finding["what"]
        assert finding["stages"]
    return back


def test_the_agreed_keys_on_a_plain_line(small: SimpleNamespace) -> None:
    stage = small.stage(headers=(small.header(), small.header("below", pressure_MPa=0.05)))
    back = checked(told(small.line(stage, seed=7)))
    assert (back["scenario"], back["seed"]) == ("a small line", 7)
    (answer,) = back["answers"]
    assert answer["nozzle_offset_mm"] == pytest.approx(0.1924, abs=1e-4)
    assert answer["safe_slack_mm"] == min(
        answer["safe_slack_edge_mm"], answer["safe_slack_centre_mm"]
    )


@given(st.floats(-1e300, 1e300))
def test_a_number_goes_out_in_ten_digits(number: float) -> None:
    shown = plain(number)
    assert shown == pytest.approx(number, rel=0.5000001 * 10.0 ** (1 - DIGITS), abs=1e-320)
    assert plain(shown) == shown
    assert plain([np.float64(number), {"a": number}]) == [shown, {"a": shown}]


def test_no_number_of_a_result_goes_out_in_more_digits(small: SimpleNamespace) -> None:
    line = small.line(small.stage(headers=(small.header(),)), factor=1.0 + 1.0 / 3.0)
    text = json.dumps(told(line))
    assert '"safety_factor": 1.333333333,' in text
    assert re.findall(r"\d\.\d*[1-9]\d{10}|[1-9]\d*\.\d{10}", text) == []


@pytest.mark.parametrize("off", [0.0, -1e-16, 1e-16])
def test_a_bearing_along_travel_is_0_and_not_360(off: float) -> None:
    assert _in_degrees("worst_direction_rad", off) == 0.0
    assert _in_degrees("worst_direction_rad", -0.1) == pytest.approx(360.0 - math.degrees(0.1))


def test_what_does_not_exist_is_null(small: SimpleNamespace) -> None:
    nothing = checked(told(small.line(small.stage(width_mm=50.0))))["answers"][0]
    assert nothing["lanes"] == 0
    assert nothing["reason"].startswith("one can needs 60 mm")
    assert nothing["nozzle_offset_mm"] is None
    assert nothing["cans_per_min"] == 0.0
    assert nothing["voids"] >= 0
    free = checked(told(small.line(small.stage(heights_mm=(130.0,)))))["answers"][0]
    assert free["index_edge"] is None
    assert free["index_centre"] is not None
    dry = checked(told(small.line(small.stage())))["answers"][0]
    assert dry["nozzle_offset_mm"] is None
    assert dry["least_normal_N"] is None
    assert dry["hold_down_state"] is None


def test_setups_run_size_by_size_and_stage_by_stage(small: SimpleNamespace) -> None:
    line = small.line(small.stage("one"), small.stage("two"), cans=(small.can("a"), small.can("b")))
    found = study_line(line)
    back = as_json("study", found.scenario, found)
    assert [(s["size"], s["stage"]) for s in back["answers"]] == [
        ("a", "one"),
        ("a", "two"),
        ("b", "one"),
        ("b", "two"),
    ]
    assert [s.stage for s in found.of_size("b")] == ["one", "two"]
    assert found.answer("two", "a") is found.answers[1]


def test_progress_counts_every_setup(small: SimpleNamespace) -> None:
    seen: list[tuple[int, int]] = []
    study_line(
        small.line(small.stage("one"), small.stage("two")),
        lambda done, of: seen.append((done, of)),
    )
    assert seen == [(1, 2), (2, 2)]


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize(
    "hold_down_mm",
    [None, 125.0, *(pytest.param(mm, marks=pytest.mark.all) for mm in (110.0, 160.0))],
)
def test_every_layout_state_pool_and_hold_down(
    small: SimpleNamespace, layout: str, state: str, hold_down_mm: float | None
) -> None:
    stages = [
        small.stage(
            f"{width} {pool}",
            width_mm=width,
            layout=layout,
            state=state,
            hold_down_mm=hold_down_mm,
            water_in_dome=(pool, pool),
        )
        for width in (59.0, 60.0, 75.0, 113.0, 590.0)
        for pool in (0.0, 0.5, 1.0)
    ]
    checked(told(small.line(*stages)))


@st.composite
def lines(draw: st.DrawFn) -> dict[str, Any]:
    """Keywords of a stage, a can and headers, over all that is allowed and a line could have."""
    number = st.floats
    height = draw(number(60.0, 220.0))
    can = {
        "diameter_mm": draw(number(45.0, 90.0)),
        "height_mm": height,
        "mass_kg": draw(number(0.004, 0.05)),
        "cg_mm": height * draw(number(0.2, 0.8)),
        "dome_depth_mm": draw(number(0.0, 15.0)),
        "dome_rim_radius_mm": draw(number(5.0, 22.0)),
        "diameter_tol_mm": draw(number(0.0, 2.0)),
        "expansion_per_K": 2.4e-5,
    }
    width = draw(number(40.0, 700.0))
    brackets = [Bracket(0.0, 500.0 - width / 2.0, 500.0 + width / 2.0)]
    if draw(st.booleans()):
        brackets.append(Bracket(900.0, 500.0 - width / 2.0, 502.0 + width / 2.0))
    stage = {
        "brackets": tuple(brackets),
        "heights_mm": tuple(sorted(draw(st.sets(number(5.0, 200.0), min_size=1, max_size=4)))),
        "anchored": draw(st.booleans()),
        "tension_N": draw(number(20.0, 2000.0)),
        "layout": draw(st.sampled_from(LAYOUTS)),
        "state": draw(st.sampled_from(STATES)),
        "fill": draw(number(0.3, 1.0)),
        "water_in_dome": draw(st.tuples(number(0.0, 0.5), number(0.5, 1.0))),
        "temperature_C": draw(number(-20.0, 230.0)),
        "pack_pressure_N_per_m": draw(number(0.0, 60.0)),
        "hold_down_mm": draw(st.none() | number(40.0, 250.0)),
        "setting_step_mm": draw(number(0.0, 10.0)),
    }
    headers = draw(
        st.lists(
            st.fixed_dictionaries(
                {
                    "side": st.sampled_from(("above", "below")),
                    "mat_distance_mm": number(20.0, 400.0),
                    "first_mm": number(-100.0, 900.0),
                    "pitch_mm": number(10.0, 120.0),
                    "count": st.integers(1, 30),
                    "pressure_MPa": number(0.0, 0.8),
                    "nozzle": st.builds(
                        Nozzle,
                        st.sampled_from(("cone", "fan")),
                        number(0.05, 1.6),
                        number(1e2, 1e5),
                        st.just(0.2),
                    ),
                }
            ),
            max_size=2,
        )
    )
    return {"can": can, "stage": stage, "headers": headers, "factor": draw(number(1.0, 4.0))}


@settings(max_examples=min(30, settings().max_examples))
@given(case=lines())
def test_any_line_gives_valid_json_and_something_to_say(
    small: SimpleNamespace, case: dict[str, Any]
) -> None:
    headers = tuple(small.header(**h) for h in case["headers"])
    stage = small.stage(headers=headers, **case["stage"])
    can = small.can(**case["can"])
    found = study_line(small.line(stage, cans=(can,), factor=case["factor"]))
    back = checked(as_json("study", found.scenario, found))
    text = " ".join(f["what"] + f["do"] for f in back["findings"])
    assert "{" not in text
    assert not re.search(r"\b(nan|inf)\b", text)  # "infeed" is a word
    assert json.dumps(told(found.scenario)) == json.dumps(back)
