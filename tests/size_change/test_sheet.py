"""The sheet as text and as CSV: what is in it, and that names do no harm."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from html import unescape
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from packsim.errors import printable
from packsim.line import Scenario, Stage
from packsim.report.files.as_json import as_json
from packsim.report.files.csv_tables import change_csv, safe_text
from packsim.report.page.page_change import change_page
from packsim.report.terminal.change_sheet import bracket_rows, change_sheet, height_rows
from packsim.report.words.change_words import (
    SheetRow,
    inch_step,
    lanes_rows,
    length_text,
    move_text,
    stage_facts,
)
from packsim.report.words.display import Display
from packsim.report.words.numbers import CAUTIONS
from packsim.scenario import load_scenario
from packsim.setting.moves import BracketMove, WireMove
from packsim.size_change import SizeChange, plan_change
from tests.browser import NEEDS_BROWSER, sheets_of
from tests.small_line import small_line, small_stage

NASTY = [
    "=2+5",
    "+1",
    "-1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    " =1",
    '="a";"b"',
    "[/bold] [red]x",
    "a,b\n",
]


def shown(change: SizeChange, units: str = "metric") -> str:
    console = Console(width=132, file=io.StringIO(), record=True, color_system=None)
    console.print(change_sheet(change, Display(units)))
    return console.export_text()


def rows(change: SizeChange, units: str = "metric") -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(change_csv(change, Display(units)), newline="")))


@pytest.fixture
def change(line: Callable[..., Scenario], stage: Callable[..., Stage]) -> SizeChange:
    return plan_change(line(stage(hold_down_mm=124.0)), "big", "tall")


def test_the_sheet_has_what_a_crew_needs(change: SizeChange) -> None:
    text = shown(change)
    assert "big → tall" in text
    for caution in CAUTIONS:
        assert caution in " ".join(text.split())
    assert text.index("Caution") < text.index("1  wash")
    assert "brackets: all 2, both sides" in text
    assert "…" not in text
    # 205 mm from the edge now; the tall can's window is found in test_plan the same way
    for word in ("205.0", "hold-down", "144.0", "as found", "as left", "____", "Assumed", "Set by"):
        assert word in text


@pytest.fixture
def by_rule(line: Callable[..., Scenario], stage: Callable[..., Stage]) -> SizeChange:
    """The same change, planned for a rule of 1/32 in."""
    return plan_change(line(stage(hold_down_mm=124.0)), "big", "tall", step_mm=25.4 / 32.0)


def test_inches_are_fractions(change: SizeChange, by_rule: SizeChange) -> None:
    # the hold-down: 124 mm is 4.8819 in, 4 28.2/32; 144 mm is 5 21.4/32, the mark 143.67 mm
    text = shown(by_rule, "inch")
    for word in ("4 7/8", "5 21/32", "143.7", "25/32", "to 1/32 in"):
        assert word in text
    hold = by_rule.stages[0].setting.hold_down
    assert hold is not None
    assert hold.new_mm == pytest.approx(25.4 * (5 + 21 / 32))
    assert inch_step(change) == Fraction(1, 32)
    assert inch_step(
        replace(change, setting=replace(change.setting, step_mm=25.4 / 16.0))
    ) == Fraction(1, 16)
    assert inch_step(replace(change, setting=replace(change.setting, step_mm=0.5))) == Fraction(
        1, 32
    )


def test_what_no_mark_shows_is_told_in_decimals(change: SizeChange) -> None:
    """144 mm is 5.669 in: rounded to 5 21/32 it would be 0.3 mm too low."""
    text = shown(change, "inch")
    assert "5.669" in text
    assert "0.787" in text


def test_csv_has_every_move_as_numbers(change: SizeChange, by_rule: SizeChange) -> None:
    table = rows(change)
    assert [row["item"] for row in table] == ["bracket"] * 4 + ["wire"] * 2 + ["hold-down"]
    for row, move in zip(table, change.moves, strict=False):
        assert (row["side"], row["direction"]) == (move.side, move.direction)
        assert float(row["now_mm"]) == pytest.approx(move.now_mm, abs=1e-3)
        assert float(row["new_mm"]) == pytest.approx(move.new_mm, abs=1e-3)
        assert row["as_found_mm"] == row["as_left_mm"] == ""
    assert float(table[-1]["move_mm"]) == 20.0
    inch = rows(change, "inch")[-1]
    assert float(inch["move_in"]) == pytest.approx(20.0 / 25.4, abs=1e-4)
    assert inch["move_in_fraction"] == ""  # no rule shows it: 20 mm is 25.2/32
    assert rows(by_rule, "inch")[-1]["move_in_fraction"] == "25/32"
    # 100 mm/s is 6 m/min and 19.685 ft/min
    assert {float(row["speed_now_m_per_min"]) for row in table} == {6.0}
    assert float(inch["speed_now_ft_per_min"]) == pytest.approx(19.685, abs=1e-3)


@pytest.mark.parametrize("name", NASTY)
def test_no_name_becomes_a_formula_or_a_command(
    name: str, line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    case = line(stage(name=name))
    tall = replace(case.sizes[2], name=name)
    case = replace(case, name=name, sizes=(*case.sizes[:2], tall))
    change = plan_change(case, "big", name)
    for row in rows(change):
        for key in ("to_size", "stage"):
            assert row[key].lstrip()[:1] not in tuple("=+-@")
            assert row[key][:1] not in tuple("\t\r\n")
            assert row[key].removeprefix("'") == name
    assert f"big → {printable(name)}" in shown(change)


def test_control_characters_do_not_reach_the_terminal(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    text = shown(plan_change(line(stage(name="a\x1b[31mb\x07")), "big", "small"))
    assert "\x1b" not in text
    assert "\x07" not in text


@given(st.text())
def test_safe_text_keeps_the_text(text: str) -> None:
    safe = safe_text(text)
    assert safe in (text, "'" + text)
    assert not safe.startswith(("=", "+", "-", "@", "\t", "\r"))


def test_json_is_plain_and_complete(
    change: SizeChange, line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    data = json.loads(json.dumps(as_json("change", line(stage()), change), allow_nan=False))
    assert data["schema"] == 2
    assert (data["from_size"], data["to_size"], data["keep"]) == ("big", "tall", "rate")
    told = data["stages"][0]
    assert len(told["moves"]) == 4
    assert told["hold_down"]["new_mm"] == 144.0
    assert told["wires"]["moves"][0]["idle"] is False
    assert math.isclose(data["cans_per_min_now"], data["cans_per_min_new"])
    assert {"key": "wire_margins.lip_mm", "value": "8 mm", "why": "common practice, no source"} in (
        data["assumed"]
    )


def test_the_sheet_adds_up_as_it_is_read() -> None:
    # 105.75 reads 105.8 and 90.5 reads 90.5: a hand that subtracts gets 15.3, not the exact 15.25
    row = SheetRow("wash", "bracket", "left", 0.0, 105.75, 90.5, "out")
    step = Fraction(1, 32)
    assert move_text(row, Display(), step) == "15.3"
    # 4 5/32 less 3 9/16 is 133/32 less 114/32
    assert move_text(row, Display("inch"), step) == "19/32"
    assert move_text(replace(row, now_mm=None), Display(), step) == ""


@given(st.floats(0.0, 900.0), st.floats(0.0, 900.0), st.sampled_from([32, 64]))
def test_now_and_move_give_new(now: float, new: float, parts: int) -> None:
    row, step = SheetRow("s", "wire", "both", None, now, new, "up"), Fraction(1, parts)
    shown = [length_text(mm, Display(), step) for mm in (now, new)]
    move = float(move_text(row, Display(), step))
    assert move == pytest.approx(abs(float(shown[0]) - float(shown[1])), abs=0.01)
    inches = [
        sum(map(Fraction, length_text(mm, Display("inch"), step).split())) for mm in (now, new)
    ]
    moved = sum(map(Fraction, move_text(row, Display("inch"), step).split()))
    assert moved == abs(inches[0] - inches[1])


def page_of(change: SizeChange, units: str = "metric") -> str:
    return change_page(change, Display(units))


def test_the_printed_sheet_has_what_a_crew_needs(change: SizeChange) -> None:
    page = page_of(change)
    assert page.startswith("<!DOCTYPE html>")
    assert "<h1>big → tall</h1>" in page
    text = unescape(page)
    for words in (*CAUTIONS, "Set by", "Checked by", "Released by", "as found", "as left"):
        assert words in text
    for alert in change.alerts:
        assert alert.what in text
    # mat speed, all brackets, hold-down: the wires stay
    assert {move.direction for move in change.stages[0].setting.wires.moves} == {"stay"}
    assert page.count('<td class="blank"></td>') == 2 * 3
    assert page.count('<td class="tick">') == 3
    assert "hold-down, underside" in page
    assert '<b class="big">144.0</b>' in page
    assert '@top-left { content: "small line: big \\2192  tall"' in page
    assert "counter(page)" in page
    old, new = (Display().speed(speed) for speed in change.setting.speed_mm_per_s)
    assert "Mat speed stays" in page if old == new else f"Mat speed {old} \u2192" in page
    assert f'<b class="big">{new}</b>' in page
    assert not re.search(r"https?:|@import|<script|<link|<img|src=", page)


def test_wires_are_named_by_their_place_from_the_mat(change: SizeChange) -> None:
    page = page_of(change)
    now = sorted(
        move.now_mm for move in change.stages[0].setting.wires.moves if move.now_mm is not None
    )
    for place, height in enumerate(now, start=1):
        row = page[page.index(f"wire {place}, both sides") :]
        assert f">{height:.1f}<" in row[: row.index("</tr>")]


def with_wires(change: SizeChange, *ends: tuple[float | None, float]) -> SizeChange:
    (part,) = change.stages
    moves = tuple(WireMove(now, new) for now, new in ends)
    setting = replace(part.setting, wires=replace(part.setting.wires, moves=moves))
    return replace(change, stages=(replace(part, setting=setting),))


def test_a_wire_that_passes_another_says_so_and_heights_go_up(change: SizeChange) -> None:
    step = Fraction(1, 32)
    (part,) = with_wires(change, (30.0, 30.0), (114.0, 114.0), (72.0, 149.5)).stages
    rows = height_rows(part, Display(), step)
    shown = [row.rows[0].new_mm for row in rows]
    assert shown == sorted(shown)
    notes = {row.what: row.note for row in rows}
    assert notes["wire 2, both sides"].startswith("passes the wire at 114.0 ")
    assert [bool(note) for note in notes.values()].count(True) == 1
    page = page_of(with_wires(change, (30.0, 30.0), (114.0, 114.0), (72.0, 149.5)))
    assert "passes the wire at 114.0" in page
    # both go up side by side, and one that is added: nothing is passed
    (part,) = with_wires(change, (30.0, 60.0), (60.0, 90.0), (None, 75.0)).stages
    assert not any(row.note for row in height_rows(part, Display(), step))


BRACKETS = st.lists(
    st.tuples(*[st.sampled_from([100.0, 105.0, 105.5])] * 4), min_size=1, max_size=7
)


@given(BRACKETS)
def test_every_bracket_is_told_once_and_set_alike_in_one_row(
    ends: list[tuple[float, float, float, float]],
) -> None:
    change = plan_change(small_line(small_stage()), "big", "tall")
    moves = []
    for i, (left, to_left, right, to_right) in enumerate(ends):
        moves.append(BracketMove("wash", 100.0 * i, "left", left, to_left))
        moves.append(BracketMove("wash", 100.0 * i, "right", right, to_right))
    rows = bracket_rows(replace(change.stages[0], moves=tuple(moves)), Display())
    told = [
        (each.station_mm, side, each.now_mm, each.new_mm)
        for row in rows
        for each in row.rows
        for side in (("left", "right") if "both sides" in row.what else (each.side,))
    ]
    assert sorted(told) == sorted((m.station_mm, m.side, m.now_mm, m.new_mm) for m in moves)
    for row in rows:
        assert len({each.new_mm for each in row.rows}) == 1
        if len(row.rows) > 1:
            assert re.match(rf"(all|the other) {len(row.rows)}, ", row.what)
    if len({(move.now_mm, move.new_mm) for move in moves}) == 1:
        assert len(rows) == 1


@NEEDS_BROWSER
@pytest.mark.parametrize(
    ("units", "paper"),
    [
        ("metric", "A4"),
        ("inch", "letter"),
        pytest.param("metric", "letter", marks=pytest.mark.all),
        pytest.param("inch", "A4", marks=pytest.mark.all),
    ],
)
def test_what_the_crew_sets_is_on_one_page(
    root: Path, tmp_path: Path, paper: str, units: str
) -> None:
    case = load_scenario(root / "scenarios" / "swing_line.toml")
    display = Display(units)
    change = plan_change(case, "211 body", "sleek body", step_mm=display.rule_step_mm)
    page = change_page(change, display)
    start, end = page.index("</section>") + len("</section>"), page.index("</main>")
    assert len(sheets_of(page[:start] + page[end:], paper, tmp_path)) == 1


def test_an_oven_has_no_nozzle_that_a_lane_stands_off(root: Path) -> None:
    case = load_scenario(root / "scenarios" / "oven_lane.toml")
    change = plan_change(case, "12 oz", "16 oz")
    rows = [text for _, text in lanes_rows(change, Display("metric"))]
    assert len(rows) == 4
    assert not [text for text in rows if "nozzle" in text]
    assert all(math.isnan(one.nozzle_offset_mm) for one in change.alternatives)


@pytest.mark.parametrize("name", ["<script>x</script>", "a\x1b[31m", "R&D"])
def test_names_on_the_printed_sheet_stay_text(
    name: str, line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    page = page_of(plan_change(line(stage(name=name)), "big", "small"))
    assert "<script" not in page
    assert "\x1b" not in page
    assert printable(name).replace("\N{REPLACEMENT CHARACTER}", " ") in unescape(page)


def test_inch_sheets_speak_no_millimetres(root: Path) -> None:
    case = load_scenario(root / "scenarios" / "swing_line.toml")
    change = plan_change(case, "211 body", "sleek body", step_mm=25.4 / 32.0)
    assert any(stage.after.window.empty for stage in change.stages)
    said = [
        text
        for alert in change.alerts
        for text in (alert.what_in(Display("inch").length), *alert.do_in(Display("inch").length))
    ]
    assert any("effect of the" in text for text in said)
    assert not [text for text in said if re.search(r"\d mm\b", text)]
    body = page_of(change, "inch").split("What the settings rest on")[0]
    assert not re.search(r"\d mm\b", body)


def test_no_room_for_a_can_is_said_in_either_unit(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    case = line(stage())
    giant = replace(case.sizes[0], name="giant", diameter_mm=3000.0)
    change = plan_change(replace(case, sizes=(*case.sizes, giant)), "big", "giant")
    first = change.alerts[0]
    assert first.level == "stop"
    assert "at least 118.110 in" in first.do_in(Display("inch").length)[0]


def test_what_decides_a_warning_is_on_record(change: SizeChange) -> None:
    told = {one.key: one.value for one in change.assumed}
    assert told["change.step_at_joint"] == "3 mm"
    assert told["change.worth_a_look"] == "10 mm"
    assert told["change.misses_can"] == "0.25 of a diameter"


def test_a_shift_too_small_for_the_rule_is_still_a_length(root: Path) -> None:
    change = plan_change(
        load_scenario(root / "scenarios" / "swing_line.toml"), "211 body", "sleek body", lanes=27
    )
    (wash,) = (stage for stage in change.stages if stage.found.name == "wash")
    assert 0.0 < abs(wash.setting.shift_mm) < 25.4 / 64.0
    said = stage_facts(wash, Display("inch"))
    assert any(f"shifts {abs(wash.setting.shift_mm) / 25.4:.3f} in" in line for line in said), said
