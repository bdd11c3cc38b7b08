"""``packsim doubt`` on the shipped lines: its screen, tables, JSON and chart."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from packsim.answers import answer_line
from packsim.scenario import load_scenario

Run = Callable[..., Any]


@pytest.fixture
def first(root: Path) -> str:
    return str(root / "scenarios/first_look.toml")


@pytest.mark.parametrize("line", ["first_look", pytest.param("swing_line", marks=pytest.mark.all)])
def test_the_first_screen_is_one_screen(packsim: Run, root: Path, line: str, monkeypatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    file = root / f"scenarios/{line}.toml"
    done = packsim("doubt", str(file))
    lines = done.stdout.splitlines()
    assert done.returncode == 0, done.stderr
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80
    case = load_scenario(file)
    told = "\n".join(lines)
    assert case.name in told
    assert "What to measure first" in told
    assert "packsim visit" in told
    assert sum(line.startswith(("1 ", "2 ", "3 ")) for line in lines) == 3
    for name in (can.name for can in case.sizes):
        for answer in answer_line(case, name):
            mine = [line for line in lines if line.startswith(f"{answer.stage}, {name} ")]
            assert all(answer.tipping.verdict in line for line in mine)


def test_a_stage_and_size_have_a_table(packsim: Run, root: Path) -> None:
    file = str(root / "scenarios/swing_line.toml")
    done = packsim("doubt", file, "--stage", "wash", "--size", "211 body", "--units", "inch")
    assert done.returncode == 0, done.stderr
    for word in ("splash factor, all headers", "lengths in inches", "know to", "write down:"):
        assert word in done.stdout
    assert "No measurement here settles: splash factor" in done.stdout
    assert "pressure, headers 2, 4, 6, 8" in done.stdout


def test_all_names_every_input_and_where_its_range_comes_from(packsim: Run, first: str) -> None:
    told = packsim("doubt", first, "--all").stdout
    flat = " ".join(told.split())
    for one in load_scenario(first).ranges:
        assert one.key in told
        assert " ".join(one.source.split())[:12] in flat


def test_json_tells_by_name(packsim: Run, first: str) -> None:
    told = json.loads(packsim("doubt", first, "--json", "-").stdout)
    (place,) = told["places"]
    sure = place["confidence"]
    assert sure["share"] == sure["share_by_verdict"][sure["verdict"]]
    assert math.isclose(sum(sure["share_by_verdict"].values()), 1.0)
    assert sure["interval"][0] < sure["share"] < sure["interval"][1]
    assert set(place["swings"][0]["at_low"]) == {
        "tip_index",
        "safe_slack_mm",
        "loosest_slack_mm",
        "window_width_mm",
    }
    index = place["shares"][0]["indices"]["verdict"]
    assert index["first_interval"][0] <= index["first"] <= index["first_interval"][1]
    assert told["measures"][0]["keys"] == ["stages[0].rows", "stages[0].pack_fill"]
    assert told["command"] == "doubt"
    again = json.loads(packsim("doubt", first, "--json", "-").stdout)
    assert again["places"] == told["places"]


@pytest.mark.parametrize(
    "what",
    [
        "tip_index",
        "window_width_mm",
        pytest.param("safe_slack_mm", marks=pytest.mark.all),
        pytest.param("loosest_slack_mm", marks=pytest.mark.all),
    ],
)
def test_a_chart_of_each_quantity(packsim: Run, first: str, tmp_path: Path, what: str) -> None:
    place = tmp_path / "swings.svg"
    done = packsim("doubt", first, "--chart", str(place), "--show", what)
    assert done.returncode == 0, done.stderr
    svg = ET.fromstring(place.read_text("utf-8"))  # noqa: S314 - our own output
    texts = " ".join("".join(each.itertext()) for each in svg.iter() if each.tag.endswith("text"))
    assert "What swings the" in texts
    assert "hatched: low end" in texts
    again = tmp_path / "again.svg"
    packsim("doubt", first, "--chart", str(again), "--show", what)
    assert again.read_bytes() == place.read_bytes()


def test_a_chart_as_picture(packsim: Run, first: str, tmp_path: Path) -> None:
    place = tmp_path / "swings.png"
    assert packsim("doubt", first, "--chart", str(place)).returncode == 0
    assert place.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--stage", "foo"], "--stage: got 'foo'; needs one of wash"),
        (["--size", "tin"], "--size: got 'tin'; needs one of 211 body"),
        (["--show", "luck"], "--show: got 'luck'; needs one of tip_index, "),
        (["--chart", "a.pdf"], "--chart: got 'a.pdf'; needs a name ending in .svg or .png"),
    ],
)
def test_what_cannot_be_asked_is_one_line(packsim: Run, first: str, more, said: str) -> None:
    done = packsim("doubt", first, *more)
    assert done.returncode == 2
    assert done.stderr.startswith(f"packsim doubt: {said}")
    assert len(done.stderr.splitlines()) == 1


def test_a_bar_that_is_cut_says_how_far_it_goes(packsim: Run, root: Path, tmp_path: Path) -> None:
    line, place = str(root / "scenarios/imperial_line.toml"), tmp_path / "a.svg"
    asked = (line, "--stage", "wash", "--size", "211 body")
    told = json.loads(packsim("doubt", *asked, "--json", "-", "--chart", str(place)).stdout)
    far = max(one["at_high"]["tip_index"] for one in told["places"][0]["swings"])
    assert far > 5.0
    assert f"{far:.2f} →" in place.read_text(encoding="utf-8")
