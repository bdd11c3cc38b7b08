"""A few cases here, one round of every kind behind ``--all``; more by ``python -m tests.faults``.

What was found is pinned by tests of their own beside what was mended.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals and disks are those of POSIX")


@pytest.fixture(scope="module")
def kinds() -> object:
    return pytest.importorskip("tests.faults.kinds")


def test_every_kind_has_its_turn(kinds) -> None:
    of_all = [kinds.kind_of(number) for number in range(500)]
    assert set(of_all) == {*kinds.KILLS, *kinds.ENDS, *kinds.OTHERS}
    assert min(of_all.count(name) for name in (*kinds.KILLS, *kinds.ENDS)) == 50


@pytest.mark.parametrize("kind", ["clock set back", "spoilt or full cache", "time zone"])
def test_places_that_need_no_process_of_their_own(
    kinds, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    places, streams = sys.modules["tests.faults.places"], sys.modules["tests.faults.streams"]
    for room in (places, streams):
        monkeypatch.setattr(room, "QUICK", ["change --save"])
    try:
        case = kinds.OTHERS[kind](np.random.default_rng(1))
    except places.NotHereError as why:
        pytest.skip(str(why))
    assert case.wrong == []


def test_a_case_that_leaves_something_half_written_is_found(
    kinds, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The judge judges: a program that wrote in place would be caught."""
    put: Callable[..., object] = kinds.put
    with put("change --save") as case:
        case.output.write_bytes(b"half")
        (case.folder / ".packsim-0-left").write_bytes(b"")
        case.code, case.err = 1, "Traceback"
        case.in_order((0,))
        case.whole(old=True, new=False)
        case.tidy()
    assert len(case.wrong) == 4


@pytest.mark.all
def test_one_round_of_every_kind(kinds) -> None:
    ends = [end for end in kinds.ended_cases(211, range(70)) if not end.get("skipped")]
    assert {end["kind"] for end in ends} >= {*kinds.KILLS, *kinds.ENDS}
    assert [end for end in ends if end["wrong"]] == []
    assert not Path("~").exists()
