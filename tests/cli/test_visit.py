"""``packsim visit`` and back: the sheet, the CSV, filled in, loaded, and less left to doubt."""

from __future__ import annotations

import csv
import io
import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from packsim.doubt import doubt as packsim_doubt
from packsim.doubt.doubt import Measure
from packsim.doubt.measuring import ACTIONS
from packsim.line.input_range import range_of
from packsim.report.files.stamp import scenario_hash
from packsim.report.words.numbers import CAUTIONS
from packsim.scenario import load_scenario
from packsim.scenario.sheets.asked import what_to_ask
from tests.browser import NEEDS_BROWSER, sheets_of

Run = Callable[..., Any]
LINES = ["first_look", "swing_line", "imperial_line", "oven_lane", "height_only"]


@pytest.fixture(autouse=True)
def ranked(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """Measurements in the order of their table: the ranking has tests of its own, and takes time.

    The test of what decides asks for the true one.
    """
    if "what_decides" in request.node.name:
        return
    table = tuple(
        Measure(action=one, inputs=(), minutes=7.0, narrows=0.25, settles=0.0, within=())
        for one in ACTIONS
    )
    monkeypatch.setattr("packsim.doubt.doubt", lambda *_, **__: SimpleNamespace(measures=table))


@pytest.fixture(params=LINES)
def line(root: Path, tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    """A copy of a shipped line."""
    return copied(root, tmp_path, request.param)


def copied(root: Path, folder: Path, name: str) -> Path:
    place = folder / f"{name}.toml"
    place.write_bytes((root / "scenarios" / f"{name}.toml").read_bytes())
    return place


def visit(packsim: Run, line: Path, *options: str) -> tuple[str, list[list[str]]]:
    """Return the page and the rows of the CSV, its stamp first."""
    page, sheet = line.with_name("visit.html"), line.with_name("visit.csv")
    ended = packsim("visit", line, "-o", page, "--readings", sheet, "--replace", *options)
    assert (ended.returncode, ended.stderr) == (0, "")
    rows = list(csv.reader(io.StringIO(sheet.read_text(encoding="utf-8"), newline="")))
    return page.read_text(encoding="utf-8"), rows


def test_the_sheet_says_what_with_what_how_exactly_and_the_cautions_first(
    packsim: Run, line: Path
) -> None:
    page, _ = visit(packsim, line)
    boxes = page.index('class="blank"')
    for caution in CAUTIONS:
        assert page.index(caution.replace("'", "&#39;")) < boxes
    first = what_to_ask(line, load_scenario(line), ACTIONS)[0].action
    for words in (first.name[1:], first.tools[1:], first.write_down):
        assert words.replace("'", "&#39;") in page
    for word in (
        "[[history]]",
        "Which can sizes come next",
        "Who sets the guides",
        "packsim measured",
    ):
        assert word in page
    assert "http" not in page.replace("http-equiv", "")
    assert scenario_hash(line) in page


def test_what_is_done_stopped_says_so_at_each_action(
    packsim: Run, root: Path, tmp_path: Path
) -> None:
    """The next side may begin in the middle of what is done locked out."""
    page = visit(packsim, copied(root, tmp_path, "first_look"))[0].replace("&#39;", "'")
    locked = [one for one in ACTIONS if one.caution.startswith("Mat and sprays stopped")]
    shown = [one for one in locked if f". {one.name[0].upper()}{one.name[1:]}</b>" in page]
    assert len(shown) > 1
    assert page.count(shown[0].caution) == len(shown)


def test_every_row_of_the_csv_has_a_key_that_loads_and_nothing_else_is_asked_twice(
    packsim: Run, line: Path
) -> None:
    """Filled with what the line is taken as anyway, every key is taken and no answer changes."""
    _, rows = visit(packsim, line, "--units", "metric")
    head = rows[1]
    asked = {one.key: one for one in what_to_ask(line, load_scenario(line), ACTIONS)}
    assert [row[0] for row in rows[2:]] == list(asked)
    for row in rows[2:]:
        if row[0].endswith("water_in_dome"):
            continue  # a range: one filling alone is another answer
        now = asked[row[0]].now
        row[head.index("reading_1")] = now if isinstance(now, str) else f"{now:.17g}"

    ended = packsim("measured", line, saved(line, rows), "--replace")
    assert (ended.returncode, ended.stderr) == (0, "")
    assert "No verdict turned" in ended.stdout or "The verdict stands" in ended.stdout


def saved(line: Path, rows: list[list[str]], divider: str = ",", encoding: str = "utf-8") -> Path:
    place = line.with_name("filled.csv")
    with place.open("w", encoding=encoding, newline="") as file:
        csv.writer(file, delimiter=divider).writerows(rows)
    return place


def test_a_sheet_filled_in_gives_the_scenario_its_values_and_their_ranges(
    packsim: Run, root: Path, tmp_path: Path
) -> None:
    line = copied(root, tmp_path, "swing_line")
    _, rows = visit(packsim, line)
    head = rows[1]
    bodies = [f"58,0{last}" for last in (3, 1, 5, 2, 2, 0, 4, 2, 1, 0)]
    filled = {
        "sizes[1].diameter": {f"reading_{i}": text for i, text in enumerate(bodies, start=1)},
        "stages[2].clear_width": {"reading_1": "1.388,0", "date": "12.03.2026"},
        "stages[2].headers[0].below.pressure": {"reading_1": "1,6 bar ± 0,05"},
        "stages[1].pack_fill": {"reading_1": "98%"},
        "guides.wire_heights[1]": {"reading_1": "71", "plus_minus": "0,5"},
        "stages[0].rows": {"reading_1": "Across"},
    }
    for row in rows[2:]:
        for column, text in filled.pop(row[0], {}).items():
            row[head.index(column)] = text
    assert not filled
    before = load_scenario(line)
    ended = packsim("measured", line, saved(line, rows, ";", "utf-16"), "--replace")
    assert (ended.returncode, ended.stderr) == (0, "")
    after = load_scenario(line)
    body = range_of(after, "sizes[1].diameter")
    assert (body.kind, body.readings) == ("measured", 10)
    assert body.value == pytest.approx(58.02)
    width = range_of(after, "stages[2].clear_width")
    assert (width.value, width.low, width.high) == (1388.0, 1387.5, 1388.5)  # the tape's ± of ours
    assert after.stages[2].headers[1].pressure_MPa == pytest.approx(0.16)
    pressure = range_of(after, "stages[2].headers[1].pressure")
    assert (pressure.low, pressure.high) == (pytest.approx(0.155), pytest.approx(0.165))
    assert after.stages[0].layout == "crosswise"
    assert after.stages[1].fill == pytest.approx(0.98)
    assert after.stages[2].guides.wires.heights_mm[1] == 71.0
    for key in ("sizes[1].diameter", "stages[2].clear_width", "stages[1].pack_fill"):
        old, new = range_of(before, key), range_of(after, key)
        assert new.high - new.low < old.high - old.low or key.endswith("fill")
        assert new.kind == "measured"
    again = [row[0] for row in visit(packsim, line)[1][2:]]
    asked = [row[0] for row in rows[2:]]
    measured = {"sizes[1].diameter", "stages[2].clear_width", "stages[1].pack_fill",
                "stages[2].headers[0].below.pressure", "guides.wire_heights[1]"}  # fmt: skip
    assert set(asked) - set(again) == measured


@pytest.fixture(scope="module")
def sheet_of_first_look(
    packsim: Run, root: Path, tmp_path_factory: pytest.TempPathFactory
) -> list[list[str]]:
    return visit(packsim, copied(root, tmp_path_factory.mktemp("visit"), "first_look"))[1]


@given(width=st.integers(5830, 5990), pm=st.integers(1, 30),
       how=st.sampled_from([(",", "utf-8", "."), (";", "utf-8-sig", ","), ("\t", "utf-16", ","),
                            (";", "cp1252", ",")]))  # fmt: skip
@settings(
    max_examples=min(15, settings().max_examples),
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_any_width_comes_back_as_it_was_typed(
    packsim: Run,
    root: Path,
    tmp_path: Path,
    sheet_of_first_look: list[list[str]],
    width: int,
    pm: int,
    how: tuple[str, str, str],
) -> None:
    line = copied(root, tmp_path, "first_look")
    rows = [list(row) for row in sheet_of_first_look]
    divider, encoding, decimal = how
    typed = f"{width / 10:.1f} ± {pm / 10:.1f} mm".replace(".", decimal)
    for row in rows[2:]:
        if row[0] == "stages[0].clear_width":
            row[rows[1].index("reading_1")] = typed
    assert (
        packsim("measured", line, saved(line, rows, divider, encoding), "--replace").returncode == 0
    )
    data = tomllib.loads(line.read_text(encoding="utf-8"))
    assert data["stages"][0]["clear_width"] == f"{width / 10:.1f} mm ± {pm / 10:.1f} mm"


def test_an_inch_sheet_is_in_inches_but_cans_weigh_grams(
    packsim: Run, root: Path, tmp_path: Path
) -> None:
    line = copied(root, tmp_path, "imperial_line")
    page, rows = visit(packsim, line, "--units", "inch")
    units = {row[0].rpartition(".")[2]: row[rows[1].index("unit")] for row in rows[2:]}
    assert (units["clear_width"], units["pressure"], units["temperature"]) == ("in", "psi", "degF")
    assert (units["mass"], units["pack_fill"], units["rows"]) == ("g", "%", "")
    assert re.search(r"clear width, in ±0\.02", page)


def test_the_csv_goes_to_standard_output_and_nothing_is_overwritten(
    packsim: Run, root: Path, tmp_path: Path
) -> None:
    line = copied(root, tmp_path, "first_look")
    ended = packsim("visit", line, "-o", tmp_path / "v.html", "--readings", "-")
    assert ended.stdout.startswith("# First look; packsim ")
    assert "key,place,what,in_file,unit,reading_1" in ended.stdout
    again = packsim("visit", line, "-o", tmp_path / "v.html")
    assert again.returncode == 2
    assert "--replace" in again.stderr


def test_what_decides_comes_first_and_once_measured_is_no_longer_in_doubt(
    packsim: Run, root: Path, tmp_path: Path
) -> None:
    line = copied(root, tmp_path, "first_look")
    page, rows = visit(packsim, line)
    assert page.index("<b>1. Photograph the rows from above</b>") < page.index("<b>2. ")
    assert "Know rows (wash): along or across." in page
    assert rows[2][0] == "stages[0].rows"
    rows[2][rows[1].index("reading_1")] = "along"
    before = packsim_doubt(load_scenario(line)).places[0]
    assert packsim("measured", line, saved(line, rows), "--replace").returncode == 0
    after = packsim_doubt(load_scenario(line)).places[0]
    assert after.confidence.share > before.confidence.share + 0.3
    assert after.doubt < 0.1 * before.doubt
    again, _ = visit(packsim, line)
    assert "<b>1. Photograph the rows" not in again


@NEEDS_BROWSER
@pytest.mark.parametrize(
    ("name", "paper"),
    [("swing_line", "letter")]
    + [
        pytest.param(name, paper, marks=pytest.mark.all)
        for name in ("swing_line", "imperial_line", "oven_lane")
        for paper in ("A4", "letter")
        if (name, paper) != ("swing_line", "letter")
    ],
)
def test_it_prints_on_two_sides_of_either_paper(
    packsim: Run, root: Path, tmp_path: Path, name: str, paper: str
) -> None:
    page, _ = visit(packsim, copied(root, tmp_path, name))
    assert 1 <= len(sheets_of(page, paper, tmp_path)) <= 2


@pytest.mark.parametrize("units", ["metric", "inch"])
def test_numbers_on_the_sheet_have_no_powers_of_ten(
    packsim: Run, root: Path, tmp_path: Path, units: str
) -> None:
    page, rows = visit(packsim, copied(root, tmp_path, "imperial_line"), "--units", units)
    assert not re.search(r"\de[+-]\d", page)
    assert not [cell for row in rows for cell in row if re.search(r"\de[+-]\d", cell)]
