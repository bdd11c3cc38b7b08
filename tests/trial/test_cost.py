"""Spoilage in a year: by hand, and only from the user's own figures."""

from __future__ import annotations

import pytest

from packsim.answers import answer_stage
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.report.files.as_json import as_json
from packsim.report.terminal.trial_cost_table import cost_report
from packsim.report.words.display import Display
from packsim.trial.chances import line_at
from packsim.trial.cost import EnergyRange, spoilage_change
from tests.trial.conftest import made_up

ENERGY = {"flood": EnergyRange(0.05, 0.045, 0.055, "t")}


def closed(line: Scenario, less: float) -> Scenario:
    return line_at(line, [stage.guides.narrowest_mm - less for stage in line.stages])


def test_a_year_by_hand(line: Scenario) -> None:
    change = spoilage_change(
        line,
        closed(line, 4.0),
        "slim",
        5000.0,
        ENERGY,
        cost_per_can=0.2,
        adjustment_cost=400.0,
    )
    per_min = answer_stage(line, line.stages[0].name, "slim").flow.cans_per_min
    assert change.cans_per_year == pytest.approx(per_min * 60 * 5000)
    at = [made_up(closed(line, less)) for less in (0.0, 4.0)]
    before, after = (one.at({"wash": 0.05}).tips_per_million for one in at)
    saved = (before - after) / 1e6
    assert change.saved.best == pytest.approx(before - after)
    cost = change.cost_per_year["saved"]
    assert cost is not None
    assert cost.best == pytest.approx(saved * change.cans_per_year * 0.2)
    even = change.break_even_cans
    assert even is not None
    assert even.best == pytest.approx(400.0 / (saved * 0.2))
    assert even.low is not None
    assert even.high is not None
    assert even.low < even.best < even.high
    assert change.before.high == pytest.approx(at[0].at({"wash": 0.055}).tips_per_million)


def test_nothing_is_assumed_on_the_quiet(line: Scenario) -> None:
    change = spoilage_change(line, closed(line, 4.0), "slim", 5000.0, ENERGY)
    assert change.cost_per_year["saved"] is None
    assert change.break_even_cans is None
    assert change.assumed_duties == ("rinse",)  # what the oven adds is negligible
    assert set(as_json("trial cost", line, change)["cost_per_year"].values()) == {None}
    text = "".join(str(part) for part in cost_report(change, 5000.0, ("t",), Display()).renderables)
    assert "assumed kicks of: rinse" in text
    assert "--cost-per-can" in text


def test_without_an_interval_none_is_shown(line: Scenario) -> None:
    bare = {"flood": EnergyRange(0.05, None, None, "t")}
    change = spoilage_change(line, closed(line, 4.0), "slim", 5000.0, bare)
    assert not change.ranges
    text = "".join(str(part) for part in cost_report(change, 5000.0, ("t",), Display()).renderables)
    assert "came without an interval" in text


def test_an_adjustment_that_saves_nothing_never_pays(line: Scenario) -> None:
    change = spoilage_change(
        line, line, "slim", 100.0, ENERGY, cost_per_can=1.0, adjustment_cost=5.0
    )
    assert change.break_even_cans is not None
    assert change.break_even_cans.best == float("inf")
    text = "".join(str(part) for part in cost_report(change, 100.0, ("t",), Display()).renderables)
    assert "never pays" in text


def test_absurd_figures_are_refused(line: Scenario) -> None:
    for hours in (0.0, -3.0, 9000.0, float("nan")):
        with pytest.raises(InputError, match="hours_per_year"):
            spoilage_change(line, line, "slim", hours, ENERGY)
    with pytest.raises(InputError, match="cost_per_can"):
        spoilage_change(line, line, "slim", 10.0, ENERGY, cost_per_can=-1.0)
    with pytest.raises(InputError, match="low_mJ"):
        EnergyRange(0.1, 0.2, None, "t")
    with pytest.raises(InputError, match="high_mJ"):
        EnergyRange(0.1, None, 0.05, "t")


def test_a_width_that_does_not_hold_the_cans_has_no_price(line: Scenario) -> None:
    """Issue 12: it was priced as 0 tips, within the safe slack."""
    size = line.size("slim")
    lanes = answer_stage(line, line.stages[0].name, "slim").pack.lanes
    need = size.diameter_mm * (1.0 + (lanes - 1) * 3.0**0.5 / 2.0)
    many = len(line.stages)
    assert many > 1
    one = line_at(line, [size.diameter_mm - 1.0] * many)
    with pytest.raises(InputError, match="no can fits"):
        spoilage_change(line, one, "slim", 6000.0, {})
    one_closer = line_at(line, [need + 4.0] * (many - 1) + [need - 25.0])
    told = f"{line.stages[-1].name}: {lanes - 1} lanes fit in .* mm, the infeed brings {lanes}"
    for each in ((line, one_closer), (one_closer, line)):
        with pytest.raises(InputError, match=told):
            spoilage_change(*each, "slim", 6000.0, {})
