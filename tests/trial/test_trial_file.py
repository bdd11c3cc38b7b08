"""Trial files: what is read, and what is refused with its file, key, line and column."""

from __future__ import annotations

import datetime as dt
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.scenario import load_scenario
from packsim.scenario.places import TomlPlaces
from packsim.scenario.tables import COLUMNS
from packsim.scenario.trial_file import load_trials, parse_trials

TODAY = dt.date(2025, 6, 1)

TOML = """
schema = 2
[[trials]]
name = "A"
date = 2025-03-04
size = "slim"
cans = 200_000
tipped = 12
tipped_left = 2
remarks = "two  lines"
[[trials.stages]]
stage = "wash"
clear_width = "495 mm"
tipped = 9
"""

CSV = (
    ",".join(COLUMNS)
    + """
# a note
A,2025-03-04,slim,,200000,wash,495 mm,9,1,8,0,
A,2025-03-04,slim,,,rinse,19.5 in,3,,,,late
A,2025-03-04,slim,,,dry,,0,,,,
B,2025-03-05,slim,,300000,,496,4,,,,
"""
)


def toml(line: Scenario, old: str = "", new: str = "") -> None:
    assert old in TOML
    parse_trials(TOML.replace(old, new, 1), line, "t.toml", today=TODAY)


def sheet(line: Scenario, old: str = "", new: str = "") -> None:
    assert old in CSV
    parse_trials(CSV.replace(old, new, 1), line, "t.csv", "csv", TODAY)


def test_a_toml_trial_is_read(line: Scenario) -> None:
    (trial,) = parse_trials(TOML, line, today=TODAY)
    assert (trial.name, trial.cans, trial.tipped, trial.by_stage) == ("A", 200_000, 12, False)
    assert trial.by_place == (2, 0, 0)
    assert trial.remarks == "two lines"
    assert trial.width_mm("wash") == 495.0
    assert trial.width_mm("dry") == line.stages[2].guides.narrowest_mm


@pytest.mark.parametrize("divider", [",", ";", "\t"])
def test_a_sheet_is_read_whatever_divides_it(line: Scenario, divider: str) -> None:
    first, second = parse_trials(CSV.replace(",", divider), line, "t.csv", "csv", TODAY)
    assert (first.name, first.cans, second.cans) == ("A", 200_000, 300_000)
    assert [count.tipped for count in first.stages] == [9, 3, 0]
    assert first.width_mm("rinse") == pytest.approx(495.3)
    assert first.by_place == (1, 8, 0)
    assert first.remarks == "late"
    assert second.width_mm("dry") == 496.0
    assert not second.by_stage


BAD_TOML = {
    "unknown key": ("name = ", "nmae = ", "trials[0].nmae: got an unknown key; needs the key name"),
    "more tipped than passed": ("cans = 200_000", "cans = 11", "no more tipped than the 11"),
    "negative": ("tipped = 9", "tipped = -9", "trials[0].stages[0].tipped: got -9"),
    "not a number": ("tipped = 9", "tipped = nan", "trials[0].stages[0].tipped: got nan"),
    "half a can": ("cans = 200_000", "cans = 2.5", "trials[0].cans: got 2.5"),
    "stages beyond the total": ("tipped = 9", "tipped = 13", "at least the sum of the stages, 13"),
    "wrong stage": ('"wash"', '"wahs"', 'needs "wash", or another of'),
    "wrong size": ('"slim"', '"slm"', 'needs "slim"'),
    "a day to come": ("2025-03-04", "2025-07-04", "a day that has come"),
    "no date": ("2025-03-04", '"last week"', "a date from 1950 on"),
    "a date with a time": ("2025-03-04", "2025-03-04T10:00:00", "a date from 1950 on"),
    "too narrow": ('"495 mm"', '"40 mm"', "from one can, 58 mm"),
    "wider than the mat": ('"495 mm"', '"900 mm"', "the mat's width"),
    "wrong unit": ('"495 mm"', '"495 kg"', "a length"),
    "more left than tipped": ("left = 2", "left = 13", "no more than the 12 tipped"),
    "another layout": ("schema = 2", "schema = 3", "schema: got 3"),
    "no trials": (TOML[TOML.index("[[trials]]") :], "", "trials: got nothing"),
    "no total": ("tipped = 12\n", "", "trials[0].tipped: got nothing"),
}


