"""``packsim new``: from nothing to a verdict in a few answers, each of which may be left open."""

from __future__ import annotations

import io
import re
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from packsim import load_scenario
from packsim.catalogue import SizeRow, catalogue_sizes
from packsim.cli.new import examples
from packsim.line.input_range import range_of
from packsim.scenario.new import QUESTIONS
from tests.cli.conftest import Ended

Run = Callable[..., Ended]
Ask = Callable[..., Ended]

SIX = (
    "Line 3",
    "inches",
    "us_12oz_std",
    "58.02, 58.10, 58.05 mm",
    "6.2",
    "48",
    "18",
    "pre-rinse 4 ft, pre-wash 8 ft, wash 14 ft, rinse 8 ft, treatment 6 ft, DI rinse 4 ft",
    "44 3/8 ± 1/16",
    "don't know",
    "1 1/4, 2 3/4, 4 1/4",
    "wash 6, pre-wash 3, rinse 3, treatment 2, DI rinse 1, pre-rinse 1 above",
    "wash 32 psi, pre-wash 25, rinse 15",
    "140 degF",
)


@pytest.fixture
def answered(packsim: Run, monkeypatch: pytest.MonkeyPatch) -> Ask:
    def ask(*arguments: object, lines: tuple[str, ...]) -> Ended:
        monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        return packsim("new", *arguments)

    return ask


def test_from_nothing_to_a_verdict_in_under_twenty_answers(
    answered: Ask, packsim: Run, tmp_path: Path
) -> None:
    file, page = tmp_path / "line 3.toml", tmp_path / "page.html"
    ended = answered(file, "--html", page, lines=SIX)
    assert (ended.returncode, ended.stderr) == (0, "")
    assert len(SIX) < 20
    line = load_scenario(file)
    assert [stage.name for stage in line.stages] == [
        "pre-rinse", "pre-wash", "wash", "rinse", "treatment", "DI rinse",
    ]  # fmt: skip
    assert [stage.duty for stage in line.stages[:3]] == ["rinse", "flood", "flood"]
    assert [len(stage.headers) for stage in line.stages] == [1, 6, 12, 6, 4, 2]
    assert [stage.length_mm for stage in line.stages][:2] == pytest.approx([1219.2, 2438.4])
    assert {stage.guides.narrowest_mm for stage in line.stages} == {44.375 * 25.4}
    assert line.stage("wash").headers[0].pressure_MPa == pytest.approx(0.220632, abs=1e-6)
    assert line.size("58.1 mm body").diameter_mm == pytest.approx((58.02 + 58.1 + 58.05) / 3.0)
    kinds = {one.key: one.kind for one in line.ranges}
    assert kinds["stages[2].clear_width"] == "measured"  # with its ±
    assert kinds["sizes[1].diameter"] == "measured"  # by three readings
    assert kinds["stages[2].rows"] == "assumed"
    assert 'packsim study "' in ended.stdout
    assert 'packsim doubt "' in ended.stdout
    assert "19 lanes, 1.212 in of slack" in ended.stdout
    assert "<svg" in page.read_text(encoding="utf-8")
    verdict = packsim("study", file, "--units", "inch")
    assert verdict.returncode == 0
    assert "19 lanes fit" in verdict.stdout
    above = range_of(line, "stages[2].headers[0].nozzle_to_mat")
    assert above.kind == "assumed"
    assert max(can.height_mm for can in line.sizes) < above.low < above.value  # over the cans
    doubts = packsim("doubt", file, "--stage", "rinse", "--size", "58.1 mm body")
    assert (doubts.returncode, doubts.stderr) == (0, "")


def test_who_knows_nothing_gets_a_line_on_record_as_assumed(
    answered: Ask, packsim: Run, tmp_path: Path
) -> None:
    asked, quick = tmp_path / "asked.toml", tmp_path / "quick.toml"
    ended = answered(asked, lines=("",) * 13)
    assert ended.returncode == 0
    assert ended.stdout.count("not known: ") == 13
    assert "may be 0.5 to 2 times it" in ended.stdout
    assert packsim("new", quick, "--yes").returncode == 0
    assert quick.read_text(encoding="utf-8") == asked.read_text(encoding="utf-8")
    line = load_scenario(quick)
    places = {"headers.count", "headers.from_stage_start"}
    for one in line.ranges:
        if one.kind == "given" and one.low != one.high:
            assert one.key.rpartition(".")[2] in {key.rpartition(".")[2] for key in places}, one.key
    width = next(one for one in line.ranges if one.key == "stages[0].clear_width")
    assert (width.kind, width.high - width.low) == ("assumed", 50.0)
    assert packsim("study", quick).returncode == 0


