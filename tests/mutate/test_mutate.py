"""The tool that changes the program changes what it says, and what is run is what was changed.

Trying mutants takes minutes and is done by ``python -m tests.mutate``.
"""

from __future__ import annotations

import os
from dataclasses import replace

import pytest

from packsim.chance import directions
from packsim.compiled import KERNELS, compiled
from packsim.line.knobs import knob
from packsim.pack.cells import to_nearest
from packsim.width.lane_rule import packs_at
from tests.mutate import equivalent
from tests.mutate.mutants import ROOT, Mutant, mutant_at, places_in
from tests.mutate.plan import plan_of
from tests.mutate.reach import Reach, kernels
from tests.mutate.session import forked
from tests.mutate.trying import exchange

FORKS = pytest.mark.skipif(os.name != "posix", reason="a copy of a process is a thing of POSIX")

SOURCE = '''"""Not 1 < 2."""
@some(1)
def least(a: int | None, b=3):
    if not a:
        return min(a + 1,
                   b.real)
    class Inner:
        def f(self): return a < b
'''


def mutants(source: str) -> list[Mutant]:
    return [mutant_at("f.py", source, place) for place in places_in(source)]


def test_each_mutant_is_one_change_of_what_is_run() -> None:
    found = mutants(SOURCE)
    assert {(one.was, one.now) for one in found if one.line != 4} == {
        ("def least(a: int | None, b=3):", "def least(a: int | None, b= 4):"),
        ("def least(a: int | None, b=3):", "def least(a: int | None, b= 2):"),
        ("return min(a + 1,", "return max(a + 1,"),
        ("return min(a + 1,", "return min(a - 1,"),
        ("return min(a + 1,", "return min(a + 2,"),
        ("return min(a + 1,", "return min(a + 0,"),
        ("b.real)", "b.imag)"),
        ("def f(self): return a < b", "def f(self): return a <= b"),
        ("def f(self): return a < b", "def f(self): return a >= b"),
    }
    for one in found:
        pairs = zip(SOURCE.split("\n"), one.source.split("\n"), strict=True)
        assert [(a.strip(), b.strip()) for a, b in pairs if a != b] == [(one.was, one.now)]
        one.code()


def test_a_mutant_knows_its_statement_and_the_function_it_is_run_in() -> None:
    by_line = {one.line: one for one in mutants(SOURCE)}
    assert (by_line[3].function, by_line[3].span) == (None, (3, 3))
    assert (by_line[4].function, by_line[4].span) == (("least", 2), (4, 4))
    assert by_line[6].span == (5, 6)
    assert by_line[8].function == ("least", 2)


def mutant(file: str, was: str, now: str) -> Mutant:
    source = (ROOT / file).read_text(encoding="utf-8")
    places = (p for p in places_in(source) if source.split("\n")[p.at[0] - 1].strip() == was)
    return next(one for p in places if (one := mutant_at(file, source, p)).now == now)


@FORKS
def test_who_knows_a_function_runs_its_mutant_in_the_copy_alone() -> None:
    changed = mutant(
        "packsim/width/lane_rule.py",
        "return max(0.0, -self.slack_mm)",
        "return max(0.0, self.slack_mm)",
    )
    judged = packs_at(700.0, 60.0).judged

    def work() -> dict[str, float]:
        exchange(changed)
        return {"squeezed": judged.squeezed_mm}

    assert forked(work) == {"squeezed": judged.slack_mm}
    assert judged.squeezed_mm == 0.0 < judged.slack_mm


@pytest.mark.all
@FORKS
def test_what_a_function_made_on_import_is_its_mutant_too(small) -> None:
    changed = mutant("packsim/line/header_knobs.py", "lambda h: 0.0,", "lambda h: 1.0,")
    stage, station = small.stage(headers=(small.header(),)), knob("station-above")

    def work() -> dict[str, float]:
        exchange(changed)
        return {"now": station.now(stage)}

    assert forked(work) == {"now": 1.0}
    assert station.now(stage) == 0.0


@pytest.mark.all
@FORKS
def test_a_compiled_kernel_is_its_mutant_too(tmp_path, monkeypatch) -> None:
    changed = mutant(
        "packsim/pack/cells.py",
        "if 2.0 * abs(along_mm) >= period_mm > 0.0:",
        "if not 2.0 * abs(along_mm) >= period_mm > 0.0:",
    )
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))

    def work() -> dict[str, float]:
        exchange(changed)
        for function in KERNELS:
            KERNELS[function] = None  # as in a process that has compiled nothing yet
        return {"way": compiled(to_nearest)(90.0, 100.0)}

    assert forked(work) == {"way": 90.0}
    assert compiled(to_nearest)(90.0, 100.0) == -10.0


@FORKS
def test_a_copy_that_ends_badly_or_never_is_told() -> None:
    assert forked(lambda: os._exit(3)) == {"ended": "ended with 3"}  # type: ignore[arg-type,return-value]
    assert forked(lambda: os.read(os.pipe()[0], 1), wall_s=0.2) == {"ended": "out of time"}  # type: ignore[arg-type,return-value]


@pytest.mark.all
def test_a_kernel_is_reached_where_it_is_named() -> None:
    source = (ROOT / "packsim/pack/cells.py").read_text("utf-8").split("\n")
    body, sites = next(
        (body, sites) for _, body, sites in kernels() if "def to_nearest" in source[body[0] - 1]
    )
    assert "packsim/chance/directions.py" in sites
    assert len(body) < 10
    assert directions.to_nearest


def test_the_quickest_tests_that_pass_are_asked_first() -> None:
    one = mutants(SOURCE)[-1]
    one = replace(one, file="packsim/room/f.py")
    reach = {
        "tests/a/slow.py": {
            "a": Reach((0.0, 3.0), {"packsim/room/f.py": [8]}),
            "b": Reach((0.0, 1.0), {"packsim/room/f.py": [8]}),
        },
        "tests/a/other.py": {
            "c": Reach((0.0, 0.1), {"packsim/room/f.py": [4]}),
            "d": Reach((0.0, 0.1), {"g.py": [8]}),
        },
        "tests/a/quick.py": {"e": Reach((0.5, 0.5), {"packsim/room/f.py": [4, 8]})},
        "tests/room/own.py": {"f": Reach((0.5, 4.5), {"packsim/room/f.py": [8]})},
    }
    assert list(plan_of(one, reach, 20.0)) == ["f", "e", "b", "a"]
    assert list(plan_of(one, reach, 7.5)) == ["f", "e", "b"]


def test_every_line_that_is_called_equal_is_there() -> None:
    for (file, was, now), reason in equivalent.reasons().items():
        lines = (ROOT / file).read_text(encoding="utf-8").split("\n")
        assert was in map(str.strip, lines), (file, was)
        assert was != now
        assert len(reason) > 20


def test_the_guide_lists_every_mutant_that_nobody_can_notice():
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert guide.count(equivalent.as_table().strip()) == 1
