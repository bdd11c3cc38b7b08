"""Things with many parts are built by name, so that no two numbers change places unseen."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FILES = [path for top in ("packsim", "viewer") for path in sorted((ROOT / top).rglob("*.py"))]
TREES = {path: ast.parse(path.read_text(encoding="utf-8")) for path in FILES}
CLASSES = {n.name for t in TREES.values() for n in ast.walk(t) if isinstance(n, ast.ClassDef)}
MOST = 5


def called(node: ast.Call) -> str:
    """Name of what a call calls, without what it hangs on."""
    return getattr(node.func, "id", getattr(node.func, "attr", ""))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_nothing_is_built_from_more_than_five_places(path: Path) -> None:
    calls = (node for node in ast.walk(TREES[path]) if isinstance(node, ast.Call))
    built = [call for call in calls if called(call) in CLASSES]
    long = [f"line {call.lineno}: {called(call)}" for call in built if len(call.args) > MOST]
    assert long == []
