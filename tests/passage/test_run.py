from __future__ import annotations

import io
import json
import zipfile
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from packsim.errors import InputError
from packsim.line import Kicks
from packsim.passage.record import FRAME_ARRAYS, ROLES, Frame
from packsim.passage.run import run_passage
from packsim.passage.store import load_record, save_record
from packsim.passage.track import build_track

ROUGH = Kicks(0.4, 2.0, 0.3, 3.0)


@pytest.fixture(scope="module")
def record(line, can):
    track = build_track(line(4, (45.0, 44.0), kicks=ROUGH, state="slack"), can)
    return run_passage(track, seed=11, cans=150, size=can.name, scenario="name = 'demo'\n")


def test_the_books_balance(record) -> None:
    assert record.cans_in == record.cans_out + record.on_mat
    assert record.unsettled == 0
    assert record.counted == 150
    assert record.tipped.sum() == len(record.events)
    assert record.counted_tips.sum() <= record.tipped.sum()
    assert record.seed == 11
    assert not record.interrupted
    assert 0.0 <= record.max_overlap_mm <= record.tolerance_mm
    for event in record.events:
        assert event.energy_mJ > event.needed_mJ > 0.0
    last = record.frames[-1]
    lying = set(last.id[last.role == ROLES.index("tipped")].tolist())
    assert lying <= {event.can for event in record.events}
    stay = {event.can for event in record.events} - lying
    assert not stay & set(last.id.tolist())


def test_frames_come_at_their_interval_and_ids_never_return(record) -> None:
    times = [frame.time_s for frame in record.frames]
    assert times[0] == 0.0
    even, end = times[:-1], times[-1]
    assert all(b - a == pytest.approx(record.interval_s, abs=0.051) for a, b in pairwise(even))
    assert 0.0 < end - even[-1] <= record.interval_s + 0.051
    assert end == record.time_s
    gone: set[int] = set()
    for a, b in pairwise(record.frames):
        gone |= set(a.id.tolist()) - set(b.id.tolist())
        assert not gone & set(b.id.tolist())


def test_one_seed_one_record_and_frames_do_not_disturb_it(line, can) -> None:
    track = build_track(line(4, (45.0,), kicks=ROUGH, state="slack"), can)
    a = run_passage(track, seed=2, time_s=8.0)
    b = run_passage(track, seed=2, time_s=8.0, frame_every_s=0.1)
    assert np.array_equal(a.frames[-1].x_mm, b.frames[-1].x_mm)
    assert a.events == b.events
    assert np.array_equal(a.kicks, b.kicks)


def test_without_frames_the_counts_and_the_profile_are_the_same(line, can) -> None:
    track = build_track(line(4, (6.0, 8.0), kicks=Kicks(0.3, 2.0, 0.2, 1.0)), can)
    kept = run_passage(track, seed=3, time_s=4.0)
    bare = run_passage(track, seed=3, time_s=4.0, keep_frames=False)
    assert bare.frames == ()
    assert np.array_equal(kept.kicks, bare.kicks)
    assert np.array_equal(kept.across, bare.across)
    assert np.array_equal(kept.profile.slack_mm, bare.profile.slack_mm, equal_nan=True)


def test_memory_is_bounded_by_thinning_the_frames(line, can) -> None:
    track = build_track(line(), can)
    full = run_passage(track, seed=1, time_s=6.0, frame_every_s=0.1)
    thin = run_passage(track, seed=1, time_s=6.0, frame_every_s=0.1, frame_bytes=60_000)
    assert sum(frame.nbytes for frame in thin.frames) <= 60_000
    assert thin.interval_s in {0.2, 0.4, 0.8, 1.6}
    assert len(full.frames) > 2 * len(thin.frames)
    kept = {frame.time_s for frame in full.frames}
    assert {frame.time_s for frame in thin.frames} <= kept
    assert thin.frames[-1].time_s == thin.time_s


