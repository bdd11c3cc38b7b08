"""A count that was cut off goes on: the same numbers, whatever was lost of the file."""

from __future__ import annotations

import json
from dataclasses import astuple, fields, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from packsim.counts import pool, run_file
from packsim.counts.copies import nothing
from packsim.counts.many import Line, run_many
from packsim.counts.order import Order
from packsim.counts.passages import Passages
from packsim.errors import InputError
from packsim.line import Kicks
from packsim.passage.track import Track, build_track

ROUGH = Kicks(4.0, 2.0, 0.3, 4.0)
REPEATS = 3
SEVERAL = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
HOW = {"cans": 40, "repeats": REPEATS, "workers": 1, "dt_s": 0.1}


@pytest.fixture(scope="module")
def track(line, can) -> Track:
    return build_track(line(4, (46.0, 44.0), length=300.0, kicks=ROUGH, state="slack"), can)


def count(track: Track, file: Path | None = None, seed: int = 5, **more: Any) -> Passages:
    (found,) = run_many([Line("demo 66", seed, track)], resume=file, **(HOW | more))
    return found


def assert_alike(found: Passages, whole: Passages) -> None:
    """Every number of every run is the same, to the last bit."""
    for a, b in zip(found.runs, whole.runs, strict=True):
        for field in fields(a):
            one, other = (getattr(run, field.name) for run in (a, b))
            if field.name == "profile":
                one, other = (np.array(astuple(profile)).tobytes() for profile in (one, other))
            elif isinstance(one, np.ndarray):
                assert (one.dtype, one.shape) == (other.dtype, other.shape)
                one, other = one.tobytes(), other.tobytes()
            assert one == other, field.name


def stop_after(runs: int) -> Any:
    ticks = []

    def tick(done: float, of: int) -> None:
        ticks.append(done)
        if len(ticks) == runs:
            raise KeyboardInterrupt

    return tick


@pytest.fixture(scope="module")
def whole(track: Track) -> Passages:
    found = count(track)
    assert found.tips.sum() > 0
    return found


