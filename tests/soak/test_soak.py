"""A small slice of ``python -m tests.soak``, and that its checks notice what is wrong."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from packsim.passage.record import Event
from packsim.passage.state import State
from packsim.passage.step import start, step
from packsim.passage.tipped import FLAT, GONE
from tests.soak.cases import case_of, long_case, shipped
from tests.soak.checks import Watch
from tests.soak.soak import LOOK_EVERY, soak, soak_for_hours


def test_cases_are_as_set_first_and_then_set_otherwise() -> None:
    assert len({line.name for line, _ in shipped()}) == 6
    first, later = case_of(7, 0), case_of(7, 2 * len(shipped()))
    assert first.kind == later.kind == "First look, slice"
    assert ("as set" in first.words, "as set" in later.words) == (True, False)


@pytest.mark.parametrize("number", [0, 1, 36, 37, 64, 67, 101])
def test_a_slice_of_the_soak_finds_nothing(number: int) -> None:
    case = case_of(1, number)
    end = soak(case, np.random.default_rng(number), can_steps=2e3, least=2 * LOOK_EVERY)
    assert (end.wrong, end.can_steps > 0) == ([], True)


def test_memory_of_a_line_that_runs_on_is_flat(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.soak.soak.TRACED", 12)
    end = soak_for_hours(long_case(), np.random.default_rng(1), 0.0)
    assert (end.wrong, round(end.time_s)) == ([], 38)


def test_memory_that_grows_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    kept = []

    def keeping(*given: object) -> object:
        kept.append(step(*given))  # type: ignore[arg-type]
        return kept[-1]

    monkeypatch.setattr("tests.soak.soak.TRACED", 16)
    monkeypatch.setattr("tests.soak.soak.step", keeping)
    (said,) = soak_for_hours(long_case(), np.random.default_rng(1), 0.0).wrong
    assert "pieces of memory more at the end" in said


@pytest.fixture(scope="module")
def pack() -> tuple[Watch, State]:
    track, rng = long_case().track, np.random.default_rng(1)
    assert track is not None
    state, watch = start(track, rng), Watch(track)
    for _ in range(3):
        state, events = step(state, track, 0.05, rng)
        assert list(watch.counts(state, events)) == []
    assert list(watch.pack(state)) == []
    return watch, state


def test_a_lost_can_a_second_number_and_a_place_that_is_none_are_noticed(pack) -> None:
    watch, state = pack
    lost = state.keep(np.arange(len(state)) > 0)
    assert any("on the mat" in said for said in watch.counts(lost, ()))
    for spoilt, words in (
        (replace(state, id=np.zeros_like(state.id)), "two cans of one number"),
        (replace(state, id=state.id + state.cans_in), "a can that never came in"),
        (replace(state, place_mm=state.place_mm * np.nan), "a place that is no number"),
        (replace(state, place_mm=state.place_mm + 90j), "beyond a guide"),
        (replace(state, radius_mm=state.radius_mm + 1.0), "an overlap of"),
        (replace(state, down_rad=np.full(len(state), FLAT)), "have not tipped"),
        (replace(state, tips=state.tips + 1), "tips by stage"),
    ):
        assert any(words in said for said in watch.pack(spoilt)), words


def test_tips_that_cannot_be_are_noticed(pack) -> None:
    _, state = pack
    watch, at = Watch(pack[0].track), {"x_mm": 0.0, "y_mm": 0.0, "direction_rad": 0.0}
    for energy, needed in ((1.0, -1e-9), (1.0, 2.0), (np.inf, 1.0), (np.nan, 1.0)):
        tip = Event(1.0, 5, 0, "centre", **at, energy_mJ=energy, needed_mJ=needed)
        assert any("that needed" in said for said in watch.counts(state, (tip,)))
    assert "can 5 tipped twice" in list(watch.counts(state, (tip,)))
    down = np.where(state.id == 5, FLAT, 0.0)
    said = list(watch.pack(replace(state, down_rad=down)))
    assert "a tipped can is still in the way" in said
    gone = replace(state, down_rad=np.where(state.id == 5, GONE, 0.0))
    assert not any("in the way" in one for one in watch.pack(gone))


def test_energies_below_nothing_are_noticed(pack) -> None:
    watch, state = pack
    standing = watch.track.standing
    below = tuple(replace(s, energy_mJ=s.energy_mJ - 1e3) for s in standing.stretches)
    spoilt = Watch(replace(watch.track, standing=replace(standing, stretches=below)))
    assert any("an energy of -" in said for said in spoilt.pack(state))


def test_a_pack_that_does_not_come_apart_is_noticed(pack) -> None:
    watch = Watch(pack[0].track, steps=200, unsettled=30)
    assert any("30 of 200 steps" in said for said in watch.room())
    assert list(Watch(pack[0].track, steps=200, unsettled=2, worst_mm=0.03).room()) == []
