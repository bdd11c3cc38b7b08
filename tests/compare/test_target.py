"""A target for the tips: what reaches it is found by looking at everything, and says so truly."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from packsim.answers import answer_stage
from packsim.chance import chance_of
from packsim.compare import Target, compare_lines, reach, search, tip_draws
from packsim.compare.differing import differing
from packsim.compare.machine_changes import CHANGES, EFFORTS, closest, with_stage
from packsim.errors import InputError
from packsim.line import Bracket, Scenario
from packsim.scenario import load_scenario
from tests.compare.lines import rough
from tests.small_line import BIG, small_line, small_stage

SIZE = "211 body"


@cache
def loose() -> Scenario:
    return rough(612.0, 606.0)


@cache
def swing(root: Path) -> Scenario:
    return load_scenario(root / "scenarios" / "swing_line.toml")


@cache
def asked(at_most: float, sure: float = 0.9) -> Target:
    return reach(loose(), SIZE, at_most, sure)


def test_a_way_has_the_chance_of_its_line_and_the_share_of_its_draws() -> None:
    found = asked(500.0)
    assert len(found.tried) > 2
    rng = np.random.default_rng(8)
    for way in found.tried:
        assert way.tips_per_million == chance_of(way.line, SIZE).tips_per_million
        laid = compare_lines({"now": loose(), "then": way.line})
        tips = tip_draws(laid, SIZE, rng, 2000)[:, 1]
        assert np.mean(tips <= 500.0) == pytest.approx(way.share, abs=0.04), way.what
        low, high = way.share_interval
        assert low - 1e-12 <= way.share <= high + 1e-12
        assert way.reaches == (way.share >= 0.9)
        assert (way.tips_when_sure <= 500.0) == way.reaches
        assert bool(way.machine) == (way.effort != "none")


@pytest.mark.all
def test_a_lower_target_is_kept_less_often_and_takes_no_less_effort() -> None:
    efforts = [EFFORTS.index(asked(target).best.effort) for target in (1e6, 500.0, 1.0)]
    assert efforts == sorted(efforts)
    for low, high in ((1.0, 500.0), (500.0, 5000.0)):
        shares = [{w.what: w.share for w in asked(at).tried[:2]} for at in (low, high)]
        for what, share in shares[0].items():
            assert share <= shares[1][what]


def test_a_line_that_keeps_to_it_already_is_left_alone() -> None:
    found = asked(1e6)
    assert [way.what for way in found.tried] == ["as set"]
    assert found.best.reaches
    assert found.best.machine == ()


@pytest.mark.parametrize("width", [584.0, 590.5, 612.0])
def test_guides_go_as_close_as_no_case_jams(width: float) -> None:
    """Every whole step below jams or holds other lanes; where they stand does neither."""
    line = rough(width)
    stage, can = line.stages[0], line.size(SIZE)
    found = closest(line, stage, can)
    now, step = answer_stage(line, "wash", SIZE), stage.guides.setting_step_mm

    def fits(clear: float) -> bool:
        case = with_stage(line, stage.with_clear_width(clear))
        there = answer_stage(case, "wash", SIZE)
        return there.pack.lanes == now.pack.lanes and there.budget.tightest_mm >= 0.0

    width_mm = found.guides.narrowest_mm
    assert (width - width_mm) / step == pytest.approx(round((width - width_mm) / step))
    assert fits(width_mm) or found is stage
    assert not any(fits(width_mm - k * step) for k in (1, 2, 3, 4, 10, 40))


@pytest.mark.parametrize(
    ("widths", "stages"),
    [
        pytest.param((612.0, 590.0, 612.0), ("wash", "drain"), marks=pytest.mark.all),
        pytest.param((584.0, 584.0, 620.0), ("drain",), marks=pytest.mark.all),
    ],
)
def test_stages_that_need_not_be_closed_stay(
    widths: tuple[float, ...], stages: tuple[str, ...]
) -> None:
    """Fewer do not do: each of the stages by itself is tried."""
    line = rough(*widths)
    found = reach(line, SIZE, 5000.0)
    way = min((w for w in found.ways if "as close" in w.what), key=lambda one: len(one.stages))
    assert way.stages == stages
    assert {one.stages for one in way.machine if "clear_width" in one.field} <= {
        stages,
        *((name,) for name in stages),
    }
    for stage in line.stages if len(stages) > 1 else ():
        alone = with_stage(line, closest(line, stage, line.size(SIZE)))
        laid = compare_lines({"now": line, "then": alone})
        tips = tip_draws(laid, SIZE, np.random.default_rng(2), 2000)[:, 1]
        assert np.mean(tips <= 5000.0) < 0.9, stage.name


def test_no_more_is_closed_than_it_takes() -> None:
    found = asked(500.0)
    little = next(way for way in found.ways if "just enough" in way.what)
    full = next(way for way in found.ways if "as close" in way.what)
    assert little.stages == full.stages
    for stage, far in zip(little.line.stages, full.line.stages, strict=True):
        assert stage.guides.narrowest_mm >= far.guides.narrowest_mm
        moved = loose().stage(stage.name).guides.narrowest_mm - stage.guides.narrowest_mm
        step = stage.guides.setting_step_mm
        assert moved / step == pytest.approx(round(moved / step))
    assert little.widths_mm > full.widths_mm
    assert found.best.effort == "turn"


@pytest.mark.all
def test_where_nothing_reaches_it_the_nearest_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    weak = [one for one in CHANGES if one.name in ("half the setting step", "one wire more")]
    monkeypatch.setattr(search, "CHANGES", weak)
    found = reach(rough(584.0, energy=50.0), SIZE, 1e-3, 0.99)
    assert found.ways == ()
    assert not found.best.reaches
    assert found.best.tips_when_sure == min(way.tips_when_sure for way in found.tried)
    assert found.tried[-1].what.startswith("all of these together")


@pytest.mark.parametrize(
    ("name", "field"),
    [
        ("closer cans", "fill"),
        ("less pressure", "headers."),
        ("wires moved", "guides.wires.heights_mm"),
        ("hold-down lowered", "hold_down_mm"),
        ("half the setting step", "guides.setting_step_mm"),
        ("one wire more", "guides.wires.heights_mm"),
        ("one bracket more", "guides.stations_mm"),
        ("a hold-down", "hold_down_mm"),
    ],
)
def test_a_change_changes_what_it_says_and_nothing_else(root: Path, name: str, field: str) -> None:
    line = swing(root)
    (change,) = [one for one in CHANGES if name in one.name]
    can, seen = line.size("sleek body"), 0
    for stage in line.stages:
        lifted = replace(stage, hold_down_mm=400.0) if "lowered" in name else stage
        new = change.done(with_stage(line, lifted), lifted, can)
        before = with_stage(line, lifted)
        told = differing((before, with_stage(before, new)), [stage.name], [])
        assert all(one.field.startswith(field) for one in told), told
        seen += bool(told)
        if told and name == "one wire more":
            assert len(told[0].values[1]) == len(told[0].values[0]) + 1
        if told and name == "one bracket more":
            assert len(new.guides.brackets) == len(stage.guides.brackets) + 1
    assert seen > 0


@pytest.mark.parametrize("before", [1, 2, 3, 7])
def test_one_bracket_more_is_one_more_and_all_are_even(before: int) -> None:
    (change,) = [one for one in CHANGES if "bracket more" in one.name]
    stations = np.linspace(0.0, 2000.0, before + 1)[:before]
    brackets = tuple(Bracket(float(at), 200.0, 800.0) for at in stations)
    stage = small_stage()
    stage = replace(stage, guides=replace(stage.guides, brackets=brackets))
    new = change.done(small_line(stage), stage, BIG)
    at = [bracket.station_mm for bracket in new.guides.brackets]
    assert at == pytest.approx(np.linspace(0.0, 2000.0, before + 1).tolist())


@pytest.mark.parametrize(
    ("at_most", "sure", "said"),
    [(0.0, 0.9, "at_most"), (2e6, 0.9, "at_most"), (50.0, 0.4, "sure"), (50.0, 1.0, "sure")],
)
def test_a_target_that_cannot_be_is_refused(at_most: float, sure: float, said: str) -> None:
    with pytest.raises(InputError, match=said):
        reach(loose(), SIZE, at_most, sure)