@pytest.fixture(scope="module")
def text(track: Track, whole: Passages, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    file = tmp_path_factory.mktemp("runs") / "r.jsonl"
    assert_alike(count(track, file), whole)
    return file.read_bytes()


def test_the_file_is_a_line_of_json_for_each_run(text: bytes) -> None:
    head, *runs = map(json.loads, text.decode("ascii").splitlines())
    assert (head["file"], head["layout"], head["cans"]) == ("finished runs", 1, 40)
    assert head["lines"][0]["stages"] == "stage 1, stage 2"
    assert [run["run"]["number"] for run in runs] == list(range(REPEATS))


@settings(SEVERAL, max_examples=4)
@given(seed=st.integers(0, 2**63), runs=st.integers(1, REPEATS))
def test_stopped_after_any_run_it_goes_on_to_the_same(
    track: Track, tmp_path: Path, seed: int, runs: int
) -> None:
    file = tmp_path / f"{seed} {runs}.jsonl"
    file.unlink(missing_ok=True)  # the same example may come again
    stopped = count(track, file, seed, progress=stop_after(runs))
    assert (stopped.interrupted, len(stopped.runs)) == (True, runs)
    asked: list[int] = []
    again = count(track, file, seed, progress=lambda _, of: asked.append(of))
    assert len(asked) == REPEATS - runs
    assert_alike(again, count(track, None, seed))
    assert not again.interrupted


@settings(SEVERAL, max_examples=8)
@given(data=st.data())
def test_cut_off_at_any_byte_it_goes_on_to_the_same(
    track: Track, whole: Passages, text: bytes, tmp_path: Path, data: st.DataObject
) -> None:
    cut = data.draw(st.integers(0, len(text)))
    tail = data.draw(st.sampled_from([b"", b"\0" * 512, b'{"check": 1']))
    file = tmp_path / f"{cut} {len(tail)}.jsonl"
    file.write_bytes(text[:cut] + tail if b"\n" in text[:cut] else text[:cut])
    assert_alike(count(track, file), whole)
    asked: list[int] = []
    assert_alike(count(track, file, progress=lambda _, of: asked.append(of)), whole)
    assert asked == []


def test_a_run_whose_line_was_changed_is_run_again(
    track: Track, whole: Passages, text: bytes, tmp_path: Path
) -> None:
    lines = text.splitlines(keepends=True)
    lines[1] = lines[1].replace(b'"counted": 4', b'"counted": 5')
    lines[2] = b"\n"
    lines.append(b'[1]\n{"run": {}}\n"check"\n')
    file = tmp_path / "r.jsonl"
    file.write_bytes(b"".join(lines))
    asked: list[int] = []
    assert_alike(count(track, file, progress=lambda _, of: asked.append(of)), whole)
    assert len(asked) == 2


def test_more_runs_or_fewer_may_be_asked_for(
    track: Track, whole: Passages, text: bytes, tmp_path: Path
) -> None:
    file = tmp_path / "r.jsonl"
    file.write_bytes(text)
    assert_alike(count(track, file, repeats=2), count(track, repeats=2))
    assert_alike(count(track, file, repeats=5), count(track, repeats=5))


def test_workers_keep_and_go_on_too(
    track: Track, whole: Passages, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pool, "active_count", lambda: 1)  # as in a command
    monkeypatch.setattr("packsim.counts.many.run_shortest", nothing)
    file = tmp_path / "r.jsonl"
    assert len(count(track, file, workers=2, progress=stop_after(1)).runs) == 1
    assert_alike(count(track, file, workers=2), whole)


@pytest.mark.parametrize(
    ("change", "key", "got"),
    [
        ({"seed": 6}, "seed", "5"),
        ({"cans": 41}, "cans", "40"),
        ({"dt_s": 0.05}, "dt_s", "0.1"),
    ],
)
def test_a_file_of_another_count_is_refused_and_left_alone(
    track: Track, text: bytes, tmp_path: Path, change: dict[str, Any], key: str, got: str
) -> None:
    file = tmp_path / "r.jsonl"
    file.write_bytes(text)
    with pytest.raises(InputError, match=rf"r\.jsonl: {key}: got {got}; needs .* as asked now"):
        count(track, file, **change)
    assert file.read_bytes() == text


def test_another_line_is_refused(track: Track, text: bytes, tmp_path: Path) -> None:
    file = tmp_path / "r.jsonl"
    file.write_bytes(text)
    with pytest.raises(InputError, match="scenario: got runs of this line with other numbers"):
        count(replace(track, speed_mm_per_s=91.0), file)
    with pytest.raises(InputError, match=r"can_friction: got 0\.0; needs 0\.2, as asked"):
        count(replace(track, can_friction=0.2), file)
    two = [Line("demo 66", 5, track)] * 2
    with pytest.raises(InputError, match="guides: got runs at 1 of them; needs runs at 2"):
        run_many(two, resume=file, **HOW)
    assert file.read_bytes() == text


def test_another_program_is_refused(
    track: Track, text: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "r.jsonl"
    file.write_bytes(text)
    with monkeypatch.context() as patch:
        patch.setattr(run_file, "program_digest", lambda *_: "0" * 64)
        with pytest.raises(InputError, match=r"version: got .* with other program files; needs"):
            count(track, file)
    monkeypatch.setattr(run_file, "program_version", lambda: "99.0")
    with pytest.raises(InputError, match=r"version: got .*; needs 99\.0"):
        count(track, file)


@pytest.mark.parametrize(
    "data", [b"\n", b"{}\n", b"[]\n", b"\xff\n", b"schema = 2\n", b"[" * 9000 + b"\n", b"PK\x03"]
)
def test_a_file_of_another_kind_is_refused_and_left_alone(
    track: Track, tmp_path: Path, data: bytes
) -> None:
    file = tmp_path / "r.jsonl"
    file.write_bytes(data)
    with pytest.raises(InputError, match=r"r\.jsonl: resume: got a file of another kind"):
        count(track, file)
    assert file.read_bytes() == data


def test_a_head_of_rubbish_is_refused(track: Track, text: bytes, tmp_path: Path) -> None:
    file = tmp_path / "r.jsonl"
    head = json.loads(text.splitlines()[0])
    for spoil in ({"lines": 5}, {"lines": [{}]}, {"lines": None}, {"layout": 2}, {"cans": [1]}):
        file.write_text(json.dumps(head | spoil) + "\n", encoding="utf-8")
        with pytest.raises(InputError, match=r"r\.jsonl: "):
            count(track, file)


def test_a_place_that_cannot_be_written_is_refused(track: Track, tmp_path: Path) -> None:
    for place in (tmp_path, tmp_path / "no" / "r.jsonl", tmp_path / "\0"):
        with pytest.raises(InputError, match="resume: got"):
            count(track, place)


class FullDisk:
    """A file on a disk that is full for a while, and takes half a line before it says so."""

    def __init__(self, file: Any, refusals: int) -> None:
        self.file, self.left = file, refusals

    def write(self, data: bytes) -> int:
        if self.left:
            self.left -= 1
            return self.file.write(data[: len(data) // 2])  # type: ignore[no-any-return]
        return self.file.write(data)  # type: ignore[no-any-return]

    def __getattr__(self, name: str) -> Any:
        return getattr(self.file, name)


@pytest.mark.parametrize(("refusals", "unwritten"), [(1, False), (REPEATS, False), (99, True)])
def test_a_full_disk_stops_no_count_and_is_said(
    track: Track, whole: Passages, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    refusals: int, unwritten: bool,
) -> None:  # fmt: skip
    class OnFullDisk(run_file.RunFile):
        def __enter__(self) -> OnFullDisk:
            self._file = FullDisk(self._file, refusals)  # type: ignore[assignment]
            return self

    file = tmp_path / "r.jsonl"
    with monkeypatch.context() as patch:
        patch.setattr("packsim.counts.many.RunFile", OnFullDisk)
        found = count(track, file)
    assert_alike(found, whole)
    assert bool(found.unwritten) == unwritten
    asked: list[int] = []
    assert_alike(count(track, file, progress=lambda _, of: asked.append(of)), whole)
    assert bool(asked) == unwritten


def test_the_order_takes_a_file(line, tmp_path: Path) -> None:
    pack = line(4, (46.0, 44.0), length=300.0, kicks=ROUGH, state="slack")
    order = Order(cans=40, repeats=2, workers=1)
    file = tmp_path / "r.jsonl"
    once = order.count(pack, resume=file)
    assert_alike(order.count(pack, resume=file), once)
    assert_alike(order.count(pack), once)
