"""Which tests pass through which lines: found once with coverage contexts, and kept.

A test file is measured again when it changes, or a file of the rooms that it passes through. A
change elsewhere may leave a test unasked that could have noticed: never the other way round.
"""

from __future__ import annotations

import ast
import hashlib
import json
import os
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import coverage
import pytest

from tests.mutate.mutants import ROOMS, ROOT
from tests.mutate.session import forked, run_pytest

TESTS = (
    "pack line width tipping setting chance answers findings spray nozzles why "
    "size_change passage counts published look money compare"
)
"""Folders of tests that may notice; a test marked slow is not asked."""
_OTHERS = "test_can cli/test_compare cli/test_proposal report/test_compare_words"
COMPILES = ["tests/chance/test_directions.py", "tests/chance/test_keep.py", "tests/spray"]
"""Tests that between them call every kernel compiled."""


@dataclass
class Reach:
    """One test: its seconds of setting up and of running, and the lines it passes."""

    seconds: tuple[float, float]
    lines: dict[str, list[int]] = field(default_factory=dict)


def test_files() -> list[str]:
    """Files with tests, those with doctests among them."""
    tests = [path for name in TESTS.split() for path in (ROOT / "tests" / name).rglob("test_*.py")]
    tests += [ROOT / "tests" / f"{name}.py" for name in _OTHERS.split()]
    code = [path for room in ROOMS for path in (ROOT / "packsim" / room).rglob("*.py")]
    own = [*tests, *(path for path in code if ">>>" in path.read_text("utf-8"))]
    return [path.relative_to(ROOT).as_posix() for path in sorted(own)]


def reached(folder: Path) -> dict[str, dict[str, Reach]]:
    """Return the tests of each file and what they reach; what is kept is not measured again."""
    kept = folder / "reach.json"
    known: dict[str, Any] = json.loads(kept.read_text("utf-8")) if kept.exists() else {}
    files = test_files()
    known = {name: known[name] for name in files if name in known}
    stale = [
        name
        for name in files
        if name not in known or known[name]["stamp"] != _stamp(known[name]["through"], name)
    ]
    if stale and not any(Path(os.environ["NUMBA_CACHE_DIR"]).iterdir()):
        print("compiling kernels, so that it is no test's time", flush=True)
        forked(lambda: {"code": run_pytest(COMPILES, [])})
    for group in sorted({Path(name).parent for name in stale}):
        names = [name for name in stale if Path(name).parent == group]
        print(f"measuring what {group} reaches: {len(names)} files", flush=True)
        told = forked(lambda names=names: _measure(names), wall_s=3600.0)
        if "ended" in told:
            raise RuntimeError(f"{group}: {told['ended']}")
        known |= told
        folder.mkdir(parents=True, exist_ok=True)
        kept.with_suffix(".new").write_text(json.dumps(known), encoding="utf-8")
        kept.with_suffix(".new").replace(kept)
    return {
        name: {test: Reach(**one) for test, one in known[name]["tests"].items()} for name in files
    }


def _stamp(through: list[str], name: str) -> str:
    digest = hashlib.sha256()
    for file in (name, *through):
        path = ROOT / file
        digest.update(path.read_bytes() if path.exists() else b"gone")
    return digest.hexdigest()


class _Watch:
    """Counts the lines of each test apart; what a file sets up is passed by each of its tests."""

    def __init__(self) -> None:
        self.coverage = coverage.Coverage(
            data_file=None, config_file=False, include=[f"{ROOT}/packsim/*"], messages=False
        )
        self.seconds: dict[str, list[float]] = {}
        self.unfit: set[str] = set()

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_runtest_setup(self, item: pytest.Item) -> Iterator[None]:
        return (yield from self._watched(item, _file(item.nodeid), 0))

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        return (yield from self._watched(item, item.nodeid, 1))

    def _watched(self, item: pytest.Item, context: str, part: int) -> Iterator[None]:
        self.coverage.switch_context(context)
        began = time.process_time()
        try:
            return (yield)
        finally:
            self.seconds.setdefault(item.nodeid, [0.0, 0.0])[part] = time.process_time() - began
            self.coverage.switch_context("")

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if not report.passed:
            self.unfit.add(report.nodeid)


def _file(test: str) -> str:
    return test.split("::")[0]


def _measure(names: list[str]) -> dict[str, Any]:
    watch = _Watch()
    watch.coverage.start()
    if run_pytest(names, [watch]) > 2:
        raise RuntimeError(f"pytest could not run {names}")
    watch.coverage.stop()
    data = watch.coverage.get_data()
    through: dict[str, dict[str, set[int]]] = {}
    for place in data.measured_files():
        file = Path(place).relative_to(ROOT).as_posix()
        for line, tests in data.contexts_by_lineno(place).items():
            for test in tests:
                through.setdefault(test, {}).setdefault(file, set()).add(line)
    found: dict[str, Any] = {}
    for name in names:
        own = [test for test in watch.seconds if _file(test) == name]
        files = sorted({f for t in (name, *own) for f in through.get(t, {}) if _in_rooms(f)})
        found[name] = {"through": files, "stamp": _stamp(files, name), "tests": {}}
        for test in own:
            if test not in watch.unfit:
                lines = _with_compiled(_joined(through.get(test, {}), through.get(name, {})))
                found[name]["tests"][test] = {
                    "seconds": watch.seconds[test],
                    "lines": {f: sorted(n) for f, n in lines.items() if _in_rooms(f)},
                }
    return found


def _joined(one: dict[str, set[int]], other: dict[str, set[int]]) -> dict[str, set[int]]:
    return {file: one.get(file, set()) | other.get(file, set()) for file in one.keys() | other}


def _in_rooms(file: str) -> bool:
    return file.split("/")[1] in ROOMS


def _with_compiled(lines: dict[str, set[int]]) -> dict[str, set[int]]:
    """Add the lines of compiled kernels: all of one that is named on a line that was passed."""
    left = list(kernels())
    while True:
        met = [
            kernel
            for kernel in left
            if any(lines.get(file, set()) & sites for file, sites in kernel[2].items())
        ]
        if not met:
            return lines
        for file, body, _ in met:
            lines.setdefault(file, set()).update(body)
        left = [kernel for kernel in left if kernel not in met]


@cache
def kernels() -> tuple[tuple[str, range, dict[str, set[int]]], ...]:
    """Every kernel: its file, its lines, and the lines on which it is named, by file."""
    trees = {
        path.relative_to(ROOT).as_posix(): ast.parse(path.read_text("utf-8"))
        for path in sorted((ROOT / "packsim").rglob("*.py"))
    }
    named: dict[str, dict[str, set[int]]] = {}
    for file, tree in trees.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Name):
                named.setdefault(node.id, {}).setdefault(file, set()).add(node.lineno)
    found = []
    for file, tree in trees.items():
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and _is_kernel(node):
                sites = named.get(node.name, {})
                sites = {f: n for f, n in sites.items() if f == file or node.name[0] != "_"}
                found.append((file, range(node.lineno, (node.end_lineno or 0) + 1), sites))
    return tuple(found)


def _is_kernel(node: ast.FunctionDef) -> bool:
    return any(ast.unparse(one) in ("kernel", "within") for one in node.decorator_list)
