"""Every command of the README works as it stands there; its pictures and the test command exist."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from packsim.cli.commands import ended
from tests.traces import command, walk

ROOT = Path(__file__).resolve().parents[1]
TEXT = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```sh\n(.*?)```", TEXT, re.DOTALL)
LINES = [line for block in BLOCKS for line in block.strip().splitlines()]
COMMANDS = [line for line in LINES if line.startswith("packsim ")]

SHOWN = [
    (line, shown)
    for line, shown in re.findall(r"```sh\n(packsim [^\n]*)\n```\n\n((?:(?:    [^\n]*)?\n)+)", TEXT)
    if shown.strip()
]
"""Commands with the excerpt of their output that stands below them."""


def test_excerpts_are_found() -> None:
    assert len(SHOWN) >= 6


def test_setting_up_comes_first_in_two_commands() -> None:
    first, second = LINES[:2]
    assert first.startswith("python3 -m venv .venv && ")
    assert first.endswith("packsim study scenarios/swing_line.toml")
    assert second.endswith("-m tests --all")


def test_ci_calls_exactly_the_readmes_test_command() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert LINES[1] in script


def test_ci_names_no_registry_and_every_check_has_its_windows_command() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert not re.search(r"https?:|index-url|pypi", script)
    windows = re.search(r"```bat\n(.*?)```", TEXT, re.DOTALL)
    assert windows is not None
    for line in LINES[:2]:
        for part in line.replace("'", "").split(" && "):
            same = part.replace("python3 -m venv", "py -m venv").replace(".venv/bin/", "Scripts/")
            assert same.replace("Scripts", ".venv/Scripts").replace("/", "\\") in windows[1], part


def test_folders_and_files_of_the_developers_guide_are_there() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = re.findall(r"`((?:packsim|viewer|tests|scenarios|shared)/[\w./]*)`", guide)
    assert len(named) > 30
    for name in named:
        assert (ROOT / name).exists(), name
    folders = {path.parent.name for path in (ROOT / "packsim").glob("*/__init__.py")}
    assert folders <= {Path(name).name for name in named}, "a folder the table does not name"


def test_one_answer_is_followed_through_fewer_than_ten_files_it_does_go_through() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    steps = re.findall(r"^\d+\. `([\w./]+)`", guide, re.MULTILINE)
    assert 5 <= len(steps) < 10
    passed = walk(command("study", str(ROOT / steps[0])))
    assert [step for step in steps[1:] if step.removeprefix("packsim/") not in passed] == []


def test_pictures_and_files_named_are_there() -> None:
    for target in re.findall(r"\]\(([^)#]+)\)", TEXT):
        assert (ROOT / target).is_file(), target
    for name in re.findall(r"`((?:scenarios|shared)/[\w./]+\.\w+)`", TEXT):
        assert (ROOT / name).is_file(), name


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the scenarios in it, where a command may leave its files."""
    place = tmp_path_factory.mktemp("readme")
    shutil.copytree(ROOT / "scenarios", place / "scenarios")
    return place


@pytest.mark.all
@pytest.mark.usefixtures("coarse_look")
def test_every_command_answers(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(folder)
    assert len(COMMANDS) >= 9
    for line in COMMANDS:
        words = shlex.split(line)
        if words[1] == "run":  # the same command on fewer cans; counts are tested elsewhere
            words[words.index("--cans") + 1] = "20"
            words[words.index("--repeats") + 1] = "1"
        if "tips_per_million" in words:  # the same on two values and no counts
            words[words.index("--steps") + 1] = "2"
            words[words.index("--count") + 1] = "0"
        assert ended(words[1:]) == 0, (line, capsys.readouterr().err)
        for option, name in pairwise(words):
            if option in ("-o", "--csv", "--chart", "--dxf", "--profile", "--html"):
                assert (folder / name).stat().st_size > 0, (line, name)


SLOW = ("packsim nozzles design ", "packsim run ", "packsim compare ")
"""Commands of many seconds: they search headers, or carry packs down lines."""


@pytest.mark.parametrize(
    ("line", "shown"),
    [
        pytest.param(
            *each,
            marks=pytest.mark.all if each[0].startswith(SLOW) or " --chance" in each[0] else (),
        )
        for each in SHOWN
    ],
)
def test_what_is_shown_under_a_command_is_what_it_prints(
    line: str,
    shown: str,
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(folder)
    wanted = [" ".join(one.split()) for one in shown.splitlines() if one.strip()]
    wide = 110 if line.startswith("packsim run ") else 100
    columns = 80 if max(map(len, shown.splitlines())) <= 84 else wide
    monkeypatch.setenv("COLUMNS", str(columns))
    files = any(f" {option} " in line for option in ("--csv", "--chart", "--html", "--save"))
    assert ended([*shlex.split(line)[1:], *["--replace"] * files]) == 0
    printed = [" ".join(one.split()) for one in capsys.readouterr().out.splitlines()]
    assert [one for one in wanted if one not in printed] == []


@pytest.mark.all
def test_every_command_of_the_viewer_opens(folder: Path) -> None:
    shown = [line for line in LINES if line.startswith("packsim-viewer ")]
    assert shown
    for line in shown:
        words, page = shlex.split(line)[1:], "--handout" in line
        for option in ("--seconds", "--fps", "--after", "--capture"):  # a short film will do
            at = words.index(option) if option in words else len(words)
            del words[at : at + 2]
        film = ["--capture", "view.png", "--seconds", "0.2", "--after", "1"]
        words += ["--replace"] if page else [*film[: 4 if "--lesson" in words else 6], "--replace"]
        result = subprocess.run(
            [sys.executable, "-m", "viewer", *words],
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
            timeout=300,
        )
        assert result.returncode == 0, (line, result.stderr)
        assert (folder / ("handout.html" if page else "view.png")).stat().st_size > 0


def test_the_python_example_runs(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(folder)
    code = re.search(r"```python\n(.*?)```", TEXT, re.DOTALL)
    assert code is not None
    exec(code[1], {})  # noqa: S102  (running it is the test)
    assert capsys.readouterr().out.startswith("24 slack 8.5")
