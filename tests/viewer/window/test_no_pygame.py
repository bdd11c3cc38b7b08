"""Everything outside viewer/window works without pygame being imported."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

PROBE = """
import importlib, sys
for name in {names!r}:
    importlib.import_module(name)
from pathlib import Path
from packsim.scenario.load import load_scenario
from viewer.session.actions import act, tick
from viewer.line import LoadedLine
from viewer.session.source import Live
from viewer.session.session import Session
from viewer.views.whole_window import whole_window
scenario = load_scenario({line!r})
session = Session(Live(LoadedLine(scenario, scenario.set_for), 1), (1280, 720))
act(session, "close")
tick(session, 0.0)
tick(session, 0.1)
print(len(whole_window(session).items) > 100, "pygame" in sys.modules, "PIL" in sys.modules)
"""


def test_scene_camera_lessons_and_session_need_no_pygame(root: Path):
    paths = [path.relative_to(root) for path in (root / "viewer").rglob("*.py")]
    names = [".".join(path.with_suffix("").parts) for path in paths if "window" not in path.parts]
    assert len(names) > 20
    probe = PROBE.format(
        names=names,
        line=str(root / "scenarios/lessons/lines/teaching_line.toml"),
    )
    said = subprocess.run(
        [sys.executable, "-c", probe], capture_output=True, text=True, check=True, env=os.environ
    )
    assert said.stdout.split() == ["True", "False", "False"]


def test_packsim_does_not_import_the_viewer(root: Path):
    code = (
        "import sys, packsim, packsim.cli.app;"
        "print(any(m.startswith('viewer') for m in sys.modules))"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "False"
