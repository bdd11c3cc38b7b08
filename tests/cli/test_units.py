"""``units`` of a scenario: what every command shows where nobody asks for the other system."""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import packsim as package
from packsim.cli.new import examples
from packsim.errors import InputError
from packsim.scenario import load_scenario, parse_scenario, scenario_to_toml
from tests.cli.test_command_line import COMMANDS, SWING

Run = Callable[..., Any]
TOLD = sorted(
    words
    for words, command in COMMANDS.items()
    if {"scenario", "units"} <= {param.name for param in command.params}
)
"""Commands that answer about a scenario, in units."""

WANTED = {"over": "clear-width", "output": "a.svg"}
"""Values of options that must be given; others take any word."""


def in_inches(root: Path, folder: Path, name: str = "swing_line") -> Path:
    """Write a shipped line of millimetres, told in inches."""
    text = (root / "scenarios" / f"{name}.toml").read_text(encoding="utf-8")
    assert "units =" not in text
    file = folder / f"{name}.toml"
    file.write_text(f'units = "inch"\n{text}', encoding="utf-8")
    return file


def units_of(words: str, scenario: object, *more: str) -> str:
    """Return the units a command would show: its line is read, but it is not run."""
    command = COMMANDS[words]
    given = [str(scenario)]
    for param in command.params:
        if param.required and param.name != "scenario":
            value = WANTED.get(str(param.name), "1")
            given += [value] if param.param_type_name == "argument" else [param.opts[0], value]
    return str(command.make_context(words, [*given, *more]).params["units"])


def test_there_are_commands_to_ask() -> None:
    assert {"study", "doubt", "change", "visit", "measured", "proposal"} <= set(TOLD)


@pytest.mark.parametrize("words", TOLD)
def test_every_command_is_told_in_the_units_of_its_scenario(
    root: Path, tmp_path: Path, words: str
) -> None:
    inches = in_inches(root, tmp_path)
    assert units_of(words, inches) == "inch"
    assert units_of(words, root / SWING) == "metric"
    for asked in ("metric", "inch"):  # who asks gets it, before and behind
        assert units_of(words, inches, "--units", asked) == asked
        assert units_of(words, root / SWING, "--units", asked) == asked


@pytest.mark.parametrize(
    "words",
    [
        ("study", "--stage", "wash"),
        ("why", "--stage", "wash", "--size", "211 body"),
        ("change", "--to", "sleek body"),
        (
            "sweep",
            "--over",
            "clear-width",
            "--stage",
            "wash",
            "--steps",
            "2",
            "--lowest",
            "1390 mm",
            "--highest",
            "1391 mm",
        ),
        pytest.param(("nozzles", "check"), marks=pytest.mark.all),
        pytest.param(
            ("draw", "--stage", "wash", "--size", "211 body", "-o"), marks=pytest.mark.all
        ),
    ],
    ids=lambda words: " ".join(words[:2]),
)
def test_what_is_shown_is_what_units_inch_shows(
    packsim: Run, root: Path, tmp_path: Path, words: tuple[str, ...]
) -> None:
    inches = in_inches(root, tmp_path)
    length = 2 if words[0] == "nozzles" else 1
    name, options = words[:length], list(words[length:])
    drawn = [f"{tmp_path / 'a.svg'}"] if words[0] == "draw" else []

    def said(file: Path, *more: str) -> str:
        again = ["--replace"] if drawn else []
        result = packsim(*name, file, *options, *drawn, *again, *more)
        assert result.returncode == 0, result.stderr
        text = Path(drawn[0]).read_text(encoding="utf-8") if drawn else result.stdout
        return str(text).replace(str(file), "FILE")

    assert said(inches) == said(inches, "--units", "inch")
    assert said(inches, "--units", "metric") != said(inches)


def test_a_bare_number_is_in_the_units_of_the_scenario(
    packsim: Run, root: Path, tmp_path: Path
) -> None:
    asked = ("--over", "clear-width", "--steps", "2", "--lowest", "54 1/2", "--highest", "55")
    own = packsim("sweep", in_inches(root, tmp_path), *asked)
    named = packsim("sweep", root / SWING, *asked, "--units", "inch")
    assert own.returncode == named.returncode == 0, own.stderr
    assert own.stdout == named.stdout


def test_a_new_file_says_in_which_units_it_was_answered(
    packsim: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    for asked in ("metric", "inch"):
        file = tmp_path / f"{asked}.toml"
        assert packsim("new", file, "--yes", "--units", asked).returncode == 0
        text = file.read_text(encoding="utf-8")
        assert ('units = "inch"' in text) == (asked == "inch")
        assert load_scenario(file).units == asked
        assert units_of("study", file) == asked
    typed = "".join(f"{line}\n" for line in ("Line 3", "inches", *[""] * 12))
    monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
    assert packsim("new", tmp_path / "typed.toml").returncode == 0
    assert load_scenario(tmp_path / "typed.toml").units == "inch"


@pytest.mark.parametrize("example", sorted(examples()))
def test_an_example_is_shown_in_its_own_units(packsim: Run, tmp_path: Path, example: str) -> None:
    file, other = tmp_path / "a.toml", tmp_path / "b.toml"
    shown = packsim("new", file, "--from", example).stdout
    own = load_scenario(file).units
    assert own == ("inch" if example.startswith("imperial") else "metric")
    asked = packsim("new", other, "--from", example, "--units", own).stdout
    assert shown.replace(str(file), "FILE") == asked.replace(str(other), "FILE")


def test_a_notebook_shows_a_study_in_the_units_of_its_scenario(root: Path, tmp_path: Path) -> None:
    pages = [
        package.study_line(load_scenario(file), stages=["wash"])._repr_html_()
        for file in (in_inches(root, tmp_path), root / SWING)
    ]
    inches, metric = (re.findall(r"\d (mm|in)\b", page) for page in pages)
    assert set(inches) == {"in"}
    assert set(metric) == {"mm"}


def test_units_come_back_from_a_file_that_is_saved(
    packsim: Run, root: Path, tmp_path: Path
) -> None:
    line = load_scenario(in_inches(root, tmp_path))
    assert line.units == "inch"
    text = scenario_to_toml(line)
    assert text.count('units = "inch"') == 1
    assert parse_scenario(text) == line
    assert load_scenario(root / SWING).units == "metric"
    assert parse_scenario(scenario_to_toml(load_scenario(root / SWING))).units == "metric"
    saved = tmp_path / "saved.toml"
    for asked in ([], ["--units", "metric"]):  # of one answer; the file stays as it says
        result = packsim(
            "change", tmp_path / "swing_line.toml", "--to", "sleek body", "--save", saved,
            "--replace", *asked,
        )  # fmt: skip
        assert result.returncode == 0, result.stderr
        assert load_scenario(saved).units == "inch"
        assert units_of("study", saved) == "inch"


@pytest.mark.parametrize("bad", ['"furlong"', '"Inch"', "25.4", "true", '""'])
def test_units_nobody_knows_are_refused(packsim: Run, tmp_path: Path, root: Path, bad: str) -> None:
    file = in_inches(root, tmp_path)
    text = file.read_text(encoding="utf-8").replace('units = "inch"', f"units = {bad}", 1)
    file.write_text(text, encoding="utf-8")
    for asked in ([], ["--units", "metric"]):
        result = packsim("study", file, *asked)
        assert (result.returncode, result.stdout) == (2, "")
        (said,) = result.stderr.splitlines()
        for part in (file.name, "units", bad.strip('"'), "metric", "inch"):
            assert part in said
    with pytest.raises(InputError, match=r"units.*metric"):
        parse_scenario(text)
