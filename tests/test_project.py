"""The project's own name, version and supported Pythons agree wherever they stand."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from packsim import version

ROOT = Path(__file__).resolve().parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def test_the_version_that_is_told_is_looked_up_under_the_projects_name(monkeypatch) -> None:
    monkeypatch.setattr(version, "version", {PROJECT["name"]: PROJECT["version"]}.__getitem__)
    assert version.program_version() == PROJECT["version"]


def test_the_change_log_begins_with_the_version() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    log = guide.split("\n## CHANGELOG\n", 1)[1]
    versions = re.findall(r"^### (\d+\.\d+\.\d+)", log, re.MULTILINE)
    assert versions[0] == PROJECT["version"]
    assert versions == sorted(versions, reverse=True)


def test_pythons_named_are_those_from_the_oldest_on() -> None:
    named = [
        int(minor)
        for line in PROJECT["classifiers"]
        for minor in re.findall(r"^Programming Language :: Python :: 3\.(\d+)$", line)
    ]
    assert PROJECT["requires-python"] == f">=3.{named[0]}"
    assert named == list(range(named[0], named[-1] + 1))
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert f"Python 3.{named[0]} to 3.{named[-1]}" in readme


def test_two_pairs_of_words_are_never_used() -> None:
    """Both stand too near trade names; they are spelt apart here for the same reason."""
    first, second = "tight" + r"[\s_-]+pack", "oven" + r"[\s_-]+mat"
    folders = ("packsim", "viewer", "tests", "scenarios", "shared")
    paths = [*ROOT.glob("*.md"), *(path for name in folders for path in (ROOT / name).rglob("*"))]
    for path in paths:
        if path.suffix in (".py", ".md", ".toml", ".html", ".json", ".svg"):
            found = re.search(rf"\b({first}|{second})", path.read_text("utf-8"), re.IGNORECASE)
            assert not found, (path, found)


def test_no_folder_is_crowded() -> None:
    """Someone new finds a file by its folder; past twenty the folder asks two questions."""
    for room in ("packsim", "viewer", "tests", "scenarios", "shared"):
        for folder in [ROOT / room, *(path for path in (ROOT / room).rglob("*") if path.is_dir())]:
            files = [path for path in folder.iterdir() if path.is_file()]
            assert len(files) <= 20 or folder.name == "__pycache__", folder
