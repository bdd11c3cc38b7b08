"""``packsim compare``: before and after, today and recommended, and what cannot be compared."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from packsim.scenario import load_scenario
from tests.compare.lines import HEAD
from viewer.session.open import read_options

Run = Callable[..., Any]

LINE = f"""{HEAD.format(name="Rough line", wires='"30 mm", "60 mm"')}
[[stages]]
name = "wash"
duty = "flood"
length = "1 m"
clear_width = "612 mm"
pack_fill = "95 %"
kicks.energy = "0.3 mJ"
[[stages]]
name = "drain"
duty = "drain"
length = "1 m"
clear_width = "590 mm"
"""


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, Path]:
    """Before, and after with another width and a wire more."""
    before, after = tmp_path / "before.toml", tmp_path / "after.toml"
    before.write_text(LINE, encoding="utf-8")
    changed = LINE.replace("612 mm", "606 mm").replace('"60 mm"]', '"60 mm", "100 mm"]')
    after.write_text(changed, encoding="utf-8")
    return before, after


def test_two_lines_say_what_differs_and_how_sure_that_is(
    packsim: Run, files: tuple[Path, Path]
) -> None:
    shown = packsim("compare", *files)
    assert shown.returncode == 0
    text = " ".join(shown.stdout.split())
    assert re.search(r"clear width wash 612\.0 mm 606\.0 mm", text)
    assert re.search(r"wire heights every stage 30\.0, 60\.0 mm 30\.0, 60\.0, 100\.0 mm", text)
    assert "fewer tips, in over 97 % of what is possible" in text
    assert not re.search(r"hold-down|mat speed", text)  # what is the same is not listed
    before, after = (str(file) for file in files)
    options = read_options([before, "--beside", after, "--size", "211 body"])
    assert f'packsim-viewer {before} --beside {after} --size "211 body"' in text
    assert (str(options.scenario), str(options.beside)) == (before, after)


def test_the_json_holds_every_difference_and_the_page_the_same(
    packsim: Run, files: tuple[Path, Path], tmp_path: Path
) -> None:
    page, data = tmp_path / "page.html", tmp_path / "data.json"
    assert packsim("compare", *files, "--html", page, "--json", data).returncode == 0
    told = json.loads(data.read_text(encoding="utf-8"))
    assert told["names"] == ["before", "after"]
    (size,) = told["sizes"]
    (tips,) = size["changes"]
    assert tips["settled"] is True
    assert tips["interval"][0] < tips["by"] <= tips["interval"][1] < 0.0
    low, high = tips["ratio_interval"]
    assert 0.0 <= low <= tips["ratio"] <= high < 1.0
    machine = {one["field"]: one["values"] for one in told["machine"]}
    assert machine["guides.clear_width_mm"] == [612.0, 606.0]
    text = page.read_text(encoding="utf-8")
    assert "<h2>What differs in the machine</h2>" in text
    assert "612.0 mm" in text


def test_one_line_alone_stands_beside_its_recommended_setting(
    packsim: Run, root: Path, files: tuple[Path, Path], tmp_path: Path
) -> None:
    saved, data = tmp_path / "set.toml", tmp_path / "data.json"
    assert packsim("compare", files[0], "--save", saved, "--json", data).returncode == 0
    told = json.loads(data.read_text(encoding="utf-8"))
    change = tmp_path / "change.json"
    assert packsim("change", files[0], "--to", "211 body", "--json", change).returncode == 0
    widths = [s["after"]["clear_width_mm"] for s in json.loads(change.read_text())["stages"]]
    after = [stage["answers"][1]["clear_width_mm"] for stage in told["sizes"][0]["stages"]]
    assert after == widths
    line = load_scenario(saved)
    assert [stage.guides.narrowest_mm for stage in line.stages] == widths
    again = packsim("compare", files[0], saved)
    assert again.returncode == 0
    assert "--beside" in again.stdout


@pytest.mark.all
def test_a_target_shows_what_reaches_it_and_lays_the_cheapest_beside_the_line(
    packsim: Run, files: tuple[Path, Path], tmp_path: Path
) -> None:
    saved, data, page = (tmp_path / name for name in ("set.toml", "data.json", "page.html"))
    given = (files[0], "--at-most", "500 per million", "--save", saved)
    shown = packsim("compare", *given, "--json", data, "--html", page)
    assert shown.returncode == 0
    text = " ".join(shown.stdout.split())
    assert "211 body: at most 500 tips per million" in text
    assert (
        "Cheapest that keeps to 500 per million in 90 % or more of what is possible: turn: " in text
    )
    told = json.loads(data.read_text(encoding="utf-8"))
    best = next(way for way in told["target"]["tried"] if way["effort"] == "turn")
    assert best["reaches"]
    assert best["share"] >= 0.9
    assert told["names"] == ["as set", "cheapest"]
    after = [stage["answers"][1]["clear_width_mm"] for stage in told["sizes"][0]["stages"]]
    assert after == [stage.guides.narrowest_mm for stage in load_scenario(saved).stages]
    assert "at most 500 tips per million" in page.read_text(encoding="utf-8")
    done = " ".join(packsim("compare", saved, "--at-most", "500 per million").stdout.split())
    assert "As set, the line keeps to 500 per million in 90 % or more of what is possible" in done


def test_a_line_that_holds_no_can_is_not_said_to_tip_fewer(
    packsim: Run, files: tuple[Path, Path]
) -> None:
    wide = (
        'name = "wide"\ndiameter = "95 mm"\nheight = "124 mm"\nmass = "10 g"\ncg_height = "70 mm"'
    )
    for file, width in zip(files, ("90 mm", "612 mm"), strict=True):
        text = LINE.replace('"us_12oz_std"', f'"us_12oz_std"\n[[sizes]]\n{wide}')
        text = text.replace("612 mm", width).replace("590 mm", width)
        file.write_text(text.replace("[guides]", "[guides]\n", 1), encoding="utf-8")
    shown = packsim("compare", *files, "--size", "wide")
    assert shown.returncode == 0
    text = " ".join(shown.stdout.split())
    assert "before: one can needs 95 mm, the guides stand " in text
    assert not re.search("fewer|open which|nan", text)


def test_what_only_one_line_has_is_named(
    packsim: Run, files: tuple[Path, Path], tmp_path: Path
) -> None:
    other = tmp_path / "other.toml"
    other.write_text(LINE.replace('name = "drain"', 'name = "oven in"'), encoding="utf-8")
    shown = packsim("compare", files[0], other)
    assert shown.returncode == 0
    assert (
        "Not compared: stage drain, only in before; its tips count in the whole line"
        in shown.stdout
    )
    assert "Not compared: stage oven in, only in other" in shown.stdout


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (("{before}", "{before}"), "OTHERS...: got '{before}'; needs each file once"),
        (("{before}", "{after}", "--size", "tin"), "--size: got 'tin'; needs one of 211 body"),
        (("{before}", "{after}", "--save", "x.toml"), "--save: got 'x.toml'; needs one scenario"),
        (("{before}", "--size", "a", "--size", "b"), "--size: got 2 sizes; needs one: each"),
        (("{before}", "no.toml"), "no.toml: "),
        (("{before}", "--at-most", "50"), "--at-most: got '50'; needs a share of the cans above 0"),
        (("{before}", "--at-most", "0 per million"), "--at-most: got '0 per million'; needs"),
        (("{before}", "--at-most", "50 per hour"), "--at-most: got '50 per hour'; needs a share"),
        (
            ("{before}", "--at-most", "9 per million", "--sure", "2"),
            "--sure: got 2.0; needs",
        ),
        (("{before}", "--sure", "0.9"), "--sure: got 0.9; needs --at-most beside it"),
        (
            ("{before}", "{after}", "--at-most", "9 per million"),
            "--at-most: got '9 per million'; needs one scenario file",
        ),
    ],
)
def test_what_cannot_be_compared_is_one_line(
    packsim: Run, files: tuple[Path, Path], words: tuple[str, ...], line: str
) -> None:
    names = {"before": files[0], "after": files[1]}
    result = packsim("compare", *(word.format(**names) for word in words))
    assert (result.returncode, result.stdout) == (2, "")
    assert len(result.stderr.splitlines()) == 1
    assert line.format(**names) in result.stderr
