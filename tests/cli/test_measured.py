"""``packsim measured``: readings from a spreadsheet go into a scenario, or are refused by cell."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from packsim.report.files.stamp import scenario_hash

Run = Callable[..., Any]
HEADER = "key,place,what,in_file,unit,reading_1,reading_2,plus_minus,date,by,remarks\n"


@pytest.fixture
def line(root: Path, tmp_path: Path) -> Path:
    """A scenario of one's own."""
    place = tmp_path / "line.toml"
    place.write_bytes((root / "scenarios" / "first_look.toml").read_bytes())
    return place


def sheet(line: Path, *rows: str, header: str = HEADER) -> Path:
    place = line.with_name("readings.csv")
    place.write_text(header + "\n".join(rows), encoding="utf-8")
    return place


def test_readings_go_into_the_file_with_their_comments_kept(packsim: Run, line: Path) -> None:
    rows = (
        "stages[wash].clear_width,wash,,,mm,591.5,,,12.03.2026,AB,tape",
        "mat.friction,,,,,0.45,,,,,",
        "mat.open_area,,,,%,55,,,,,",
        "stages[0].rows,wash,,,,Across,,,,,",
        "guides.wire_heights[2],,,,in,3 15/16,,,,,",
        "guides.wire_ends_fixed,,,,,No,,,,,",
        "guides.tension,,,,N,,,,,,",
    )
    new = line.with_name("new.toml")
    ended = packsim("measured", line, sheet(line, *rows), "-o", new)
    assert (ended.returncode, ended.stderr) == (0, "")
    data = tomllib.loads(new.read_text(encoding="utf-8"))
    assert data["stages"][0]["clear_width"] == "591.5 mm"
    assert data["stages"][0]["rows"] == "across"
    assert data["mat"]["friction"] == 0.45
    assert data["mat"]["open_area"] == "55 %"
    assert data["guides"]["wire_heights"] == ["30 mm", "65 mm", "3 15/16 in"]
    assert data["guides"]["wire_ends_fixed"] is False
    assert data["guides"]["tension"] == "600 N"
    for comment in ("# guide face to guide face", "# FIRST LOOK", "# above the mat, lowest first"):
        assert comment in new.read_text(encoding="utf-8")
    assert "588.0 mm ± 1.0 (as the file says)" in ended.stdout
    assert "rows left empty: tension" in ended.stdout
    assert "wash" in ended.stdout


def test_a_verdict_that_turns_is_said(packsim: Run, line: Path) -> None:
    ended = packsim("measured", line, sheet(line, "stages[0].clear_width,,,,mm,614,,,,,"),
                    "--replace", "--json", line.with_name("m.json"))  # fmt: skip
    assert ended.returncode == 0
    assert "211 body, wash" in ended.stdout
    told = json.loads(line.with_name("m.json").read_text(encoding="utf-8"))
    (turned,) = told["verdicts_turned"]
    before = packsim("study", line, "--json", "-")
    now = json.loads(before.stdout)["answers"][0]["verdict"]
    assert turned["after"] == now != turned["before"]
    assert told["changes"] == [
        {"key": "stages[0].clear_width", "before": "588 mm", "after": "614 mm", "readings": 1}
    ]


def test_loaded_twice_nothing_changes(packsim: Run, line: Path) -> None:
    readings = sheet(
        line, "mat.friction,,,,,0.45,,,2026-03-12,,", "mat.speed,,,6 m/min,m/min,5,,,,,"
    )
    assert packsim("measured", line, readings, "--replace").returncode == 0
    once = line.read_bytes()
    ended = packsim("measured", line, readings, "--replace")
    assert "nothing changes" in ended.stdout
    assert line.read_bytes() == once


