"""Interpreters, and what is installed for each: newest versions, or the lowest that are allowed."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

from tests.versions.commands import ROOT


def lowest() -> list[str]:
    """The lowest version of each dependency that pyproject allows, as constraints of an install."""
    data = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    found = []
    for one in data["project"]["dependencies"]:
        said = re.fullmatch(r"([\w-]+)>=([\w.]+)(,[^;]*)?(;.*)?", one.replace(" ;", ";"))
        if said is None:
            raise ValueError(f"{one}: got no lowest version; needs name>=version")
        found.append(f"{said[1]}=={said[2]}{said[4] or ''}")
    return found


def interpreters() -> list[Path]:
    """Those of newer Pythons that work here: python3.12, python3.13 and so on."""
    names = [f"python3.{minor}" for minor in range(sys.version_info.minor + 1, 20)]
    found = [Path(place) for name in names if (place := shutil.which(name))]
    return [place for place in found if _quiet([place, "-c", ""]) is None]


def made(python: Path, folder: Path, *, low: bool) -> tuple[Path, str]:
    """Make an environment of an interpreter; return its interpreter and, where it failed, why."""
    uv = shutil.which("uv")
    place = folder / "venv"
    at = place / ("Scripts" if sys.platform == "win32" else "bin") / "python"
    limits = folder / "lowest.txt"
    limits.write_text("\n".join(lowest() if low else []) + "\n", encoding="utf-8")
    if uv:
        make = [uv, "venv", "--quiet", "--python", python, place]
        install = [uv, "pip", "install", "--quiet", "--python", at]
    else:
        make = [python, "-m", "venv", place]
        install = [at, "-m", "pip", "install", "--quiet"]
    source = folder / "source"  # a build leaves its own folders
    left_out = shutil.ignore_patterns(".*", "tests", "shared", "build", "*.egg-info")
    shutil.copytree(ROOT, source, ignore=left_out)
    why = _quiet(make) or _quiet([*install, "--constraint", limits, source])
    return at, why or ""


def _quiet(words: list[str | Path]) -> str | None:
    """Run a command; None where it went well, else the last it said."""
    ended = subprocess.run(words, capture_output=True, text=True, check=False)
    said = (ended.stderr.strip() or ended.stdout.strip() or "nothing").splitlines()
    return None if ended.returncode == 0 else said[-1][:200]