@pytest.mark.parametrize("case", BAD_TOML)
def test_bad_files_are_refused_with_their_key(line: Scenario, case: str) -> None:
    old, new, said = BAD_TOML[case]
    with pytest.raises(InputError) as caught:
        toml(line, old, new)
    assert str(caught.value).startswith("t.toml")
    assert said in str(caught.value)


def test_bad_toml_is_refused_with_line_and_column(line: Scenario) -> None:
    lines = TOML.splitlines()
    number = next(i for i, row in enumerate(lines, start=1) if row.startswith("tipped = 12"))
    for old, new, place, key in (
        ("tipped = 12", 'tipped = "many"', (number, 10), "trials[0].tipped"),
        ("tipped = 12", "tipped  =  -1", (number, 12), "trials[0].tipped"),
    ):
        with pytest.raises(InputError) as caught:
            toml(line, old, new)
        assert f"t.toml, line {place[0]}, column {place[1]}: {key}: got" in str(caught.value)
    with pytest.raises(InputError) as caught:  # nothing there: the heading of its table
        toml(line, "tipped = 12\n", "")
    heading = lines.index("[[trials]]") + 1
    assert f"line {heading}, column 1: trials[0].tipped: got nothing" in str(caught.value)


PLACES = """
about = '''
[[trials]]
cans = 9
'''
[[trials]]   # the first
name = "one"
[[trials.stages]]
  stage = "a"
[[trials]]
name = "two"
[trials.note]
who = 1
[[trials.stages]]
stage = "b"
[[trials.stages]]
stage = "c"
"""


@pytest.mark.parametrize(
    ("key", "place"),
    [
        ("about", (2, 9)),
        ("trials[0].name", (7, 8)),
        ("trials[0].stages[0].stage", (9, 11)),
        ("trials[1].note.who", (13, 7)),
        ("trials[1].stages[1].stage", (17, 9)),
        ("trials[1].stages[0].tipped", (14, 1)),
        ("trials[1].cans", (10, 1)),
        ("schema", None),
    ],
)
def test_places_in_toml(key: str, place: tuple[int, int] | None) -> None:
    said = "" if place is None else f"line {place[0]}, column {place[1]}"
    assert TomlPlaces(PLACES).of(key) == said


BAD_CSV = {
    "negative": ("mm,9,", "mm,-9,", "row 3, column H (tipped): got -9"),
    "words for a number": ("200000", "plenty", "row 3, column E (cans): got plenty"),
    "NaN": ("mm,9,", "mm,nan,", "row 3, column H (tipped): got nan"),
    "more tipped than passed": ("300000", "3", "row 6, column H (tipped): got 4"),
    "wrong stage": ("rinse", "rinze", 'row 4, column F (stage): got rinze; needs "rinse"'),
    "wrong size": ("B,2025-03-05,slim", "B,2025-03-05,slob", "row 6, column C (size)"),
    "a day to come": ("B,2025-03-05", "B,2026-03-05", "row 6, column B (date)"),
    "no date": ("B,2025-03-05", "B,5 March", "row 6, column B (date): got 5 March"),
    "no cans": ("300000", "", "row 6, column E (cans): got nothing"),
    "other cans further down": ("slim,,,rinse", "slim,,7,rinse", "row 4, column E (cans): got 7"),
    "width without sense": ("19.5 in", "19.5 bar", "row 4, column G (clear_width): got 19.5 bar"),
    "width too small": (",496,", ",49,", "row 6, column G (clear_width): got 49"),
    "unknown column": ("remarks", "remraks", "row 1, column L: got an unknown column remraks"),
    "column twice": ("tipped_right", "tipped_left", "row 1, column K: got tipped_left twice"),
    "a value too many": (
        "496,4,,,,",
        "496,4,,,,,5",
        "row 6, column M: got 5; needs nothing, or a name in the header; it has 12",
    ),
    "stage twice": (
        "A,2025-03-04,slim,,,rinse",
        "A,2025-03-04,slim,,,wash",
        "row 4, column F (stage)",
    ),
    "places beyond the count": ("mm,9,1,8,0", "mm,9,1,8,4", "row 3"),
    "needed column missing": ("clear_width", "line2", "row 1"),
    "an open quote": ("late", '"late', "row 4"),
}


