"""Things with many parts are built by name, so that no two numbers change places unseen."""

from __future__ import annotations

import ast

from tests.api.test_reached import FILES, ROOT, parsed

MOST = 5


def classes() -> set[str]:
    """Names of all classes."""
    nodes = (node for path in FILES for node in ast.walk(parsed(path)))
    return {node.name for node in nodes if isinstance(node, ast.ClassDef)}


def called(node: ast.Call) -> str:
    """Name of what a call calls, without what it hangs on."""
    return getattr(node.func, "id", getattr(node.func, "attr", ""))


def test_nothing_is_built_from_more_than_five_places() -> None:
    named = classes()
    assert len(named) > 100
    long = [
        f"{path.relative_to(ROOT)}, line {node.lineno}: {called(node)}"
        for path in FILES
        for node in ast.walk(parsed(path))
        if isinstance(node, ast.Call) and len(node.args) > MOST and called(node) in named
    ]
    assert long == []
