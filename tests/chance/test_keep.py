"""Repeats on disk: found again, told apart, kept out of the way when they are not wanted."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from packsim import kept, load_scenario
from packsim.chance import chance_of, keep
from packsim.counts.run_file import head_of
from packsim.line import Kicks
from packsim.passage.track import build_track, loaded_track


@pytest.fixture
def folder(tmp_path, monkeypatch) -> Path:
    monkeypatch.setenv(kept.FOLDER_VARIABLE, str(tmp_path / "kept"))
    return tmp_path / "kept"


@pytest.fixture
def scenario(line):
    return line(3, (40.0,), kicks=Kicks(0.1, 2.0, 2.0), fill=0.8, length=300.0)


def broken(*_: object) -> None:
    raise AssertionError("a passage was run")


def test_a_repeat_is_run_once_and_serves_every_kick_energy(
    folder, scenario, can, monkeypatch
) -> None:
    first = chance_of(scenario, can.name, accuracy=10.0)
    monkeypatch.setattr(keep, "sampled", broken)
    again = chance_of(scenario, can.name, accuracy=10.0)
    assert again.tips_per_million == first.tips_per_million
    stage = scenario.stages[0]
    harder = replace(stage, kicks=replace(stage.kicks, energy_mJ=0.2))
    more = chance_of(scenario.with_stages((harder,)), can.name, accuracy=10.0)
    assert more.tips_per_million == first.at({stage.name: 0.2}).tips_per_million
    with pytest.raises(AssertionError):
        chance_of(scenario, can.name, side="left", accuracy=10.0)


def test_of_a_file_that_is_cut_off_nothing_is_said(folder, scenario, can, caplog) -> None:
    passage = keep.passage_of(scenario, can.name)
    first = keep.kept_repeat(passage, 7, 0, keep.Plan(cans=60))
    (place,) = folder.rglob("output.pkl")
    place.write_bytes(place.read_bytes()[:40])
    again = keep.kept_repeat(passage, 7, 0, keep.Plan(cans=60))
    assert [(a != b).nnz for a, b in zip(first, again, strict=True)] == [0] * len(first)
    assert caplog.text == ""


def test_more_repeats_begin_with_those_on_disk(folder, scenario, can, monkeypatch) -> None:
    run = []
    real = keep.sampled

    def noted(track, seed, plan):
        run.append(seed.spawn_key)
        return real(track, seed, plan)

    monkeypatch.setattr(keep, "sampled", noted)
    passage = keep.passage_of(scenario, can.name)
    some = [keep.kept_repeat(passage, 7, i, keep.Plan(cans=60)) for i in range(2)]
    more = [keep.kept_repeat(passage, 7, i, keep.Plan(cans=60)) for i in range(3)]
    assert run == [(0,), (1,), (2,)]
    assert (some[1][0] != more[1][0]).nnz == 0
    assert (more[0][0] != more[1][0]).nnz > 0


def test_nothing_is_written_when_it_is_off(tmp_path, scenario, can, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(kept.FOLDER_VARIABLE, str(tmp_path / "kept"))
    monkeypatch.setattr(kept, "_off", True)
    chance_of(scenario, can.name, accuracy=10.0)
    assert list(tmp_path.iterdir()) == []
    monkeypatch.setattr(kept, "_off", False)
    monkeypatch.setenv(kept.FOLDER_VARIABLE, "off")
    assert kept.cache_folder() is None


def test_a_user_without_a_home_keeps_nothing(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv(kept.FOLDER_VARIABLE)

    def unknown(*_: object, **__: object) -> None:
        raise RuntimeError("could not determine the home directory")

    for found in (unknown, lambda *_, **__: Path("~", ".cache")):  # as versions of it have it
        monkeypatch.setattr("platformdirs.user_cache_path", found)
        assert kept.cache_folder() is None
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_written_stops_no_answer(
    tmp_path, scenario, can, monkeypatch
) -> None:
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv(kept.FOLDER_VARIABLE, str(tmp_path / "file"))
    assert chance_of(scenario, can.name, accuracy=10.0).tips_per_million >= 0.0


def test_the_folder_is_cut_back_to_its_size(folder, scenario, can, monkeypatch) -> None:
    chance_of(scenario, can.name, accuracy=10.0)
    assert list(folder.rglob("output.pkl"))
    for place in folder.rglob("output.pkl"):  # a clock was set back: used just now, not longest ago
        os.utime(place, (4e9, 4e9))
    keep.trim()
    assert all(place.stat().st_atime < 4e9 for place in folder.rglob("output.pkl"))
    monkeypatch.setattr(keep, "MOST_BYTES", 1)
    keep.trim()
    assert not list(folder.rglob("output.pkl"))


def test_the_key_is_all_of_the_track_but_its_kick_energies(scenario, can) -> None:
    track = build_track(scenario, can)
    key = keep.repeat_key(track)
    assert key == keep.repeat_key(build_track(scenario, can))
    shaking = replace(track.shaking, energy_mJ=np.array([9.0]))
    assert keep.repeat_key(replace(track, shaking=shaking)) == key
    for other in (
        replace(track, shaking=replace(track.shaking, step_mm=np.array([2.1]))),
        replace(track, high_mm=track.high_mm + 1e-9),
        replace(track, speed_mm_per_s=track.speed_mm_per_s + 1e-9),
        replace(track, standing=replace(track.standing, meeting_rad=np.array([0.1]))),
    ):
        assert keep.repeat_key(other) != key


def test_a_digest_is_of_values_which_are_the_same_in_every_process() -> None:
    assert kept.digest_of((0.5, "left")) == kept.digest_of((1.0 / 2.0, "le" + "ft"))
    assert kept.digest_of((0.5, "left")) != kept.digest_of((0.6, "left"))
    with pytest.raises(TypeError, match="where it is"):
        kept.digest_of(object())


def test_what_was_asked_of_the_loads_does_not_change_what_is_kept(root: Path) -> None:
    track = loaded_track(load_scenario(root / "scenarios" / "swing_line.toml"), "sleek body")
    before = keep.repeat_key(track), head_of([("sleek body", 1, track, False)], 9, 0.1)
    track.standing.load.at(np.array([700.0]), np.array([800.0]), np.array([1.0]))
    assert keep.repeat_key(track) == before[0]
    assert head_of([("sleek body", 1, track, False)], 9, 0.1) == before[1]
