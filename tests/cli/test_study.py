"""The study on the command line: what comes out where, and how it ends."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

ENOUGH_S = 300
FIRST = "scenarios/first_look.toml"
SWING = "scenarios/swing_line.toml"


def run(
    *arguments: str, root: Path, env: dict[str, str] | None = None, **given: Any
) -> subprocess.CompletedProcess[str]:
    given = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | given
    return subprocess.run(
        [sys.executable, "-m", "packsim", *arguments],
        text=True,
        encoding="utf-8",
        check=False,
        timeout=ENOUGH_S,
        cwd=root,
        env=os.environ | {"PYTHONIOENCODING": "utf-8"} | (env or {}),
        **given,
    )


def on_a_terminal(columns: int, *arguments: str, root: Path) -> str:
    """Run on a terminal of so many columns, as a person sees it."""
    pty = pytest.importorskip("pty", reason="terminals of this kind are POSIX only")
    leader, follower = pty.openpty()
    env = os.environ | {"COLUMNS": str(columns), "LINES": "40", "TERM": "dumb"}
    with subprocess.Popen(
        [sys.executable, "-m", "packsim", *arguments],
        stdout=follower,
        stderr=subprocess.PIPE,
        cwd=root,
        env=env | {"PYTHONIOENCODING": "utf-8"},
    ) as process:
        os.close(follower)
        out = b""
        while True:
            try:
                part = os.read(leader, 65536)
            except OSError:  # the other side has closed
                break
            if not part:
                break
            out += part
        assert process.stderr is not None
        errors = process.stderr.read().decode()
        process.wait(ENOUGH_S)
    os.close(leader)
    assert process.returncode == 0, errors
    return out.decode().replace("\r\n", "\n")


def test_the_report_holds_its_parts(packsim: Run, root: Path) -> None:
    result = packsim("study", str(root / FIRST), "--all")
    assert (result.returncode, result.stderr) == (0, "")
    for part in (
        "Findings",
        "as taken no can tips, but that is not sure",
        "211 body: 66.1 mm across",
        "Assumed (nobody measured these here",
        "Caution. Isolate and lock out",
        "allowed slack = safe slack / 2 (safety factor)",
    ):
        assert part in result.stdout
    assert max(len(line) for line in result.stdout.splitlines()) <= 132


def test_json_alone_on_standard_output(root: Path) -> None:
    result = run("study", FIRST, "--json", "-", root=root)
    assert (result.returncode, result.stderr) == (0, "")
    data = json.loads(result.stdout)
    assert (data["schema"], data["scenario"], data["seed"]) == (2, "First look", 0)
    assert result.stdout.endswith("}\n")


def test_json_to_a_file_beside_the_report(packsim: Run, root: Path, tmp_path: Path) -> None:
    out = tmp_path / "answer.json"
    result = packsim("study", str(root / FIRST), "--json", str(out))
    assert result.returncode == 0
    assert "RUNS AS SET" in result.stdout
    piped = packsim("study", str(root / FIRST), "--json", "-").stdout
    assert out.read_text(encoding="utf-8") == piped


def test_json_is_utf8_whatever_the_terminal_speaks(packsim: Run, root: Path) -> None:
    result = packsim("study", root / FIRST, "--json", "-", encoding="ascii")
    assert (result.returncode, result.stderr) == (0, "")
    assert result.stdout == packsim("study", root / FIRST, "--json", "-").stdout
    assert not result.stdout.isascii()


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_a_terminal_without_our_signs_gets_the_report_all_the_same(
    packsim: Run, root: Path, encoding: str
) -> None:
    result = packsim("study", root / SWING, "--size", "sleek body", "--all", encoding=encoding)
    assert result.returncode == 0, result.stderr
    assert "open the guides by" in result.stdout


def test_inches_everywhere_in_the_report(packsim: Run, root: Path) -> None:
    result = packsim("study", str(root / SWING), "--size", "211 body", "--units", "inch", "--all")
    assert result.returncode == 0
    # what is assumed is shown as it was written
    said = result.stdout[: result.stdout.index("Assumed (nobody")]
    said = said[said.index("Findings") :]
    assert not re.search(r"\d mm\b", said)
    assert re.search(r"slack can reach \d\.\d{3}( to \d\.\d{3})? in", said)
    assert "(lengths in inches; + a little over the mark" in said


def test_a_narrow_terminal_loses_nothing(root: Path) -> None:
    text = on_a_terminal(80, "study", FIRST, "--all", root=root)
    assert "…" not in text
    assert max(len(line) for line in text.splitlines()) <= 80
    for part in ("588.0", "584.0", "596.8", "0.30", "0.25", "held", "30.0 s", "908"):
        assert part in text


def test_a_reader_that_goes_away_is_no_error_to_talk_about(root: Path) -> None:
    for arguments in (("sizes",), ("study", FIRST, "--json", "-")):
        read, write = os.pipe()
        os.close(read)
        result = run(*arguments, root=root, stdout=write)
        os.close(write)
        assert "Traceback" not in result.stderr
        assert "Exception" not in result.stderr
        assert result.returncode in (0, 1)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_gets_one_line(root: Path) -> None:
    for arguments in (("sizes",), ("study", FIRST, "--json", "-")):
        with Path("/dev/full").open("w", encoding="utf-8") as full:
            result = run(*arguments, root=root, stdout=full)
        assert result.returncode == 1
        assert result.stderr == "packsim: cannot write: No space left on device\n"


AT_WORK = """
import time
import packsim.study.study as study
from packsim.cli.app import main
assert callable(study.answer_stage)
study.answer_stage = lambda *_: (print("at work", flush=True), time.sleep(600))
main()
"""
IMPORTING = """
import sys, time
class Slow:
    def find_spec(self, name, path=None, target=None):
        if name == "packsim.cli.options":
            print("importing", flush=True)
            time.sleep(600)
