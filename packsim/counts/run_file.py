"""Finished runs kept in a file as they come, so that a count that was cut off goes on.

The file is text, one JSON object a line. The first says what the runs depend on: version and digest
of the program, cans of a run, step, and of each line its can size, seed, stages and a digest of the
track. Each further line is a run that finished, as `packsim.counts.passages.OneRun` has it, with
the number of its line, and a checksum over both and the first line.
"""

from __future__ import annotations

import hashlib
import json
import math
import os
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

import numpy as np

from packsim.counts.clusters import Cluster
from packsim.counts.passages import OneRun
from packsim.errors import InputError, InputErrors
from packsim.kept import digest_of, program_digest
from packsim.passage.record import Jam, Profile
from packsim.passage.track import Track
from packsim.version import program_version
from packsim.write import check_target

LAYOUT: Final = 1
"""Layout of the file; a file of another layout is refused."""

_KIND: Final = {"file": "finished runs"}
_BEGINS: Final = json.dumps(_KIND)[:-1].encode()
_LONGEST_HEAD: Final = 10_000_000
_TABLES: Final = ("tips", "kicks", "across")


def head_of(
    lines: Iterable[tuple[str, int, Track, bool]], cans: int, dt_s: float
) -> dict[str, Any]:
    """Return the first line of a file.

    Parameters
    ----------
    lines : iterable of packsim.counts.many.Line
        The lines.
    cans : int
        Cans to count in each run.
    dt_s : float
        Length of a step [s].
    """
    rooms = ("counts", "passage", "tipping", "spray", "pack")
    return {
        **_KIND,
        "layout": LAYOUT,
        "version": program_version(),
        "program": program_digest(*rooms)[:16],
        "cans": cans,
        "dt_s": dt_s,
        "lines": [
            {
                "size": size,
                "seed": seed,
                "whole_line": whole_line,
                "can_friction": track.can_friction,
                "stages": ", ".join(track.stages),
                "track": digest_of(track),
            }
            for size, seed, track, whole_line in lines
        ],
    }


class RunFile:
    """A file of finished runs: those it has, and those that are added.

    Parameters
    ----------
    path : Path
        The file; made where there is none.
    head : dict
        From `head_of`.

    Attributes
    ----------
    runs : dict
        The runs by line and number.
    problem : str
        Why the last runs could not be written, or empty.

    Raises
    ------
    InputError
        If the file cannot be read and written, is of another kind, or its runs were counted on
        another line, from another seed or by another version of the program.

    Notes
    -----
    Lines are only ever added, each in one go: two commands that share a file do no harm. One that
    was cut off, as the last one by a power cut, is passed over, and its run counted again.
    """

    def __init__(self, path: Path, head: dict[str, Any]) -> None:
        self.problem, self._due, self._head = "", b"", _text(head)
        self.runs: dict[tuple[int, int], OneRun] = {}
        try:
            check_target(path, replace=True)
            self._file = path.open("a+b", buffering=0)
        except InputError as error:
            raise InputError("resume", path, error.allowed) from error
        except OSError as error:
            reason = f"a file that can be written ({error.strerror})"
            raise InputError("resume", path, reason) from error
        try:
            self._file.seek(0)
            self._read(path, head)
        except BaseException:
            self._file.close()
            raise

    def add(self, line: int, run: OneRun) -> None:
        """Write a run that finished; what the disk refuses is tried again with the next."""
        told = _told(line, run)
        self._write(_text({"check": _check(self._head, told), "run": told}))

    def __enter__(self) -> RunFile:
        return self

    def __exit__(self, *_: object) -> None:
        if self.problem:
            self._write()
        with suppress(OSError):
            self._file.close()

    def _write(self, *lines: str) -> None:
        self._due += b"".join(line.encode() + b"\n" for line in lines)
        try:
            whole = self._file.write(self._due) == len(self._due)
            os.fsync(self._file.fileno())
            self.problem = "" if whole else "the disk is full"
        except OSError as error:
            self.problem = error.strerror or str(error)
        # what was begun is passed over: the next time it is a line of its own
        self._due = b"\n" + self._due.lstrip(b"\n") if self.problem else b""

    def _read(self, path: Path, head: dict[str, Any]) -> None:
        """Read what is there, and begin the file where that is nothing."""
        first = self._file.readline(_LONGEST_HEAD)
        if not first.endswith(b"\n") and (_BEGINS.startswith(first) or first.startswith(_BEGINS)):
            self._file.truncate(0)  # nothing yet, or cut off as it was begun
            self._write(self._head)
            return
        try:
            found = json.loads(first)
            differ = _differ(found, head) if found["file"] == head["file"] else None
        except (ValueError, TypeError, LookupError, RecursionError):
            differ = None
        if differ is None:
            needs = "a new file name, or a file that --resume wrote"
            raise InputError("resume", "a file of another kind", needs, str(path))
        if differ:
            raise InputErrors([one.in_file(str(path)) for one in differ])
        text = self._file.read()
        for line in text.split(b"\n"):
            self._take(line)
        self._due = b"" if text.endswith(b"\n") or not text else b"\n"

    def _take(self, line: bytes) -> None:
        with suppress(ValueError, TypeError, LookupError, RecursionError):
            whole = json.loads(line)
            if whole["check"] == _check(self._head, whole["run"]):
                at, run = _run(whole["run"])
                self.runs[at, run.number] = run