def test_an_interrupted_run_is_kept_and_says_so(line, can) -> None:
    track = build_track(line(), can)

    def stop(share: float) -> None:
        if share > 0.4:
            raise KeyboardInterrupt

    record = run_passage(track, seed=1, time_s=10.0, progress=stop)
    assert record.interrupted
    assert 3.0 < record.time_s < 7.0
    assert record.cans_in == record.cans_out + record.on_mat


def test_an_interrupt_inside_a_kernel_is_one(line, can, monkeypatch) -> None:
    """Compiled code gives its results back all the same, and at each Python complains of that."""
    monkeypatch.setattr("packsim.passage.run.step", interrupted_kernel)
    assert run_passage(build_track(line(), can), seed=1, time_s=10.0).interrupted


def interrupted_kernel(*_: object, **__: object) -> None:
    text = "returned a result with an exception set"
    inner = SystemError(text)
    inner.__cause__ = KeyboardInterrupt()
    raise SystemError(text) from inner


def test_progress_rises_to_one(line, can) -> None:
    seen: list[float] = []
    run_passage(build_track(line(), can), seed=1, time_s=4.0, progress=seen.append)
    assert seen == sorted(seen)
    assert seen[-1] == 1.0


def test_a_jam_is_reported_with_its_stage(line, can) -> None:
    track = build_track(line(6, (5.0, -150.0), kicks=Kicks(0.0, 1.0, 0.1)), can)
    record = run_passage(track, seed=1, time_s=3.0)
    assert record.unsettled > 0
    # the overlaps sit where the pack is squeezed, at the join or behind it
    assert record.jams
    assert 0.2 < max(jam.overlap_mm for jam in record.jams) <= record.max_overlap_mm
    assert all(jam.since_s <= 2.0 for jam in record.jams)
    assert record.cans_in == record.cans_out + record.on_mat


def test_a_full_pack_with_slack_between_its_guides_does_not_jam(line, can) -> None:
    """Issue 12: a quarter of an inch of slack and a fill of 1 was told to open the guides."""
    full = line(8, (6.35,), length=3000.0, kicks=Kicks(0.0, 4.0, 1.0))
    record = run_passage(build_track(full, can), seed=1, time_s=4.0, cap=2)
    assert record.max_overlap_mm > 1.0  # no room along travel, and too few steps to settle
    assert not record.jams


def test_a_full_pack_jams_where_the_guides_are_a_little_too_narrow_for_it(line, can) -> None:
    """Issue 12: 0.19 in narrower than the lanes that come was no jam."""
    full = line(8, (6.0, -4.8), can=replace(can, diameter_tol_mm=0.3), length=2000.0)
    track = build_track(full, full.sizes[0])
    assert track.too_narrow == (1,)
    record = run_passage(track, seed=1, time_s=12.0)
    assert [jam.stage for jam in record.jams] == [1]


def test_a_passing_overlap_is_counted_but_is_no_jam(line, can) -> None:
    """A line full to the last millimetre: kicks along the lanes take some steps to be undone."""
    track = build_track(line(8, (4.0,), length=6000.0, kicks=Kicks(0.0, 2.0, 0.4)), can)
    record = run_passage(track, seed=1, time_s=3.0, cap=20)
    assert record.unsettled > 0
    assert record.max_overlap_mm > record.tolerance_mm
    assert not record.jams


def test_a_line_too_narrow_for_a_can_gives_a_reason(line, can) -> None:
    scenario = line()
    narrow = scenario.with_stages((scenario.stages[0].with_clear_width(40.0),))
    record = run_passage(build_track(narrow, can), seed=1, cans=10)
    assert "one can needs" in record.reason
    assert record.cans_in == record.cans_out == record.on_mat == 0


def test_a_slice_runs_to_the_end_of_the_line(line, can) -> None:
    record = run_passage(build_track(line(5, (6.0, 9.0)), can), seed=1, slice_mm=600.0)
    assert record.counted == record.cans_in == record.cans_out > 40
    assert record.on_mat == 0
    assert np.isfinite(record.profile.slack_mm).all()


