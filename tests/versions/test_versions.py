"""What ``python -m tests.versions`` asks and installs; comparing versions takes minutes."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
import typer
from packaging.requirements import Requirement

from packsim.cli.commands import app
from tests.versions.__main__ import main
from tests.versions.commands import COMMANDS, NOT_COMPARED, ROOT, first_difference
from tests.versions.environment import lowest


def _with_json() -> set[str]:
    """Names of all commands that write JSON."""

    def below(command, name: str) -> set[str]:  # type: ignore[no-untyped-def]
        if hasattr(command, "commands"):
            found = (below(one, f"{name} {key}") for key, one in command.commands.items())
            return set().union(*found)
        return {name.strip()} if any(one.name == "json" for one in command.params) else set()

    return below(typer.main.get_command(app), "")


def test_every_command_that_writes_json_is_asked() -> None:
    commands = _with_json()
    assert len(commands) > 10
    assert commands >= set(NOT_COMPARED)
    asked = (*COMMANDS, *NOT_COMPARED)
    assert [
        name for name in commands if not any(f"{c} ".startswith(f"{name} ") for c in asked)
    ] == []


def test_the_lowest_versions_are_installed_that_pyproject_allows() -> None:
    data = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    asked = [Requirement(one) for one in data["project"]["dependencies"]]
    pinned = [Requirement(one) for one in lowest()]
    assert [(one.name, one.marker) for one in pinned] == [(one.name, one.marker) for one in asked]
    for pin, requirement in zip(pinned, asked, strict=True):
        (version,) = (one.version for one in pin.specifier)
        assert f">={version}" in map(str, requirement.specifier)
        assert version in requirement.specifier


def test_the_first_line_that_differs_is_shown() -> None:
    assert first_difference(b"a\n 1.5\n", b"a\n 1.6\n") == "line 2: 1.5 | 1.6"
    assert first_difference(b"a\n", b"a\nb\n") == "line 2: end | b"
    assert first_difference(b"a\n", b"a\r\n") == "line ends"


def test_a_difference_and_an_interpreter_that_cannot_be_compared_are_found(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    other = tmp_path / "python"
    told = {"here": {"study, json": b"0.1\n"}, "there": {"study, json": b"0.2\n"}}
    monkeypatch.setattr(
        "tests.versions.__main__._all_files",
        lambda python, _: (name := "there" if python == other else "here", told[name]),
    )
    assert main(["--made", "--python", str(other)]) == 1
    assert "line 1: 0.1 | 0.2" in capsys.readouterr().out
    told["there"] = told["here"]
    assert main(["--made", "--python", str(other)]) == 0
    monkeypatch.setattr("tests.versions.__main__.made", lambda *_, **__: (other, "no such file"))
    assert main(["--python", str(other)]) == 1
    assert "cannot be compared: no such file" in capsys.readouterr().out
