"""Places that are full, closed, of another time, or spoilt; most of it in this process."""

from __future__ import annotations

import os
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest

from packsim import write
from tests.faults.case import COMMANDS, OLD, Case, put, wanted
from tests.fuzz.case import pick

Rng = np.random.Generator
QUICK = [name for name in COMMANDS if not name.startswith("run")]
"""Commands that start no processes, which this one must not."""


class NotHereError(Exception):
    """A case that this machine cannot try, and why."""


@contextmanager
def _disk(how: str) -> Iterator[Path]:
    """A small disk of its own."""
    with tempfile.TemporaryDirectory(prefix="disk_") as place:
        words = ["mount", "-t", "tmpfs", "-o", how, "packsim_faults", place]
        try:
            subprocess.run(words, capture_output=True, check=True)
        except (OSError, subprocess.CalledProcessError) as problem:
            raise NotHereError("only who may mount a disk") from problem
        try:
            yield Path(place)
        finally:
            subprocess.run(["umount", place], check=True)


def disk_full(rng: Rng) -> Case:
    """The file does not fit any more, or just; what is kept is on the same disk, or is not."""
    with put(pick(rng, QUICK)) as case, _disk("size=4m") as disk:
        case.words[-1] = str(disk / case.output.name)
        case.output.write_bytes(OLD)
        kept = disk / "kept" if rng.random() < 0.5 else case.folder / "kept"
        with (disk / "filler").open("wb") as filler:
            room = int(rng.integers(0, 1.2 * len(wanted(case.name)) + 20_000))
            filler.write(b"x" * max(0, _free(disk) - room))
        case.here("--replace", cache=kept)
        case.in_order((0, 1, 2))
        case.whole(old=case.code != 0, new=case.code == 0)
        case.expect(case.code == 0 or "No space left" in case.err, "the full disk is not named")
        left = {p.name for p in disk.iterdir()} - {"filler", "kept", case.output.name}
        case.expect(not left, f"left: {left}")
        (disk / "filler").unlink()
        case.goes_on()
        return case


def _free(disk: Path) -> int:
    room = os.statvfs(disk)
    return room.f_bavail * room.f_frsize


def closed_folder(rng: Rng) -> Case:
    """A folder, or a whole disk, that must not be written."""
    with put(pick(rng, QUICK), old=False) as case, _disk("size=4m") as disk:
        case.words[-1] = str(disk / case.output.name)
        case.output.write_bytes(OLD)
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        case.here("--replace", cache=disk / "kept")
        case.in_order((2,))
        case.whole(old=True, new=False)
        case.expect(case.output.name in case.err, "the file is not named")
        case.words[-1] = str(case.folder / case.output.name)
        case.goes_on()
        return case


def two_at_once(rng: Rng) -> Case:
    """Two processes that write one name: one of them has it, whole; unasked it is the first."""
    with put(pick(rng, QUICK), old=False) as case:
        more = ("--replace",) if rng.random() < 0.5 else ()
        other = Case(case.folder, case.name, case.words)
        with case.started(*more), other.started(*more):
            pass
        for one in (case, other):
            one.in_order((0,) if more else (0, 2))
        case.expect(0 in (case.code, other.code), "none of both has written")
        told = {one.code: one.err for one in (case, other)}
        case.expect(2 not in told or "--replace" in told[2], "it is not said that there is a file")
        case.wrong += other.wrong
        case.whole(old=False, new=True)
        case.tidy()
        return case


def clock_set_back(rng: Rng) -> Case:
    """What is there comes from the future, or the clock has begun anew."""
    with put(pick(rng, QUICK)) as case, pytest.MonkeyPatch.context() as patch:
        case.here("--replace")
        left = case.folder / ".packsim-00000000-1-left"
        left.write_bytes(b"x")
        for place in case.folder.rglob("*"):
            os.utime(place, (4e9, 4e9))
        if rng.random() < 0.5:
            patch.setattr(time, "time", lambda: 1e5)
        case.here("--replace")
        case.in_order((0,))
        case.whole(old=False, new=True)
        case.tidy()
        return case


def spoilt_cache(rng: Rng) -> Case:
    """What was kept is cut off, emptied or something else; or the folder is a file or full."""
    with put(pick(rng, QUICK)) as case:
        case.here("--replace")
        kept = case.folder / "kept"
        how = int(rng.integers(5))
        for place in kept.rglob("*"):
            if place.is_file() and how < 3:
                raw = place.read_bytes()
                place.write_bytes((raw[: len(raw) // 2], b"", rng.bytes(200))[how])
        if how == 3:
            kept.rename(case.folder / "moved")
            kept.write_bytes(b"a file")
            case.here("--replace")
            kept.unlink()
            (case.folder / "moved").rename(kept)
        elif how == 4:
            with _disk("size=64k") as disk:
                (disk / "filler").write_bytes(b"x" * _free(disk))
                case.here("--replace", cache=disk)
        else:
            case.here("--replace")
        case.in_order((0,))
        case.expect(case.err == "", "a spoilt cache is nothing to talk about")
        case.whole(old=False, new=True)
        case.goes_on()
        return case


def left_before(rng: Rng) -> Case:
    """Temporaries of a program that was killed, of the same machine and of another."""
    with put(pick(rng, QUICK)) as case:
        with subprocess.Popen(["true"]) as gone:
            gone.wait()
        mine = write.unfinished().replace(f"-{os.getpid()}-", f"-{gone.pid}-")
        for folder in (case.folder, case.folder / "kept" / "standing"):
            folder.mkdir(exist_ok=True)
            for i in range(int(rng.integers(1, 4))):
                (folder / f"{mine}{i}").write_bytes(rng.bytes(50))
        case.here("--replace")
        case.in_order((0,))
        case.whole(old=False, new=True)
        case.expect(not list(case.folder.glob(".packsim-*")), "left beside the file")
        return case


KINDS: dict[str, Callable[[Rng], Case]] = {
    "disk full": disk_full,
    "read-only folder": closed_folder,
    "two processes, one name": two_at_once,
    "clock set back": clock_set_back,
    "spoilt or full cache": spoilt_cache,
    "left by a kill": left_before,
}