sys.meta_path.insert(0, Slow())
from packsim.cli.app import main
main()
"""


@pytest.mark.skipif(os.name == "nt", reason="signals of this kind are POSIX only")
@pytest.mark.parametrize(("sign", "code"), [("at work", AT_WORK), ("importing", IMPORTING)])
def test_ctrl_c_ends_with_130_and_no_traceback(
    interrupted: Run, root: Path, sign: str, code: str
) -> None:
    ended = interrupted(sign, "-c", code, "study", FIRST, cwd=root)
    assert (ended.returncode, ended.stdout, ended.stderr) == (130, "", "")


def test_names_with_square_brackets_are_shown_as_they_are(
    packsim: Run, root: Path, tmp_path: Path
) -> None:
    text = (root / FIRST).read_text(encoding="utf-8")
    text = text.replace('name = "wash"', 'name = "wash [old] [/b]"')
    text = text.replace('name = "211 body"', 'name = "211 [red]body"')
    file = tmp_path / "names.toml"
    file.write_text(text, encoding="utf-8")
    result = packsim("study", str(file), "--all")
    assert result.returncode == 0, result.stderr
    assert result.stdout.count("wash [old] [/b]") >= 3
    assert "211 [red]body: 66.1 mm across" in result.stdout
    assert "sizes[211 [red]body].height" in result.stdout


def test_the_module_and_the_script_are_the_same(packsim: Run, root: Path) -> None:
    script = Path(sys.executable).with_name("packsim")
    if not script.exists():
        pytest.fail("the packsim script is not installed beside this Python")
    result = subprocess.run(
        [str(script), "study", FIRST, "--json", "-"],
        capture_output=True,
        text=True,
        check=False,
        timeout=ENOUGH_S,
        cwd=root,
    )
    assert result.stdout == packsim("study", str(root / FIRST), "--json", "-").stdout


def test_help_names_every_option(packsim: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "100")
    result = packsim("study", "--help")
    assert result.returncode == 0
    for option in ("--units", "--json", "--replace", "SCENARIO"):
        assert option in result.stdout


def test_a_line_with_a_history_is_held_against_it_first(
    packsim: Run, root: Path, tmp_path: Path
) -> None:
    path = tmp_path / "line.toml"
    row = '\n[[history]]\nname = "2024"\nsize = "211 body"\ncans = 5000\ntipped = 0\n'
    path.write_text((root / FIRST).read_text(encoding="utf-8") + row, encoding="utf-8")
    ended = packsim("study", path, "--json", tmp_path / "study.json")
    assert ended.returncode == 0
    first = ended.stdout.index("The line's own history first")
    assert first < ended.stdout.index("211 body", first + 200)
    assert re.search(r"2024, 211 body: counted 0 .*expected .*: explained", ended.stdout)
    told = json.loads((tmp_path / "study.json").read_text(encoding="utf-8"))["history"]
    assert told["counts"][0]["explained"] is True
