"""Every definition is reached from a command, the viewer or a public name of packsim."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import packsim

ROOT = Path(__file__).resolve().parents[2]
FILES = [path for top in ("packsim", "viewer") for path in sorted((ROOT / top).rglob("*.py"))]
Function = ast.FunctionDef | ast.AsyncFunctionDef


def names_in(node: ast.AST) -> set[str]:
    """Every name and attribute a piece of code mentions; strings are read for forward types."""
    found: set[str] = set()
    for part in ast.walk(node):
        if isinstance(part, ast.Name):
            found.add(part.id)
        elif isinstance(part, ast.Attribute):
            found.add(part.attr)
        elif isinstance(part, ast.keyword) and part.arg:
            found.add(part.arg)
        elif isinstance(part, ast.Constant) and isinstance(part.value, str):
            found.update(re.findall(r"[A-Za-z_]\w*", part.value) if len(part.value) < 200 else [])
    return found


def without_docstring(node: ast.AST) -> list[ast.stmt]:
    """The body of a definition but for its docstring."""
    body: list[ast.stmt] = list(node.body)  # type: ignore[attr-defined]
    first = body[0]
    told = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
    return body[1:] if told else body


def mentions(node: ast.stmt) -> set[str]:
    """What a definition mentions, its docstring and its own name apart."""
    if not isinstance(node, Function | ast.ClassDef):
        return names_in(node)
    outside = [node.args, node.returns] if isinstance(node, Function) else node.bases
    parts = [*without_docstring(node), *node.decorator_list, *filter(None, outside)]
    return set().union(*map(names_in, parts))


def pieces(path: Path) -> Iterator[tuple[str, set[str]]]:
    """Name and mentions of each piece of a file; "" for what runs when it is imported."""
    for node in without_docstring(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import | ast.ImportFrom):
            continue
        targets = getattr(node, "targets", [getattr(node, "target", None)])
        if isinstance(node, Function | ast.ClassDef):
            if isinstance(node, ast.ClassDef) and not _foreign(node):
                for inner in node.body:
                    plain = isinstance(inner, Function) and not inner.name.startswith("__")
                    if plain and isinstance(inner, Function) and not _called_by_others(inner):
                        yield inner.name, mentions(inner)
                        inner.body = [ast.Pass()]
            yield ("" if _called_by_others(node) else node.name), mentions(node)
        elif isinstance(targets[0], ast.Name):
            if targets[0].id != "__all__":
                yield targets[0].id, mentions(node)
        else:
            yield "", mentions(node)


def _foreign(node: ast.ClassDef) -> bool:
    """Methods of a class built on a library's may be the library's to call."""
    return any(isinstance(base, ast.Name | ast.Attribute) for base in node.bases)


def _called_by_others(node: ast.AST) -> bool:
    """Commands, validators and the like are called by the library that decorates them."""
    own = {"property", "dataclass", "cached_property", "staticmethod", "classmethod", "cache"}
    decorators: list[ast.expr] = getattr(node, "decorator_list", [])
    return any(not names_in(d) & {*own, "lru_cache", "contextmanager"} for d in decorators)


def unreached() -> list[str]:
    """Definitions that no chain of mentions leads to."""
    found = [(path, *piece) for path in FILES for piece in pieces(path)]
    reached = {"", "main", "__getattr__", *packsim.__all__} | templates() | public_members()
    grown = True
    while grown:
        more = set().union(*(told for _, name, told in found if name in reached))
        grown = not more <= reached
        reached |= more
    return [
        f"{path.relative_to(ROOT)}: {name}"
        for path, name, _ in found
        if name not in reached and not name.startswith("__")
    ]


def public_members() -> set[str]:
    """Members of the public classes, which users and notebooks ask for."""
    things = [getattr(packsim, name) for name in packsim.__all__]
    return set().union(*(vars(thing) for thing in things if isinstance(thing, type)))


def templates() -> set[str]:
    """Words of the page templates, which ask for what they show by name."""
    texts = [p.read_text(encoding="utf-8") for p in (ROOT / "packsim").rglob("templates/*")]
    return set(re.findall(r"[A-Za-z_]\w*", " ".join(texts)))


def test_every_definition_is_reached() -> None:
    """What only tests need lives in tests/oracles; what nobody needs is not kept."""
    assert unreached() == []