@pytest.mark.parametrize("case", BAD_CSV)
def test_bad_sheets_are_refused_with_row_and_column(line: Scenario, case: str) -> None:
    old, new, said = BAD_CSV[case]
    with pytest.raises(InputError) as caught:
        sheet(line, old, new)
    assert str(caught.value).startswith("t.csv: ")
    assert said in str(caught.value)


def test_a_sheet_saved_in_another_country_says_the_same(line: Scenario, tmp_path: Path) -> None:
    german = CSV.replace("2025-03-04", "04.03.2025").replace("2025-03-05", "05.03.2025")
    german = german.replace("200000", "200.000").replace(",", ";").replace("19.5 in", "19,5 in")
    place = tmp_path / "t.csv"
    place.write_bytes(german.replace("\n", ";;;\r\n").encode("utf-16"))
    assert load_trials([place], line, TODAY) == parse_trials(CSV, line, kind="csv", today=TODAY)


def test_all_that_is_unclear_in_a_sheet_is_said_at_once(line: Scenario) -> None:
    bad = (
        CSV.replace("2025-03-04", "3/4/2025").replace("300000", '"60,000"').replace("495", "1 234")
    )
    bad = bad.replace(",496,", ',"1,496",').replace("19.5", "19 1/2")
    with pytest.raises(InputError) as caught:
        parse_trials(bad, line, "t.csv", "csv", TODAY)
    said = [str(one) for one in caught.value.each]
    assert "row 3, column B (date): got 3/4/2025; needs 2025-04-03 or 2025-03-04" in said[0]
    assert any("row 6, column E (cans): got 60,000; needs 60000 or 60.000" in one for one in said)
    assert any("row 6, column G (clear_width): got 1,496; needs 1496 or 1.496" in x for x in said)


def test_lines_of_a_trial_that_disagree_are_all_said(line: Scenario) -> None:
    bad = CSV.replace("slim,,,rinse", "slin,,,rinse").replace("slim,,,dry", "slym,,,dry")
    with pytest.raises(InputError) as caught:
        parse_trials(bad, line, "t.csv", "csv", TODAY)
    said = [str(one) for one in caught.value.each]
    assert [one.partition(" (size)")[0] for one in said if "(size)" in one] == [
        "t.csv: row 4, column C", "t.csv: row 5, column C",
    ]  # fmt: skip


def test_several_files_are_read_and_the_same_trial_twice_is_refused(
    line: Scenario, tmp_path: Path
) -> None:
    one, two = tmp_path / "one.toml", tmp_path / "two.csv"
    one.write_text(TOML.replace('"A"', '"C"'), encoding="utf-8")
    two.write_text("\ufeff" + CSV, encoding="utf-8")
    assert [t.name for t in load_trials([one, two], line, TODAY)] == ["C", "A", "B"]
    with pytest.raises(InputError, match="each trial once"):
        load_trials([two, two], line, TODAY)
    with pytest.raises(InputError, match="no file of this name"):
        load_trials([tmp_path / "none.csv"], line, TODAY)


@given(text=st.text(max_size=300))
def test_no_text_does_more_than_be_refused(line: Scenario, text: str) -> None:
    for kind in ("csv", "toml"):
        for body in (text, CSV + text, TOML + text):
            with suppress(InputError):
                parse_trials(body, line, "t", kind, TODAY)


@pytest.mark.parametrize("name", ["swing_line_trial.toml", "swing_line_totals.csv"])
def test_the_trials_that_come_with_us_say_they_are_invented(root: Path, name: str) -> None:
    place = root / "scenarios" / "trials" / name
    assert "INVENTED" in place.read_text(encoding="utf-8").splitlines()[0]
    line = load_scenario(root / "scenarios" / "swing_line.toml")
    trials = load_trials([place], line, TODAY)
    assert len(trials) == 4
    assert all(trial.by_stage for trial in trials) == name.endswith(".toml")
