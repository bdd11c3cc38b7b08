"""``packsim renew`` rewrites a file, says what changed, and never overwrites unasked."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]

OLD = """schema = 1
name = "old"
factor = 2   # held back
[mat]
width = 700
speed = 6
[[sizes]]
name = "body"
catalogue = "us_12oz_std"
[guides]
wire_heights = [30, 65]
[[stages]]
name = "wash"
duty = "flood"
length = 3000
clear_width = 588
fill = 0.99
"""


def test_it_writes_where_it_is_told_and_says_what_changed(packsim: Run, tmp_path: Path) -> None:
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    old.write_text(OLD)
    done = packsim("renew", old, "-o", new)
    assert done.returncode == 0, done.stderr
    assert "fill is now pack_fill" in done.stdout
    assert "safety_factor = 2   # held back" in new.read_text().replace("2 #", "2   #")
    assert old.read_text() == OLD
    again = packsim("renew", new, "-o", "-")
    assert again.stdout == new.read_text()


def test_the_file_itself_needs_replace(packsim: Run, tmp_path: Path) -> None:
    old = tmp_path / "old.toml"
    old.write_text(OLD)
    for arguments in ((), ("-o", old)):
        done = packsim("renew", old, *arguments)
        assert done.returncode == 2
        assert "Traceback" not in done.stderr
        assert old.read_text() == OLD
    assert packsim("renew", old, "--replace").returncode == 0
    assert "schema = 2" in old.read_text()


@pytest.mark.filterwarnings("ignore::packsim.scenario.renew.OldNames")
def test_an_old_file_is_read_with_one_line_and_all_errors_are_shown(
    packsim: Run, tmp_path: Path
) -> None:
    old = tmp_path / "old.toml"
    old.write_text(OLD)
    study = [sys.executable, "-m", "packsim", "study", str(old)]  # where a warning is a line
    done = subprocess.run(study, capture_output=True, text=True, check=True)
    notes = [line for line in done.stderr.splitlines() if "schema 1 was read" in line]
    assert len(notes) == 1
    assert "packsim renew FILE" in notes[0]
    old.write_text(OLD.replace("= 588", "= 702").replace("width = 700", "width = 600") + "x = 1\n")
    bad = packsim("study", old)
    assert bad.returncode == 2
    old.write_text(OLD.replace("fill = 0.99", "fill = 7").replace("speed = 6", "speed = 0"))
    bad = packsim("study", old)
    lines = [line for line in bad.stderr.splitlines() if "got" in line]
    assert bad.returncode == 2
    assert len(lines) == 2
    assert "line 6, column 9: mat.speed: got 0" in lines[0]
    assert "stages[0].pack_fill: got 7" in lines[1]
