"""Every recipe of DEVELOPERS.md works, in at most three files, tried in a copy of the tree."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.recipes.recipes import RECIPES

ROOT = Path(__file__).resolve().parents[2]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What a copy of the tree does once every recipe has been followed."""
    copy = tmp_path_factory.mktemp("copy")
    for name in ("packsim", "scenarios", "shared", "tests"):
        shutil.copytree(
            ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__", "pictures")
        )
    for edits in RECIPES.values():
        for edit in edits:
            edit.apply(copy)
    result = subprocess.run(
        [sys.executable, str(Path(__file__).with_name("use.py"))],
        cwd=copy,
        env=os.environ | {"PYTHONPATH": str(copy)},
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert result.returncode == 0, result.stderr[-2000:]
    found: dict[str, Any] = json.loads(result.stdout)
    return found


def test_every_recipe_of_the_guide_is_tried_and_names_its_files() -> None:
    found = re.findall(
        r"^- \*A new ([\w ]+):\*(.*?)(?=^- |^\n|\Z)", GUIDE, re.MULTILINE | re.DOTALL
    )
    written = {name: set(re.findall(r"`(packsim/[\w/]+\.\w+)`", text)) for name, text in found}
    new = "packsim/cli/lanes.py"  # a name of one's own
    tried = {name: {e.file for e in edits} - {new} for name, edits in RECIPES.items()}
    assert written == tried


@pytest.mark.parametrize("name", RECIPES)
def test_no_recipe_needs_more_than_three_files(name: str) -> None:
    assert 1 <= len({edit.file for edit in RECIPES[name]}) <= 3


@pytest.mark.all
def test_a_can_size_is_known(done: dict[str, Any]) -> None:
    assert done["size"] == 132.1


@pytest.mark.all
def test_a_key_is_read_assumed_written_documented_and_refused(done: dict[str, Any]) -> None:
    key = done["key"]
    assert key["given"] == pytest.approx(25.4)
    assert key["left out"] == 25.0
    assert key["assumed"] == ["mat.mesh_pitch"]
    assert key["read back"]
    assert key["schema"]
    assert "mat.mesh_pitch" in key["refused"]


@pytest.mark.all
def test_a_duty_is_known_everywhere(done: dict[str, Any]) -> None:
    assert done["duty"]["kicks"] == 0.01
    assert done["duty"]["heats"]
    assert '"pre-heat"' in done["duty"]["allowed"]
    assert done["duty"]["schema"]


@pytest.mark.all
def test_a_slack_term_adds_to_the_budget(done: dict[str, Any]) -> None:
    term = done["term"]
    assert (term["tightest"], term["loosest"]) == (0.0, 1.4)
    assert term["loosens"] == pytest.approx(1.4 - 0.8)  # 0.4 mm each side where it is left out
    assert term["read back"]


@pytest.mark.all
def test_a_finding_is_found_where_it_holds(done: dict[str, Any]) -> None:
    assert len(done["finding"]) == 1
    assert "99.9 mm" in done["finding"][0] or "100.0 mm" in done["finding"][0]
    assert done["not found"] == []


@pytest.mark.all
def test_a_quantity_is_in_every_file(done: dict[str, Any]) -> None:
    found = done["quantity"]
    assert found["codes"] == [0, 0]
    assert found["json"]["cans_in_stage"] == round(3.0 * found["per metre"])
    assert "cans_in_stage" in found["csv"].split(",")


@pytest.mark.all
def test_a_chart_is_on_the_page(done: dict[str, Any]) -> None:
    assert done["chart"] == {"there": True, "once each": True}


@pytest.mark.all
def test_a_command_answers_and_is_in_the_help(done: dict[str, Any]) -> None:
    assert done["command"] == 0
    assert done["json"]["lanes"] == {"wash 211 body": 10}
    assert done["json"]["schema"] == 2
    assert done["json"]["assumed"]
    assert "lanes" in done["help"]