BAD = {
    "unknown key": ("mat.sped,,,,m/min,6,,,,,", "row 2, column A (key): got an unknown key "
                    "mat.sped; needs speed, or another of"),
    "unknown stage": ("stages[wahs].length,,,,m,3,,,,,", "got stages[wahs]; needs wash"),
    "no such stage": ("stages[4].length,,,,m,3,,,,,", "the file has 1 of them"),
    "no key": (",,,,m,3,,,,,", "(key): got nothing"),
    "no key of ours": ("a b,,,,m,3,,,,,", "(key): got a b; needs a key such as"),
    "another stage at the key": ("stages[0].length,rinse,,,m,3,,,,,", "(place): got rinse"),
    "a name": ("stages[0].name,,,,,wash 2,,,,,", "needs a key that can be measured"),
    "a whole list": ("guides.wire_heights,,,,mm,30,,,,,", "such as guides.wire_heights[0]"),
    "a table": ("mat,,,,mm,30,,,,,", "(key): got mat"),
    "wrong unit": ("mat.width,,,,bar,700,,,,,", "F (reading_1): got 700 bar; needs a length"),
    "no unit": ("mat.width,,,,,700,,,,,", "needs a unit, here or in the column unit, such as mm"),
    "percent of a length": ("mat.width,,,,mm,98%,,,,,", "got 98%; needs a length"),
    "a wrong word": ("stages[0].rows,,,,,diagonal,,,,,", 'needs one of "along", "across"'),
    "yes or no": ("guides.wire_ends_fixed,,,,,perhaps,,,,,", "needs yes or no"),
    "two readings": ('mat.width,,,,mm,"1,391",,,,,', "got 1,391; needs 1391 or 1.391"),
    "a date made of it": ("mat.width,,,,mm,4-Mar,,,,,", "the spreadsheet made a date of it"),
    "a date of two": ("mat.width,,,,mm,700,,,3/12/2026,,", "got 3/12/2026; needs 2026-12-03"),
    "no date": ("mat.width,,,,mm,700,,,spring,,", "got spring; needs a date such as"),
    "two units": ('sizes[0].diameter,,,,mm,66.1,"2.602 in",,,,',
                  "column G (reading_2): got 2.602 in; needs readings of sizes[0].diameter in one"),
    "an impossible body": ("sizes[0].height,,,,mm,12,,,,,", "(reading_1): sizes[0].height: got 12"),
    "the file changed since": ("mat.width,,,650 mm,mm,701,,,,,",
                               "column D (in_file): got 650 mm, but the file has 700 mm there now"),
    "beyond the header": ("mat.width,,,,mm,700,,,,,,9", "row 2, column L: got 9"),
    "no ±": ("mat.width,,,,mm,700,,wide,,,", "column H (plus_minus): got wide"),
    "a ± of nothing": ("mat.width,,,,mm,700,,0,,,", "needs how far off a reading may be"),
    "a ± of something else": ("mat.width,,,,mm,700,,1 bar,,,", "(plus_minus): got 1 bar"),
    "a ± that reaches beyond": ("mat.width,,,,mm,700 ± 800,,,,,", "mat.width: got 700 mm ± 800 mm"),
    "no scatter": ("sizes[0].height,,,,mm,124.1;124.3,9,,,,", "(reading_2): got 9 mm and 124.3 mm; "
                   "needs readings of sizes[0].height that agree"),
    "what is decided": ("safety_factor,,,,,3,,,,,", "needs a key that can be measured"),
    "nothing filled in": ("mat.width,,,,mm,,,,,,", "got a sheet without a reading"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_what_is_refused_names_its_cell_and_writes_nothing(
    packsim: Run, line: Path, case: str
) -> None:
    row, said = BAD[case]
    before, new = line.read_bytes(), line.with_name("new.toml")
    ended = packsim("measured", line, sheet(line, row), "-o", new)
    assert ended.returncode == 2
    assert ended.stderr.startswith("packsim measured: ")
    assert "readings.csv: " in ended.stderr
    assert said in ended.stderr
    assert not new.exists()
    assert line.read_bytes() == before


def test_all_that_is_wrong_is_said_at_once(packsim: Run, line: Path) -> None:
    # of others in the file it is told only once these are mended, or 2.602 in tells
    later = ("an impossible body", "a ± that reaches beyond", "nothing filled in", "two readings")
    rows = [row for case, (row, _) in BAD.items() if case not in later]
    ended = packsim("measured", line, sheet(line, *rows), "-o", line.with_name("new.toml"))
    lines = ended.stderr.splitlines()
    named = [number for number in range(2, len(rows) + 2) if f"row {number}, " in ended.stderr]
    assert named == list(range(2, len(rows) + 2))
    assert all(one.startswith("packsim measured: ") for one in lines)


def test_a_sheet_made_of_the_file_as_it_stands_needs_no_more_proof(
    packsim: Run, line: Path
) -> None:
    """A spreadsheet may have rewritten what the sheet says the file has; then the stamp counts."""
    header = f"# First look; packsim 1; scenario {scenario_hash(line)}; packsim visit\n" + HEADER
    mangled = sheet(line, "mat.width,,,700 MM,mm,701,,,,,", header=header)
    assert packsim("measured", line, mangled, "-o", line.with_name("new.toml")).returncode == 0


def test_a_thousand_readings_of_one_input_are_refused(packsim: Run, line: Path) -> None:
    header = HEADER.replace("reading_2", ",".join(f"reading_{i}" for i in range(2, 1001)))
    row = "sizes[0].diameter,,,,mm," + ",".join(["66.1"] * 1000) + ",,,,"
    ended = packsim("measured", line, sheet(line, row, header=header), "-o", "-")
    assert "got 1000 readings of sizes[0].diameter; needs at most" in ended.stderr
    assert ended.returncode == 2


def test_several_readings_and_a_plus_minus_say_how_well_a_value_is_known(
    packsim: Run, line: Path
) -> None:
    rows = (
        "sizes[0].diameter,,,,mm,66.1,66.2,0.5,,,",  # readings say it themselves
        "mat.width,,,,mm,700 +/- 2,,9 mm,,,",  # what stands beside the value counts
        "mat.speed,,,,m/min,6,,0.1,,,",
        "stages[0].pack_fill,,,,%,100,,1 %,,,",  # it cannot reach beyond
    )
    assert packsim("measured", line, sheet(line, *rows), "--replace").returncode == 0
    data = tomllib.loads(line.read_text(encoding="utf-8"))
    assert data["sizes"][0]["diameter"] == ["66.1 mm", "66.2 mm"]
    assert data["mat"]["width"] == "700 mm ± 2 mm"
    assert data["mat"]["speed"] == "6 m/min ± 0.1 m/min"
    assert data["stages"][0]["pack_fill"] == "100 %"


def test_a_reading_that_hardly_can_be_is_asked_about(packsim: Run, line: Path) -> None:
    new = line.with_name("new.toml")
    ended = packsim("measured", line, sheet(line, "sizes[0].diameter,,,,mm,110,,,,,"), "-o", new)
    assert "row 2, column F (reading_1): sizes[0].diameter: 110 mm is unlikely" in " ".join(
        ended.stdout.split()
    )


def test_no_place_to_write_and_no_sheet_are_refused(packsim: Run, line: Path) -> None:
    readings = sheet(line, "mat.friction,,,,,0.45,,,,,")
    assert "--replace to rewrite" in packsim("measured", line, readings).stderr
    missing = packsim("measured", line, line.with_name("none.csv"), "-o", "-")
    assert "none.csv: got no file of this name; needs a sheet of readings" in missing.stderr
    assert packsim("measured", line, readings, "-o", line).returncode == 2