def _differ(found: dict[str, Any], head: dict[str, Any]) -> list[InputError]:
    """Return what keeps the runs of a file from counting for what is asked now."""
    if found["layout"] != head["layout"]:
        return [InputError("layout", found["layout"], f"layout {LAYOUT}")]
    other = "or another file for --resume"
    if found["version"] != head["version"]:
        return [InputError("version", found["version"], f"{head['version']}, {other}")]
    if found["program"] != head["program"]:
        got = f"{found['version']} with other program files"
        return [InputError("version", got, f"the program that is running now, {other}")]
    asked = f"as asked now, {other}"
    complaints = [
        InputError(key, found[key], f"{head[key]}, {asked}")
        for key in ("cans", "dt_s")
        if found[key] != head[key]
    ]
    was, now = found["lines"], head["lines"]
    if len(was) != len(now):
        got, needs = f"runs at {len(was)} of them", f"runs at {len(now)}, {asked}"
        return [*complaints, InputError("guides", got, needs)]
    for old, new in zip(was, now, strict=True):
        keys = [key for key in new if key != "track" and old[key] != new[key]]
        complaints += [InputError(key, old[key], f"{new[key]}, {asked}") for key in keys]
        if not keys and old["track"] != new["track"]:
            got = "runs of this line with other numbers in it"
            needs = f"runs of the line as it is now, {other}"
            complaints.append(InputError("scenario", got, needs))
    return list({one.key: one for one in reversed(complaints)}.values())[::-1]


def _told(line: int, run: OneRun) -> dict[str, Any]:
    told = {"line": line} | asdict(run)
    told |= {name: getattr(run, name).tolist() for name in _TABLES}
    told["profile"] = None
    if run.profile is not None:
        columns = asdict(run.profile)
        told["profile"] = {name: _list(column.tolist()) for name, column in columns.items()}
    return told


def _run(told: dict[str, Any]) -> tuple[int, OneRun]:
    parts = dict(told)
    line = parts.pop("line")
    parts |= {name: np.array(parts[name], dtype=np.int64) for name in _TABLES}
    if parts["profile"] is not None:
        columns = {name: np.array(column, float) for name, column in parts["profile"].items()}
        parts["profile"] = Profile(**columns)
    parts["jams"] = tuple(Jam(**jam) for jam in parts["jams"])
    parts["clusters"] = tuple(Cluster(**cluster) for cluster in parts["clusters"])
    return line, OneRun(**parts)


def _list(column: Sequence[float]) -> list[float | None]:
    return [None if math.isnan(value) else value for value in column]


def _text(told: dict[str, Any]) -> str:
    return json.dumps(told, allow_nan=False, default=lambda number: number.item())


def _check(head: str, told: dict[str, Any]) -> str:
    return hashlib.blake2b(f"{head}\n{_text(told)}".encode(), digest_size=8).hexdigest()
