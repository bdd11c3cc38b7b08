"""What can be changed in a file, one place at a time: mutants, made in memory alone.

The changes are those of cosmic-ray that a test could well miss: of its operators that put another
sign in the place of one, only the opposite and the neighbour are taken. One of ours is beside them:
functions that are easily confused, such as min and max.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import CodeType

import parso
from cosmic_ray.ast import ast_nodes
from cosmic_ray.operators.operator import Example, Operator
from cosmic_ray.operators.provider import OperatorProvider
from parso.tree import NodeOrLeaf

ROOT = Path(__file__).resolve().parents[2]
ROOMS = (
    "pack", "line", "width", "tipping", "setting", "chance", "look", "money", "compare"
)  # fmt: skip
"""Folders of ``packsim`` whose lines are changed, with those within them."""

_SIGNS = (
    "Add_Sub Sub_Add Mul_Div Div_Mul FloorDiv_Mul Mod_FloorDiv Pow_Mul BitOr_BitAnd BitAnd_BitOr"
)
_COMPARED = (
    "Eq_NotEq NotEq_Eq Is_IsNot IsNot_Is Lt_LtE LtE_Lt Gt_GtE GtE_Gt Lt_GtE LtE_Gt Gt_LtE GtE_Lt"
)
_OTHERS = (
    "ReplaceUnaryOperator_Delete_USub ReplaceUnaryOperator_Delete_Not AddNot "
    "ReplaceTrueWithFalse ReplaceFalseWithTrue ReplaceAndWithOr ReplaceOrWithAnd "
    "ReplaceBreakWithContinue ReplaceContinueWithBreak ExceptionReplacer NumberReplacer "
    "ZeroIterationForLoop"
)
_NAMES = [
    *(f"ReplaceBinaryOperator_{signs}" for signs in _SIGNS.split()),
    *(f"ReplaceComparisonOperator_{signs}" for signs in _COMPARED.split()),
    *_OTHERS.split(),
]


_PAIRS = "min max, minimum maximum, argmin argmax, floor ceil, sin cos, any all, real imag"
_OTHER = {a: b for pair in _PAIRS.split(", ") for a, b in (pair.split(), pair.split()[::-1])}


class Confused(Operator):
    """Call the other of two functions that are easily confused."""

    def mutation_positions(self, node: NodeOrLeaf) -> Iterator[tuple[tuple[int, int], ...]]:
        if node.type == "name" and node.value in _OTHER:
            after, before = node.get_next_leaf(), node.get_previous_leaf()
            part = node.value in ("real", "imag") and before is not None and before.value == "."
            if part or (after is not None and after.value == "("):
                yield node.start_pos, node.end_pos

    def mutate(self, node: NodeOrLeaf, index: int) -> NodeOrLeaf:
        node.value = _OTHER[node.value]
        return node

    @classmethod
    def examples(cls) -> tuple[Example, ...]:
        return (Example("min(a, b)", "max(a, b)"), Example("z.real", "z.imag"))


@dataclass(frozen=True)
class Mutant:
    """One change of one file.

    ``was`` and ``now`` are the line before and after, without the blanks around it; ``function`` is
    the name and first line of the outermost function it lies in, None where it is run on import.
    ``span`` is the first and last line of its statement.
    """

    file: str
    line: int
    was: str
    now: str
    function: tuple[str, int] | None
    span: tuple[int, int]
    source: str

    def code(self) -> CodeType:
        """The whole changed file, compiled under the name it is known by."""
        return compile(self.source, str(ROOT / self.file), "exec", dont_inherit=True)


def files(only: str | None = None) -> list[str]:
    """The files of the rooms, or the one file or folder named, as seen from the root."""
    if only is not None:
        path = ROOT / only
        found = [path] if path.is_file() else sorted(path.glob("**/*.py"))
    else:
        found = [file for room in ROOMS for file in sorted((ROOT / "packsim" / room).rglob("*.py"))]
    return [file.relative_to(ROOT).as_posix() for file in found]


def mutants_of(file: str) -> list[Mutant]:
    """Every mutant of a file, in the order of its lines."""
    source = (ROOT / file).read_text(encoding="utf-8")
    return [mutant_at(file, source, place) for place in places_in(source)]


@dataclass(frozen=True)
class Place:
    """Where an operator can change a source: the node it begins from, and which of its changes."""

    at: tuple[int, int]
    kind: str
    operator: int
    index: int
    begins: tuple[int, int]


def places_in(source: str) -> list[Place]:
    """All places of a source that are ever run, in the order of its lines."""
    skipped = _never_run(ast.parse(source))
    found = []
    for node in ast_nodes(parso.parse(source)):
        for number, operator in enumerate(_operators()):
            for index, (at, _) in enumerate(operator.mutation_positions(node)):
                if not any(first <= at < last for first, last in skipped) and _is_a_sign(node):
                    found.append(Place(at, node.type, number, index, node.start_pos))
    return sorted(found, key=lambda place: (place.at, place.operator, place.index))


def _is_a_sign(node: NodeOrLeaf) -> bool:
    """Whether a sign stands between two things: stars of arguments and of parameters do not."""
    if node.type != "operator" or node.value not in ("*", "**"):
        return True
    before = node.get_previous_leaf()
    return before is not None and (before.type in ("name", "number") or before.value in ")]}")


def mutant_at(file: str, source: str, place: Place) -> Mutant:
    """Change one place."""
    module = parso.parse(source)  # anew: operators change the tree they are given
    node = next(
        node
        for node in ast_nodes(module)
        if node.start_pos == place.begins and node.type == place.kind
    )
    changed = _operators()[place.operator].mutate(node, place.index)
    if changed is not node:
        siblings = node.parent.children
        siblings[siblings.index(node)] = changed
    text = str(module.get_code())
    was, now = _first_difference(source, text)
    tree = ast.parse(source)
    function, span = _function(tree, *place.at), _statement(tree, place.at[0])
    return Mutant(file, place.at[0], was, now, function, span, text)


@cache
def _operators() -> tuple[Operator, ...]:
    provided = OperatorProvider()
    return (*(provided[name]() for name in _NAMES), Confused())


def _first_difference(source: str, text: str) -> tuple[str, str]:
    pairs = zip(source.split("\n"), text.split("\n"), strict=False)
    was, now = next((a, b) for a, b in pairs if a != b)
    return was.strip(), now.strip()


def _never_run(tree: ast.Module) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Where annotations and decorators stand, and what only a type checker reads."""
    nodes: list[ast.expr | ast.stmt] = []
    for node in ast.walk(tree):
        nodes += getattr(node, "decorator_list", [])
        if isinstance(node, ast.AnnAssign | ast.arg) and node.annotation is not None:
            nodes.append(node.annotation)
        elif isinstance(node, ast.FunctionDef) and node.returns is not None:
            nodes.append(node.returns)
        elif isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            nodes.append(node)
    return [((n.lineno, n.col_offset), (n.end_lineno or 0, n.end_col_offset or 0)) for n in nodes]


def _statement(tree: ast.Module, line: int) -> tuple[int, int]:
    """First and last line of the statement a line is of, of one with a body its head."""
    found = (line, line)
    for node in ast.walk(tree):
        if isinstance(node, ast.stmt) and node.lineno <= line <= (node.end_lineno or 0):
            body = getattr(node, "body", None)
            last = max(node.lineno, body[0].lineno - 1) if body else (node.end_lineno or 0)
            if line <= last and (found == (line, line) or node.lineno >= found[0]):
                found = (node.lineno, last)
    return found


def _function(tree: ast.Module, line: int, column: int) -> tuple[str, int] | None:
    """The outermost function whose body holds a place, None where there is none."""
    names: list[str] = []
    body: list[ast.stmt] = tree.body
    while True:
        for node in body:
            if node.lineno <= line <= (node.end_lineno or 0):
                break
        else:
            return None
        if isinstance(node, ast.FunctionDef):
            inside = (line, column) >= (node.body[0].lineno, node.body[0].col_offset)
            first = min([node.lineno, *(d.lineno for d in node.decorator_list)])
            return (".".join([*names, node.name]), first) if inside else None
        if not isinstance(node, ast.ClassDef):
            return None
        names.append(node.name)
        body = node.body
