"""The shipped lines, each studied once for all tests of a process."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from packsim.scenario import load_scenario
from packsim.study import Study, study_line

ROOT = Path(__file__).resolve().parents[1]


@cache
def studied(name: str) -> Study:
    """Return the study of a line of ``scenarios/``, by the name of its file."""
    return study_line(load_scenario(ROOT / "scenarios" / name))