@pytest.mark.parametrize(
    ("name", "text", "answer"),
    [
        ("size", "66,09", "66.09 mm"),
        ("size", "66.09", "66.09 mm"),  # 66 in are no can
        ("size", "2.602", "2.602 in"),
        ("mat width", '48"', "48 in"),
        ("mat width", "4'", "4 ft"),
        ("stages", "wash: 12', drain ?", [("wash", "flood", "12 ft"), ("drain", "drain", None)]),
        ("stages", "wash, drain", [("wash", "flood", None), ("drain", "drain", None)]),
    ],
)
def test_an_answer_may_be_typed_as_people_do(name: str, text: str, answer: object) -> None:
    question = next(one for one in QUESTIONS if one.name == name)
    assert question.read(text, {"units": "inch"}) == answer


SAID = {**dict.fromkeys((one.name for one in QUESTIONS), None), "units": "inch"}


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda one: one.name)
def test_who_speaks_in_inches_reads_no_millimetre_and_every_example_is_an_answer(question) -> None:
    shown = question.shown("inch") + question.left_open("inch")
    assert question.name == "units" or not re.search(r"\d mm|degC|millimetre", shown)
    example = question.example.get("inch", question.example.get("", ""))
    for said in filter(
        None, re.split(r"; or: |; or the body's diameter: | \(readings\) or ", example)
    ):
        assert question.read(said.removesuffix("; or one number for all"), SAID)


@pytest.mark.parametrize(
    ("name", "range_told"),
    [
        ("clear width", "off by 1 in:"),
        ("temperatures", "50 to 158 degF:"),
        ("mat speed", "2 times"),
    ],
)  # 25 mm is 0.98 in, to the sixteenth of a rule 1 in; 10 and 70 degC are 50 and 158 degF
def test_a_range_is_told_in_the_units_of_who_answers(name: str, range_told: str) -> None:
    question = next(one for one in QUESTIONS if one.name == name)
    assert range_told in question.left_open("inch")


@pytest.mark.parametrize(
    ("text", "row"),
    [("12oz sleek", "sleek_355ml"), ("330 sleek", "sleek_330ml"), ("24 oz", "us_24oz_710ml")],
)
def test_words_that_fit_one_can_of_the_catalogue_mean_it(text: str, row: str) -> None:
    size = next(one for one in QUESTIONS if one.name == "size")
    assert size.read(text, {"units": "metric"}).id == row


@pytest.mark.parametrize("row", catalogue_sizes(), ids=lambda row: row.id)
def test_every_can_of_the_catalogue_is_found_by_its_id(row: SizeRow) -> None:
    size = next(one for one in QUESTIONS if one.name == "size")
    assert size.read(row.id, {"units": "metric"}) == row


@pytest.mark.parametrize("name", examples())
def test_an_example_is_copied_with_its_comments(
    packsim: Run, root: Path, tmp_path: Path, name: str
) -> None:
    file = tmp_path / "mine.toml"
    assert packsim("new", file, "--from", name).returncode == 0
    assert file.read_bytes() == (root / "scenarios" / f"{name}.toml").read_bytes()


def test_nothing_is_overwritten_and_a_wrong_name_lists_the_examples(
    packsim: Run, tmp_path: Path
) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("mine", encoding="utf-8")
    ended = packsim("new", file, "--yes")
    assert ended.returncode == 2
    assert ended.stderr.startswith("packsim new: FILE: got ")
    assert file.read_text(encoding="utf-8") == "mine"
    assert packsim("new", file, "--yes", "--replace").returncode == 0
    wrong = packsim("new", tmp_path / "b.toml", "--from", "swing")
    assert wrong.stderr.startswith("packsim new: --from: got 'swing'; needs one of first_look, ")
    assert packsim("new", tmp_path / "b.txt", "--yes").stderr.endswith("a name ending in .toml\n")


@pytest.mark.parametrize("given", range(0, 13, 4))
def test_the_end_of_the_input_is_said_and_nothing_is_written(
    answered: Ask, tmp_path: Path, given: int
) -> None:
    ended = answered(tmp_path / "a.toml", lines=("",) * given)
    assert ended.returncode == 2
    (said,) = ended.stderr.splitlines()
    assert f"got the end of the input at question {given + 1}, " in said
    assert list(tmp_path.iterdir()) == []


