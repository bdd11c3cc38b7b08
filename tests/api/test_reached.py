"""Every definition is reached from a command, the viewer or a public name of packsim.

So is what the front of a room names, and every argument that may be left out is given by somebody.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
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


TESTS = sorted((ROOT / "tests").rglob("*.py"))


@cache
def parsed(path: Path) -> ast.Module:
    """A file, parsed when first asked, not when the tests are collected."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def nodes(path: Path) -> list[ast.AST]:
    """All that a file is made of, walked through once."""
    return list(ast.walk(parsed(path)))


def test_every_name_at_the_front_of_a_room_is_asked_for() -> None:
    """A room's ``__init__`` names what others import from the room, and nothing else."""
    asked = set(packsim._HOMES.values())
    for path in (*FILES, *TESTS):
        for node in nodes(path):
            if isinstance(node, ast.ImportFrom):
                asked |= {(str(node.module), each.name) for each in node.names}
    fronts = sorted((ROOT / "packsim").glob("*/__init__.py"))
    rooms = {f"packsim.{path.parent.name}": parsed(path) for path in fronts}
    named = {
        (room, each.name)
        for room, tree in rooms.items()
        for node in tree.body
        if isinstance(node, ast.ImportFrom)
        for each in node.names
    }
    assert named
    assert named - asked == set()


def _calls() -> dict[str, list[ast.Call]]:
    """Every call in program and tests, by the last name of what it calls."""
    found: dict[str, list[ast.Call]] = {}
    for path in (*FILES, *TESTS):
        for node in nodes(path):
            if isinstance(node, ast.Call):
                name = getattr(node.func, "id", getattr(node.func, "attr", ""))
                found.setdefault(name, []).append(node)
    return found


def _handed_on() -> set[str]:
    """Names used otherwise than by calling them: who calls them then, and how, is not known."""
    found: set[str] = set(packsim.__all__)
    for path in FILES:
        called = {id(n.func) for n in nodes(path) if isinstance(n, ast.Call)}
        for node in nodes(path):
            if isinstance(node, ast.Name | ast.Attribute) and id(node) not in called:
                found.add(getattr(node, "id", getattr(node, "attr", "")))
    return found


def _optional(function: Function, *, method: bool) -> dict[str, int | None]:
    """Arguments with a default, and the place of those that need no name."""
    given = function.args
    places = [*given.posonlyargs, *given.args][method:]
    first = len(places) - len(given.defaults)
    found: dict[str, int | None] = {places[i].arg: i for i in range(first, len(places))}
    named = zip(given.kwonlyargs, given.kw_defaults, strict=True)
    return found | {each.arg: None for each, default in named if default is not None}


def _gives(call: ast.Call, name: str, place: int | None) -> bool:
    by_name = any(word.arg in (name, None) for word in call.keywords)
    by_star = any(isinstance(each, ast.Starred) for each in call.args)
    return by_name or by_star or (place is not None and len(call.args) > place)


def test_every_argument_that_may_be_left_out_is_given_by_somebody() -> None:
    """What nobody ever gives is no choice; a test that turns it counts as somebody."""
    calls, handed_on = _calls(), _handed_on()
    idle, seen = [], 0
    for path in FILES:
        classes = [n for n in nodes(path) if isinstance(n, ast.ClassDef)]
        owner = {id(inner): each for each in classes for inner in each.body}
        for node in nodes(path):
            if not isinstance(node, Function) or _called_by_others(node) or node.name in handed_on:
                continue
            name = owner[id(node)].name if node.name == "__init__" else node.name
            for argument, place in _optional(node, method=id(node) in owner).items():
                seen += 1
                if not any(_gives(call, argument, place) for call in calls.get(name, [])):
                    idle.append(f"{path.relative_to(ROOT)}: {node.name}({argument})")
    assert seen > 100
    assert idle == []