@pytest.mark.parametrize(
    "bad",
    [{"cans": 0}, {"cans": 5, "time_s": 1.0}, {"time_s": -1.0}, {"cans": 5, "slice_mm": 500.0},
     {"time_s": 1.0, "dt_s": 0.0}, {"slice_mm": 1.0}],
)  # fmt: skip
def test_bad_requests_are_named(line, can, bad) -> None:
    with pytest.raises(InputError):
        run_passage(build_track(line(), can), seed=1, **bad)


def test_a_record_survives_the_disk(record, tmp_path) -> None:
    save_record(record, tmp_path / "run.npz")
    back = load_record(tmp_path / "run.npz")
    for name in record.__dataclass_fields__:
        a, b = getattr(record, name), getattr(back, name)
        if name == "frames":
            for one, two in zip(a, b, strict=True):
                for array in FRAME_ARRAYS:
                    assert np.array_equal(getattr(one, array), getattr(two, array))
                    assert getattr(one, array).dtype == getattr(two, array).dtype
                assert (one.time_s, one.travel_mm) == (two.time_s, two.travel_mm)
        elif name == "profile":
            assert np.array_equal(a.slack_mm, b.slack_mm, equal_nan=True)
        elif isinstance(a, np.ndarray):
            assert np.array_equal(a, b)
        else:
            assert a == b, name


def test_broken_files_are_refused_clearly(record, tmp_path) -> None:
    good = tmp_path / "good.npz"
    save_record(record, good)
    data = good.read_bytes()
    cases = {
        "text.npz": b"not a record",
        "empty.npz": b"",
        "short.npz": data[: len(data) // 2],
        "flip.npz": data[:200] + bytes([data[200] ^ 255]) + data[201:],
    }
    for name, content in cases.items():
        path = tmp_path / name
        path.write_bytes(content)
        with pytest.raises(InputError, match=name):
            load_record(path)
    with pytest.raises(InputError, match=r"none\.npz"):
        load_record(tmp_path / "none.npz")
    with pytest.raises(InputError):
        load_record(tmp_path)


def rewritten(source, target, change) -> None:
    with np.load(source) as file:
        arrays = {name: file[name] for name in file.files}
    change(arrays)
    np.savez(target, **arrays)


def test_tampered_records_are_refused(record, tmp_path) -> None:
    good, bad = tmp_path / "good.npz", tmp_path / "bad.npz"
    save_record(record, good)

    def head(**changes):
        def change(arrays) -> None:
            fields = json.loads(arrays["head"].tobytes()) | changes
            arrays["head"] = np.frombuffer(json.dumps(fields).encode(), dtype=np.uint8)

        return change

    def drop(arrays) -> None:
        del arrays["frame_role"]

    def shorten(arrays) -> None:
        arrays["frame_x_mm"] = arrays["frame_x_mm"][:-1]

    def objects(arrays) -> None:
        arrays["tipped"] = np.array([{}], dtype=object)

    changes = [head(format=2), head(stages=["only one"]), head(events=[{"can": 1}]), drop, shorten,
               objects]  # fmt: skip
    for change in changes:
        rewritten(good, bad, change)
        with pytest.raises(InputError):
            load_record(bad)


def test_an_archive_that_unpacks_to_too_much_is_refused(tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("packsim.passage.store.MAX_BYTES", 1000)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("head.npy", b"\0" * 100_000)
    (tmp_path / "bomb.npz").write_bytes(buffer.getvalue())
    with pytest.raises(InputError, match="100000 bytes"):
        load_record(tmp_path / "bomb.npz")


def test_a_frame_needs_arrays_of_one_length(record) -> None:
    frame = record.frames[0]
    assert isinstance(frame, Frame)
    with pytest.raises(InputError):
        replace(frame, x_mm=frame.x_mm[:-1])


def test_a_record_that_cannot_be_written_leaves_the_old_one(record, tmp_path, monkeypatch) -> None:
    """As on a full disk, in the middle of the file."""
    save_record(record, tmp_path / "run.npz")
    was = (tmp_path / "run.npz").read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(InputError, match="No space left"):
        save_record(record, tmp_path / "run.npz")
    assert [file.name for file in tmp_path.iterdir()] == ["run.npz"]
    assert (tmp_path / "run.npz").read_bytes() == was
