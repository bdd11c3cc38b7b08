"""The first screen of a study: short, never too wide, and in agreement with the answers."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console

from packsim.findings import Finding
from packsim.report.terminal.first_screen import MOST_LINES, FirstScreen
from packsim.report.words.display import UNIT_SYSTEMS, Display
from packsim.report.words.summary import move_words, sentence, set_to_words, step_words
from packsim.scenario import load_scenario
from packsim.study import Study, study_line, summarize
from tests.shipped import studied


def screen(study: Study, width: int = 80, units: str = "metric") -> list[str]:
    console = Console(width=width, file=io.StringIO(), record=True, color_system=None)
    console.print(FirstScreen(study, Display(units)))
    return [line.rstrip() for line in console.export_text().splitlines()]


@pytest.fixture(scope="module")
def swing() -> Study:
    return studied("swing_line.toml")


@pytest.mark.parametrize("units", UNIT_SYSTEMS)
def test_two_sizes_and_eight_stages_take_one_screen(swing: Study, units: str) -> None:
    lines = screen(swing, 80, units)
    assert (len(swing.scenario.stages), len(swing.scenario.sizes)) == (8, 2)
    assert len(lines) <= MOST_LINES == 25
    text = "\n".join(lines)
    assert re.search(r"211 body +(CHANGE FIRST|RUNS AS SET)", text)
    assert re.search(r"sleek body +STOP", text)
    for answer in swing.of_size("sleek body"):
        assert answer.stage in text
        assert Display(units).bare(answer.tipping.loosest_slack_mm) in text


@pytest.mark.parametrize("units", UNIT_SYSTEMS)
@pytest.mark.parametrize("width", [80, 100, 140])
@pytest.mark.parametrize("name", ["swing_line", "first_look", "oven_lane", "height_only"])
def test_nothing_is_wider_than_the_terminal(name: str, width: int, units: str) -> None:
    study = studied(f"{name}.toml")
    lines = screen(study, width, units)
    assert max(map(cell_len, lines)) <= width
    assert not [line for line in lines if "…" in line]


@pytest.mark.parametrize("units", UNIT_SYSTEMS)
@pytest.mark.parametrize("name", ["swing_line", "first_look", "oven_lane", "height_only"])
def test_what_to_do_is_said_whole(name: str, units: str) -> None:
    study = studied(f"{name}.toml")
    for size in summarize(study):
        for step in size.steps:
            level, where, what = step_words(step, len(size.stages), Display(units))
            assert cell_len(f" 1 {level:6} {size.size}, {where}: {what}") <= 80


def test_a_stage_is_counted_once_however_many_findings_it_has() -> None:
    twice = Finding("change", "body", ("wash", "rinse", "wash", "rinse"), "x", values=({},) * 4)
    assert step_words(twice, 2, Display("metric"))[1] == "every stage"
    assert step_words(twice, 3, Display("metric"))[1] == "wash, rinse"


NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=60).filter(str.strip)


@given(st.lists(NAMES, min_size=1, max_size=5, unique=True), NAMES, st.integers(80, 160))
def test_no_name_makes_it_wider(
    small: SimpleNamespace, names: list[str], of: str, width: int
) -> None:
    cans = tuple(small.can(name=f"{of}{i}") for i in range(3))
    stages = [small.stage(name=name, width_mm=640.0 + 9.0 * i) for i, name in enumerate(names)]
    study = study_line(small.line(*stages, cans=cans))
    for line in screen(study, width):
        assert cell_len(line) <= width


def test_stages_that_read_alike_share_a_row_and_quiet_ones_a_line(small: SimpleNamespace) -> None:
    alike = [small.stage(name=f"bath {i}") for i in range(30)]
    assert len(screen(study_line(small.line(*alike)))) <= MOST_LINES
    widths = [small.stage(name=f"zone {i}", width_mm=585.0 + 0.1 * i) for i in range(20)]
    loose = small.stage(name="loose", width_mm=625.0)
    text = "\n".join(screen(study_line(small.line(*widths, loose))))
    assert re.search(r"^loose +625\.0 .* can tip", text, flags=re.MULTILINE)
    many = [small.stage(name=f"wide {i}", width_mm=610.0 + 0.1 * i) for i in range(20)]
    text = "\n".join(screen(study_line(small.line(*many, loose))))
    assert "more rows: see --all or --stage" in text
    assert len(text.splitlines()) <= MOST_LINES
    text = "\n".join(screen(study_line(small.line(*widths))))
    assert "20 stages: held, guides stay" in text


def test_every_size_is_shown_and_the_table_goes_on_below(swing: Study) -> None:
    case = swing.scenario
    more = [replace(case.sizes[0], name=f"size {i}") for i in range(5)]
    wider = replace(case, sizes=(*case.sizes, *more)).with_stages(case.stages[:2])
    lines = screen(study_line(wider))
    text = "\n".join(lines)
    for can in (*case.sizes, *more):
        assert sum(can.name in line for line in lines) >= 2
    assert text.count("pre-rinse") >= 3


def test_the_words_never_contradict_the_verdicts(root: Path, small: SimpleNamespace) -> None:
    cases = [load_scenario(root / "scenarios" / "swing_line.toml")]
    cases += [
        small.line(small.stage(name=str(w), width_mm=w, hold_down_mm=hold), small.stage())
        for w in (40.0, 579.0, 582.0, 590.0, 600.0, 615.0, 640.0)
        for hold in (None, 115.0, 124.0)
    ]
    for case in cases:
        study = study_line(case)
        for size in summarize(study):
            verdicts = {a.tipping.verdict for a in study.of_size(size.size)}
            said = sentence(size)
            assert ("ans can tip" in said) == ("can tip" in verdicts)
            assert ("o can can tip" in said) <= ("can tip" not in verdicts)
            levels = {f.level for f in study.findings if f.size == size.size}
            if verdicts - {"held"}:
                assert levels & {"stop", "change"}, (said, verdicts)


@pytest.mark.parametrize("units", UNIT_SYSTEMS)
def test_what_is_set_is_what_is_recommended(swing: Study, units: str) -> None:
    display = Display(units)
    ruled = replace(swing.scenario, rule_step_mm=display.rule_step_mm)
    for size in summarize(study_line(ruled)):
        for stage in size.stages:
            part, words = stage.part, set_to_words(stage, display)
            assert words.endswith("*") == (not part.safe)
            if part.move_mm == 0.0:
                assert words.rstrip("*") == "stays"
                continue
            if part.safe and part.hold_down is None:
                assert part.window.verdict(part.clear_width_mm) == "inside"
            assert words.rstrip("*") == display.setting(part.clear_width_mm, unit=False)
            if units == "metric":
                now = float(display.bare(stage.answer.pack.clear_width_mm))
                by = float(move_words(stage, display).strip("()").replace("−", "-"))
                assert now + by == pytest.approx(float(words.rstrip("*")), abs=1e-6)


def test_steps_say_each_cause_once_and_where(swing: Study) -> None:
    (sleek,) = [size for size in summarize(swing) if size.size == "sleek body"]
    words = [step.what_text for step in sleek.steps]
    assert len(words) == len(set(words))
    levels = [step.level for step in sleek.steps]
    assert levels == sorted(levels, key=["stop", "change", "watch"].index)
    told = [stage for step in sleek.steps if step.level == "change" for stage in step.stages]
    assert sorted(told) == sorted({*told})  # no stage hears of its width twice
    assert set(told) == {stage.name for stage in swing.scenario.stages}


def test_what_all_sizes_need_alike_is_one_line() -> None:
    study = studied("oven_lane.toml")
    asked = [line for line in screen(study) if "keep the infeed full" in line]
    assert len(study.scenario.sizes) == 3
    assert len(asked) == 1
    assert "every size, every stage:" in asked[0]
