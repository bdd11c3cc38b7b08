"""Cases an engineer met: each asked of the command that once gave another answer."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import pytest
from rich.console import Console, RenderableType
from typer.testing import CliRunner

from packsim.answers import Answer, answer_stage
from packsim.cli.commands import app
from packsim.headers.shift import find_shifts
from packsim.report.terminal.nozzles.shift_table import shift_report
from packsim.report.words.display import Display
from packsim.scenario import load_scenario
from packsim.setting import recommend
from packsim.size_change import apply_change, plan_change
from packsim.study import study_line
from viewer.line import LoadedLine, answers_of
from viewer.session.actions import act
from viewer.session.session import Session
from viewer.session.source import Live
from viewer.views.answers import answer_rows


def printed(what: RenderableType) -> str:
    console = Console(width=160, record=True, file=io.StringIO())
    console.print(what)
    return console.export_text()


SWING = "scenarios/swing_line.toml"


def asked(*words: str) -> str:
    result = CliRunner().invoke(app, words, env={"COLUMNS": "160"})
    assert result.exit_code == 0, result.output
    return result.output


def test_the_viewer_sets_a_line_as_recommended_and_takes_it_back(
    root: Path, tmp_path: Path
) -> None:
    line = load_scenario(root / "scenarios" / "lessons" / "lines" / "teaching_line.toml")
    size = line.sizes[-1].name
    assert size != line.set_for
    session = Session(Live(LoadedLine(line, size), 3), (1280, 720), folder=tmp_path)
    session.overlay = ""
    act(session, "recommended")
    shown = session.pack.source.loaded
    setting = recommend(line, size)
    assert [s.guides.brackets for s in shown.scenario.stages] == [
        part.brackets for part in setting.stages
    ]
    assert [s.guides.wires for s in shown.scenario.stages] == [
        part.stage.guides.wires for part in setting.stages
    ]
    assert shown.scenario.mat.speed_mm_per_s == setting.speed_mm_per_s[1]
    act(session, "recommended")  # a line set so is left so
    assert session.pack.source.loaded.scenario.mat == shown.scenario.mat
    act(session, "reset")
    assert session.pack.source.loaded.scenario == line
    act(session, "undo")
    assert session.pack.source.loaded.scenario.stages == shown.scenario.stages


def test_a_drawing_as_recommended_is_of_the_recommended_width(root: Path, tmp_path: Path) -> None:
    case, drawn = load_scenario(root / SWING), tmp_path / "wash.svg"
    words = ("draw", str(root / SWING), "--stage", "wash", "--size", "sleek body")
    asked(*words, "--guides", "window", "-o", str(drawn))
    width = recommend(case, "sleek body").of_stage("wash").clear_width_mm
    assert f"clear width {width:.1f}" in drawn.read_text(encoding="utf-8")


def test_the_viewer_opens_a_line_with_settings_on_record(root: Path) -> None:
    """As `packsim change --save` writes it: the size that left is on record at every stage."""
    line = load_scenario(root / SWING)
    changed = apply_change(line, plan_change(line, line.set_for, "sleek body"))
    assert all(stage.settings for stage in changed.stages)
    for answer in answers_of(LoadedLine(changed, "sleek body")):
        assert isinstance(answer, Answer)
        same = answer_stage(changed, answer.stage, "sleek body")
        assert (answer.window, answer.tipping) == (same.window, same.tipping)


FUNNEL = """
schema = 2
name = "Imperial line"
safety_factor = 2
guides_set_for = "12 oz"
[mat]
width = "72 in"
speed = "18 ft/min"
open_area = 0.6
friction = 0.55
mass_per_area = "1.9 lb/ft^2"
[[sizes]]
name = "12 oz"
catalogue = "us_12oz_std"
[[sizes]]
name = "sleek"
catalogue = "sleek_355ml"
[guides]
wire_heights = ["1.2 in", "2.8 in", "4.5 in"]
bracket_spacing = "24 in"
smallest_bracket_step = "1/16 in"
guide_wear_each_side = "0.01 in"
[[stages]]
name = "entrance"
duty = "drain"
length = "8 ft"
pack_fill = 0.985
brackets = [
  { from_stage_start = "0 in", left = "8.125 in", right = "63.875 in" },
  { from_stage_start = "24 in", left = "8.375 in", right = "63.625 in" },
  { from_stage_start = "48 in", left = "8.625 in", right = "63.375 in" },
  { from_stage_start = "96 in", left = "8.875 in", right = "63.125 in" },
]
[[stages]]
name = "wash"
duty = "flood"
length = "14 ft"
pack_fill = 0.985
clear_width = "54 1/4 in"
hold_down = "4.97 in"
"""
"""An entrance funnel, 55 3/4 to 54 1/4 in, and a stage in which one lane more almost fits."""


@pytest.fixture(scope="module")
def funnel_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("line") / "line.toml"
    path.write_text(FUNNEL, encoding="utf-8")
    return path


def test_a_funnel_moves_as_a_whole(funnel_file: Path) -> None:
    line = load_scenario(funnel_file)
    for can in line.sizes:
        now, part = line.stages[0].guides, recommend(line, can.name).stages[0]
        assert now.shape == "funnel"
        moves = {
            (round(b.left_mm - a.left_mm, 6), round(b.right_mm - a.right_mm, 6))
            for a, b in zip(now.brackets, part.brackets, strict=True)
        }
        assert len(moves) == 1


def test_no_command_shows_a_window_of_other_lanes_beside_what_to_set(funnel_file: Path) -> None:
    """23 lanes stand, 24 are set for: the window beside the setting is that of the 24."""
    part = recommend(load_scenario(funnel_file), "12 oz").of_stage("wash")
    assert part.lanes != answer_stage(load_scenario(funnel_file), "wash", "12 oz").pack.lanes
    assert part.window.low_mm < part.clear_width_mm < part.window.high_mm
    window = Display("metric").window(part.window)
    file = str(funnel_file)
    why = asked("why", file, "--stage", "wash")
    (row,) = [line for line in why.splitlines() if "to be set to" in line]
    assert "see packsim change" in row
    everything = asked("study", file, "--all", "--size", "12 oz")
    assert any(window in line for line in everything.splitlines() if "wash" in line)
    loaded = LoadedLine(load_scenario(funnel_file), "12 oz")
    (_, answer) = answers_of(loaded)
    rows = {name: value for name, value, _ in answer_rows(answer, loaded, Display())}
    assert rows["guide window"].startswith(window)


def test_no_shift_is_said_to_leave_more_than_there_is(funnel_file: Path) -> None:
    """Asked for lanes that are not the recommended ones, the best of others is no bound."""
    near = funnel_file.with_name("near.toml")
    near.write_text(FUNNEL.replace("54 1/4 in", "53 5/8 in"), encoding="utf-8")
    case = load_scenario(near)
    nozzle = load_scenario(Path(__file__).parents[2] / SWING).stages[2].headers[0]
    header = replace(nozzle, first_mm=254.0, pitch_mm=57.15, count=24)
    line = replace(case, stages=tuple(replace(s, headers=(header,)) for s in case.stages))
    for lanes in (23, 27):
        for can in line.sizes:
            change = plan_change(line, line.set_for, can.name, lanes=lanes)
            for alert in change.alerts:
                for values in alert.values:
                    if "no shift" in alert.do:
                        assert values["best_mm"] <= values["worst_mm"] + 1e-6


def test_a_shift_names_the_lanes_to_set_first(root: Path, funnel_file: Path) -> None:
    """A shift of 23 lanes is no advice where the line should be set for 24."""
    swing = load_scenario(root / SWING)
    case = load_scenario(funnel_file)
    header = replace(swing.stages[2].headers[0], pitch_mm=57.233, count=31, first_mm=57.233)
    assert recommend(case, "12 oz").lanes == 24
    close = case.with_stages((case.stages[0], replace(case.stages[1], headers=(header,))))
    for line, size in ((swing, "211 body"), (close, "12 oz")):
        (found,) = find_shifts(line, sizes=[size])
        lanes = [stage.at.pack.lanes for stage in found.stages]
        meant = [part.lanes for part in recommend(line, size).stages if part.stage.headers]
        said = printed(shift_report(line, [found], Display("metric")))
        assert ("first set" in said) == (lanes != meant)
    assert (lanes, meant) == ([23], [24])


def test_signs_of_the_rule_are_explained_only_where_they_stand(
    root: Path, funnel_file: Path
) -> None:
    """A move of +1 1/16 in is no mark that is a little over."""
    for file in (root / SWING, funnel_file):
        text = asked("study", str(file), "--units", "inch")
        signed = re.search(r"\d[+\N{MINUS SIGN}](\s|\*)", text) is not None
        assert ("a little over" in text) == signed


def test_gaps_along_travel_are_no_reason_to_leave_guides_open(funnel_file: Path) -> None:
    """Guides with a lane's room to spare can be set closer without a jam; nothing denies it."""
    case, told = load_scenario(funnel_file), []
    for i in range(0, 80, 2):
        stage = case.stages[1].with_clear_width(1345.0 + 0.5 * i)
        line = case.with_stages((replace(stage, hold_down_mm=None),))
        tipping = answer_stage(line, "wash", "12 oz").tipping
        if tipping.gathered.index >= 1.0 > tipping.loosest.worst:
            told += [
                f.do for f in study_line(line, sizes=["12 oz"]).findings if "fill of" in f.what
            ]
    assert told
    assert not any("would jam" in do for do in told)
