"""A mutant is tried in a copy of a process that has the tests loaded; the first that fails ends it.

A function has its code exchanged where it stands, so that all who know it run the mutant; kernels
are compiled from there, into a copy of the folder of machine code. What runs on import is changed
as it is imported.
"""

from __future__ import annotations

import gc
import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder, SourceFileLoader
from itertools import pairwise
from types import CodeType, FunctionType
from typing import Any

import pytest

from tests.mutate.mutants import ROOT, Mutant
from tests.mutate.session import forked, run_pytest

MACHINE_CODE = "NUMBA_CACHE_DIR"
SLOW, COMPILING = 10.0, 30.0
"""A test may take this many seconds of processor time, and as many times what it takes with nothing
changed; more where kernels are compiled."""

Plan = dict[str, float]
"""Tests in the order they are run, and the seconds each takes with nothing changed."""
Told = dict[str, Any]


class Trier:
    """A pytest plugin that runs planned tests, for each mutant in a copy of this process."""

    def __init__(self, plans: Sequence[tuple[Mutant, Plan]], tell: Callable[[Mutant, Told], None]):
        self.plans, self.tell = plans, tell
        self.failed = ""

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        items = {item.nodeid: item for item in session.items}
        live = _live_functions({str(ROOT / mutant.file) for mutant, _ in self.plans})
        for mutant, plan in self.plans:
            self.tell(mutant, forked(lambda m=mutant, p=plan: self._tried(m, p, items, live)))  # type: ignore[misc]
        return True

    def _tried(self, mutant: Mutant, plan: Plan, items: dict[str, Any], live: Any) -> Told:
        exchange(mutant, live)
        with own_machine_code(mutant) as extra:
            return self.first_failing(plan, items, extra)

    def first_failing(self, plan: Plan, items: dict[str, pytest.Item], extra: float) -> Told:
        """Run tests until one fails, and name it."""
        own = [items[name] for name in plan if name in items]
        for item, ahead in pairwise([*own, None]):
            most = extra + SLOW * (1.0 + plan[item.nodeid])
            signal.setitimer(signal.ITIMER_PROF, most)  # nobody handles it: it kills
            item.ihook.pytest_runtest_protocol(item=item, nextitem=ahead)
            if self.failed:
                break
        return {"noticed": self.failed, "ran": len(own)}

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and not self.failed:
            self.failed = report.nodeid


def try_here(plans: Sequence[tuple[Mutant, Plan]], tell: Callable[[Mutant, Told], None]) -> None:
    """Try mutants of functions, each in a copy of this process, and tell what became of each."""
    names = sorted({test.split("::")[0] for _, plan in plans for test in plan})
    if names and run_pytest(names, [Trier(plans, tell)]) not in (0, 1):
        raise RuntimeError("the tests could not be read")


def try_anew(mutant: Mutant, plan: Plan) -> Told:
    """Try a mutant of what runs on import, in a copy of a process that has not imported it."""

    class Alone(Trier):
        def pytest_runtestloop(self, session: pytest.Session) -> bool:
            if not session.testsfailed:  # else a file could not be read
                items = {item.nodeid: item for item in session.items}
                told.update(self.first_failing(plan, items, extra))
            return True

    def work() -> Told:
        nonlocal extra
        sys.meta_path.insert(0, _Changed(mutant))
        with own_machine_code(mutant) as extra:
            run_pytest(sorted({name.split("::")[0] for name in plan}), [Alone([], lambda *_: None)])
        return told

    told: Told = {"noticed": "import"}
    extra = 0.0
    return forked(work)


def _live_functions(files: set[str]) -> dict[tuple[str, str, int], list[FunctionType]]:
    """Every function of these files that is anywhere, by file, name and first line."""
    found: dict[tuple[str, str, int], list[FunctionType]] = {}
    gc.unfreeze()  # what an interface froze when it opened is not among the objects else
    for thing in gc.get_objects():
        # asked of its type: a weak proxy would answer for what is gone
        if type(thing) is FunctionType and thing.__code__.co_filename in files:
            code = thing.__code__
            key = code.co_filename, code.co_qualname, code.co_firstlineno
            found.setdefault(key, []).append(thing)
    return found


def exchange(
    mutant: Mutant, live: dict[tuple[str, str, int], list[FunctionType]] | None = None
) -> None:
    """Give the function a mutant lies in the mutant's code, wherever the function is known."""
    assert mutant.function is not None
    file = str(ROOT / mutant.file)
    new = next(code for code in _codes(mutant.code()) if _key(code) == mutant.function)
    known = _live_functions({file}) if live is None else live
    instead: dict[int, CodeType] = {}
    for function in known[file, *mutant.function]:
        instead |= _instead(function.__code__, new)
    for functions in known.values():  # those made within it on import live on beside it
        for function in functions:
            function.__code__ = instead.get(id(function.__code__), function.__code__)


def _instead(old: CodeType, new: CodeType) -> dict[int, CodeType]:
    """What stands in for a code and for those within it, by identity."""
    found = {id(old): new}
    own, others = ([c for c in code.co_consts if isinstance(c, CodeType)] for code in (old, new))
    if [one.co_qualname for one in own] == [one.co_qualname for one in others]:
        for one, other in zip(own, others, strict=True):
            found |= _instead(one, other)
    return found


def _key(code: CodeType) -> tuple[str, int]:
    return code.co_qualname, code.co_firstlineno


def _codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            yield from _codes(constant)


class _Changed(MetaPathFinder):
    """Finds one module of the package changed."""

    def __init__(self, mutant: Mutant) -> None:
        self.mutant = mutant

    def find_spec(self, name: str, path: Any, target: Any = None) -> ModuleSpec | None:
        spec = PathFinder.find_spec(name, path, target)
        if spec is not None and spec.origin == str(ROOT / self.mutant.file):
            spec.loader = _Mutated(self.mutant, name, spec.origin)
            return spec
        return None


class _Mutated(SourceFileLoader):
    def __init__(self, mutant: Mutant, name: str, path: str) -> None:
        super().__init__(name, path)
        self.mutant = mutant

    def get_code(self, name: str) -> CodeType:
        return self.mutant.code()


@contextmanager
def own_machine_code(mutant: Mutant) -> Iterator[float]:
    """Let kernels that change be compiled into a folder of their own; yields seconds for that."""
    if "@kernel" not in mutant.source:
        yield 0.0
        return
    with tempfile.TemporaryDirectory(prefix="mutate_") as folder:
        shutil.copytree(os.environ[MACHINE_CODE], folder, dirs_exist_ok=True)
        os.environ[MACHINE_CODE] = folder
        yield COMPILING
