"""Things with many parts are built by name, so that no two numbers change places unseen."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

from tests.api.test_reached import FILES, ROOT, parsed

MOST = 5


@cache
def classes() -> set[str]:
    """Names of all classes; looked for when first asked, not when the tests are collected."""
    nodes = (node for path in FILES for node in ast.walk(parsed(path)))
    return {node.name for node in nodes if isinstance(node, ast.ClassDef)}


def called(node: ast.Call) -> str:
    """Name of what a call calls, without what it hangs on."""
    return getattr(node.func, "id", getattr(node.func, "attr", ""))


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_nothing_is_built_from_more_than_five_places(path: Path) -> None:
    calls = (node for node in ast.walk(parsed(path)) if isinstance(node, ast.Call))
    built = [call for call in calls if called(call) in classes()]
    long = [f"line {call.lineno}: {called(call)}" for call in built if len(call.args) > MOST]
    assert long == []
