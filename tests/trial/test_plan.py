"""Plans: never past the safe slack, and cans enough."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from packsim.answers import answer_stage
from packsim.errors import InputError
from packsim.line import Scenario
from packsim.report.page.trial_form import form_csv, form_html
from packsim.report.terminal.trial_plan_table import cans_needed
from packsim.report.words.display import Display
from packsim.scenario.trial_file import parse_trials
from packsim.setting import recommend
from packsim.trial.plan import plan_trial
from packsim.trial.two_rates import power_of_two_counts


def at_width(line: Scenario, width: float) -> Scenario:
    return line.with_stages(tuple(stage.with_clear_width(width) for stage in line.stages))


@pytest.mark.parametrize("slack", [4.0, 12.0, 44.0])
def test_no_recommended_setting_is_past_the_safe_slack(line: Scenario, slack: float) -> None:
    width = line.stages[0].guides.narrowest_mm - 44.0 + slack
    plan = plan_trial(at_width(line, width))
    assert len(plan.settings) >= 3
    for setting in plan.settings:
        if not setting.recommended:
            assert setting.name == "A"
            continue
        found = at_width(line, width)
        stands = found if setting.name == "A" else recommend(found).line
        pairs = zip(stands.stages, setting.widths_mm, strict=True)
        case = stands.with_stages(tuple(stage.with_clear_width(w) for stage, w in pairs))
        for i in range(len(line.stages)):
            answer = answer_stage(case, case.stages[i].name, "slim")
            assert answer.budget.loosest_mm <= answer.tipping.safe.slack_mm + 1e-9


def test_a_line_found_past_the_safe_slack_is_marked(line: Scenario) -> None:
    plan = plan_trial(line)
    assert not plan.settings[0].recommended
    assert all(setting.recommended for setting in plan.settings[1:])
    assert any("do not set it so for a trial" in note for note in plan.notes)
    assert plan.settings[0].tips_per_million > 0.0


def test_the_cans_asked_for_have_the_power_asked_for(line: Scenario) -> None:
    plan = plan_trial(line, power=0.8, alpha=0.01)
    for one in plan.comparisons:
        means = (
            one.cans_at_each * one.first_tips_per_million / 1e6,
            one.cans_at_each * one.second_tips_per_million / 1e6,
        )
        assert power_of_two_counts(*means, 0.01) >= 0.8
    counted = plan_trial(line, now_per_million=40.0)
    assert [c.second_tips_per_million for c in counted.comparisons] == [20.0, 8.0, 0.0]
    assert dict(plan.quiet)[1.0] == pytest.approx(2.9957e6, rel=1e-4)


def test_of_what_takes_too_long_to_run_it_is_said(line: Scenario) -> None:
    plan = plan_trial(line, now_per_million=40.0)
    million = 3e6  # cans, about, to show fewer than 1 in a million
    for hours, long in ((190.0, False), (210.0, True)):
        slow = replace(plan, cans_per_min=million / 60.0 / hours)
        quick, *_, last = cans_needed(slow)
        assert " h: too" not in quick[2]
        assert last[2].endswith(" h: too long to be run") is long, last


def test_with_nothing_expected_the_plan_says_it_cannot_tell(line: Scenario) -> None:
    width = line.stages[0].guides.narrowest_mm - 36.0
    plan = plan_trial(at_width(line, width))
    assert plan.comparisons == ()
    assert any("--per-million" in note for note in plan.notes)


def test_a_line_without_a_safe_setting_is_recommended_none(line: Scenario) -> None:
    loose = tuple(replace(s, guides=replace(s.guides, setting_step_mm=25.0)) for s in line.stages)
    plan = plan_trial(line.with_stages(loose))
    assert not any(setting.recommended for setting in plan.settings)
    assert any("remove the cause first" in note for note in plan.notes)


def test_nothing_is_sent_through_guides_too_narrow_for_it(line: Scenario) -> None:
    """The last stage holds fewer lanes than the infeed brings."""
    last = line.stages[-1]
    lanes = answer_stage(line, last.name, "slim").pack.lanes
    d = line.size("slim").diameter_mm
    close = last.with_clear_width(d * (1.0 + (lanes - 1) * 3.0**0.5 / 2.0) - 25.0)
    plan = plan_trial(line.with_stages((*line.stages[:-1], close)), "slim")
    assert not plan.settings[0].recommended
    assert math.isnan(plan.settings[0].tips_per_million)
    assert "too narrow for slim" in plan.notes[0]
    assert "does not fit" in form_html(plan, Display())


def test_the_form_filled_in_is_a_trial_file(line: Scenario) -> None:
    plan = plan_trial(line)
    rows = form_csv(plan, Display("inch")).splitlines()
    filled = [rows[0]]
    for row in rows[1:]:
        cells = row.split(",")
        cells[1], cells[4], cells[7] = "2025-03-04", "1000", "0"
        filled.append(",".join(cells))
    trials = parse_trials("\n".join(filled), line, "form.csv", "csv")
    assert len(trials) == len(plan.settings)
    for trial, setting in zip(trials, plan.settings, strict=True):
        widths = [count.clear_width_mm for count in trial.stages]
        assert widths == pytest.approx(setting.widths_mm, abs=0.01)
    with pytest.raises(InputError, match=r"row 2, column B \(date\)"):
        parse_trials(form_csv(plan, Display()), line, "form.csv", "csv")


def test_the_page_carries_cautions_and_needs_nothing_from_elsewhere(line: Scenario) -> None:
    page = form_html(plan_trial(line), Display())
    assert "lock out" in page
    assert "Local codes" in page
    assert "http" not in page
    assert "<script" not in page
    named = replace(line, name="<b>&")
    assert "&lt;b&gt;&amp;" in form_html(plan_trial(named), Display())