def test_an_interrupt_leaves_nothing_and_ends_as_everywhere(
    packsim: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    class Stopped(io.StringIO):
        def readline(self, *_: object) -> str:
            raise KeyboardInterrupt

    monkeypatch.setattr(sys, "stdin", Stopped())
    assert packsim("new", tmp_path / "a.toml").returncode == 130
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("place", "text", "said"),
    [
        (2, "66 mm ± 2 in ± 3", "size: got '66 mm ± 2 in ± 3'; needs the diameter of the body"),
        (2, "5 in", "size: got '5 in'; needs the diameter of the body, 40 to 120 mm"),
        (1, "furlongs", "units: got 'furlongs'; needs inches or millimetres"),
        (2, "a beer", "size: got 'a beer'; needs the diameter of the body, 40 to 120 mm, or one"),
        (2, "330", "120 mm, or one of eu_330ml_std, sleek_330ml"),
        (3, "us_12oz_std", "next size: got 'us_12oz_std'; needs another can"),
        (5, "48 psi", "mat width: got '48 psi'; needs a length"),
        (7, "8 ft", "stages: got '8 ft'; needs a name and a length with its unit"),
        (5, "1,220 mm", "mat width: got '1,220 mm'; needs 1220 or 1.220: the comma may stand"),
        (7, "wash 12", "stages: got 'wash 12'; needs a name and a length with its unit"),
        (7, "hall 4 ft", "stages: got 'hall 4 ft'; needs what it is for behind its name"),
        (7, "wash 4 ft, wash 5 ft", "stages: got 'wash 5 ft'; needs a name not used before"),
        (8, "50 in", "clear width: got pre-rinse 50 in; needs at most the mat's width, 48 in"),
        (8, "wash 40, hall 41", "clear width: got 'hall 41'; needs a stage and its value"),
        (9, "up", "rows: got 'up'; needs along or across"),
        (10, "4, 2, 1 in", "wires: got '4, 2, 1 in'; needs heights above the mat, lowest first"),
        (11, "wash many", "headers: got 'wash many'; needs a number of pairs"),
        (12, "wash 3 ft", "pressures: got '3 ft'; needs a pressure"),
    ],
)  # fmt: skip
def test_a_wrong_answer_from_a_pipe_ends_with_the_question_and_what_it_takes(
    answered: Ask, tmp_path: Path, place: int, text: str, said: str
) -> None:
    lines = (*SIX[:place], text, *SIX[place + 1 :])
    ended = answered(tmp_path / "a.toml", lines=lines)
    assert ended.returncode == 2
    assert said in ended.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_wrong_answer_at_a_terminal_is_asked_again(
    packsim: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    monkeypatch.setattr(sys, "stdin", Terminal("\nfurlongs\nmm\n" + "\n" * 11))
    ended = packsim("new", tmp_path / "a.toml")
    assert ended.returncode == 0
    assert "units: got 'furlongs'; needs inches or millimetres" in ended.stdout


def test_what_is_said_stands_in_the_file_as_it_was_said(answered: Ask, tmp_path: Path) -> None:
    file = tmp_path / "a.toml"
    assert (
        answered(file, "--units", "metric", lines=("", "66.09 mm ± 0.05 mm", "124.4")).returncode
        == 2
    )
    lines = (
        "",
        "66.09 mm ± 0.05 mm",
        "124.4",
        "",
        "1600",
        "",
        "wash 4 m, hall (drain) ?",
        "1390",
        "across",
    )
    ended = answered(file, "--units", "metric", lines=(*lines, *("",) * 4))
    assert ended.returncode == 0, ended.stderr
    data = tomllib.loads(file.read_text(encoding="utf-8"))
    assert data["sizes"][0]["diameter"] == "66.09 mm ± 0.05 mm"
    assert data["sizes"][0]["height"] == "124.4 mm"
    assert data["every_stage"] == {"rows": "across", "clear_width": "1390 mm"}
    assert [stage["duty"] for stage in data["stages"]] == ["flood", "drain"]
    assert "headers" not in data["stages"][1]


@pytest.mark.all
def test_what_nobody_knew_is_asked_for_on_the_sheet_and_goes_off_the_record(
    packsim: Run, tmp_path: Path
) -> None:
    file, sheet, new = (tmp_path / name for name in ("a.toml", "a.csv", "b.toml"))
    packsim("new", file, "--yes")
    packsim("visit", file, "-o", tmp_path / "a.html", "--readings", sheet)
    asked = sheet.read_text(encoding="utf-8")
    read = {
        "stages[2].clear_width": "1390 mm",
        "stages[2].headers[0].pressure": "2.4 bar",
        "guides.wire_heights[1]": "66 mm",
    }
    assert all(f"\n{key}," in asked for key in read)
    rows = "".join(f"{key},{value}\n" for key, value in read.items())
    sheet.write_text(f"key,reading_1\n{rows}", encoding="utf-8")
    assert packsim("measured", file, sheet, "-o", new).returncode == 0
    line = load_scenario(new)
    kinds = {one.key: one.kind for one in line.ranges}
    assert {key: kinds[key] for key in read} == dict.fromkeys(read, "given")
    assert kinds["stages[1].clear_width"] == kinds["guides.wire_heights[0]"] == "assumed"
    assert {header.pressure_MPa for header in line.stages[2].headers} == {0.24}


@pytest.mark.parametrize("units", ["inch", "metric"])
def test_a_bracket_step_that_nobody_gave_is_on_record(
    packsim: Run, tmp_path: Path, units: str
) -> None:
    assert packsim("new", tmp_path / "a.toml", "--yes", "--units", units).returncode == 0
    line = load_scenario(tmp_path / "a.toml")
    assert "guides.smallest_bracket_step" in [one.key for one in line.assumed]
    assert line.stages[0].guides.setting_step_mm == {"inch": 25.4 / 16.0, "metric": 1.0}[units]
