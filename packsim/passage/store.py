"""Write a record to a file and read it back: plain arrays in a zip, nothing that runs code."""

import json
import zipfile
import zlib
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from packsim.errors import InputError
from packsim.passage.record import FRAME_ARRAYS, Event, Frame, Jam, Profile, Record

FORMAT = 1
"""Layout of the file; a file of another layout is refused."""

MAX_BYTES = 1_000_000_000
"""Most a file may unpack to; a record of the largest allowed run is under a fifth of it [byte]."""

_TABLES = ("station_mm", "left_mm", "right_mm", "tipped", "kicks", "across")
_DTYPES = dict.fromkeys(FRAME_ARRAYS, np.float32) | {"role": np.uint8, "id": np.uint32}
_PROFILE = tuple(f.name for f in fields(Profile))
_APART = (*_TABLES, "frames", "events", "jams", "profile")
_PLAIN = tuple(f.name for f in fields(Record) if f.name not in _APART)


def save_record(record: Record, path: str | Path) -> None:
    """Write a record to a compressed file of numpy arrays.

    Parameters
    ----------
    record : Record
        The record.
    path : str or Path
        Where to; an existing file is replaced.
    """
    arrays: dict[str, NDArray[Any]] = {name: getattr(record, name) for name in _TABLES}
    if record.profile is not None:
        arrays |= {f"profile_{name}": getattr(record.profile, name) for name in _PROFILE}
    head = {name: getattr(record, name) for name in _PLAIN}
    head |= {
        "format": FORMAT,
        "events": [asdict(event) for event in record.events],
        "jams": [asdict(jam) for jam in record.jams],
    }
    frames = record.frames
    arrays["head"] = np.frombuffer(json.dumps(head).encode(), dtype=np.uint8)
    times = [(frame.time_s, frame.travel_mm, frame.station_mm) for frame in frames]
    arrays["frame_times"] = np.array(times, dtype=np.float64).reshape(-1, 3)
    arrays["frame_sizes"] = np.array([len(frame) for frame in frames], dtype=np.int64)
    for name, dtype in _DTYPES.items():
        parts = [getattr(frame, name) for frame in frames]
        arrays[f"frame_{name}"] = np.concatenate(parts) if parts else np.empty(0, dtype=dtype)
    with Path(path).open("wb") as file:
        np.savez_compressed(file, allow_pickle=False, **arrays)


def load_record(path: str | Path) -> Record:
    """Read a record that `save_record` wrote.

    Parameters
    ----------
    path : str or Path
        The file.

    Returns
    -------
    Record
        Equal to the one saved, array for array.

    Raises
    ------
    InputError
        If there is no such file, or it is not a whole record of this layout.
    """
    place = Path(path)
    allowed = "a passage record written by this program"
    try:
        _check_size(place)
        with np.load(place, allow_pickle=False) as file:
            arrays = {name: file[name] for name in file.files}
        return _built(arrays)
    except OSError as error:
        raise InputError("record", error.strerror or str(error), allowed, str(place)) from error
    except (ValueError, KeyError, TypeError, EOFError, IndexError) as error:
        got = error.got if isinstance(error, InputError) else f"{type(error).__name__}: {error}"
        raise InputError("record", got, allowed, str(place)) from error
    except (zipfile.BadZipFile, zlib.error, NotImplementedError) as error:
        raise InputError("record", str(error), allowed, str(place)) from error


def _check_size(place: Path) -> None:
    with zipfile.ZipFile(place) as archive:
        total = sum(item.file_size for item in archive.infolist())
    if total > MAX_BYTES:
        raise InputError("record", f"{total} bytes unpacked", f"at most {MAX_BYTES}")


def _built(arrays: dict[str, NDArray[Any]]) -> Record:
    head = json.loads(arrays["head"].tobytes())
    if not isinstance(head, dict) or head.get("format") != FORMAT:
        raise InputError("format", "another layout", f"layout {FORMAT}")
    plain = {name: head[name] for name in _PLAIN}
    plain["stages"] = tuple(str(name) for name in head["stages"])
    plain["bounds_mm"] = tuple(float(bound) for bound in head["bounds_mm"])
    k = len(plain["stages"])
    for name in ("tipped", "kicks", "across"):
        if arrays[name].ndim != 2 or arrays[name].shape[0] != k:
            raise InputError(name, arrays[name].shape, f"one row for each of the {k} stages")
    if len(plain["bounds_mm"]) != k + 1:
        raise InputError("bounds_mm", len(plain["bounds_mm"]), f"{k + 1} boundaries")
    profile = None
    if "profile_station_mm" in arrays:
        profile = Profile(*(arrays[f"profile_{name}"] for name in _PROFILE))
    parts: dict[str, Any] = plain | {name: arrays[name] for name in _TABLES}
    return Record(
        **parts,
        frames=_frames(arrays),
        events=tuple(Event(**event) for event in head["events"]),
        jams=tuple(Jam(**jam) for jam in head["jams"]),
        profile=profile,
    )


def _frames(arrays: dict[str, NDArray[Any]]) -> tuple[Frame, ...]:
    times, sizes = arrays["frame_times"], arrays["frame_sizes"]
    if times.shape != (sizes.size, 3) or (sizes < 0).any():
        raise InputError("frames", times.shape, f"three times for each of {sizes.size} frames")
    ends = np.cumsum(sizes)
    columns = {}
    for name, dtype in _DTYPES.items():
        column = arrays[f"frame_{name}"]
        if column.dtype != dtype or column.shape != (int(sizes.sum()),):
            raise InputError(name, f"{column.dtype} {column.shape}", f"{int(sizes.sum())} values")
        columns[name] = column
    return tuple(
        Frame(
            float(time),
            float(travel),
            **{name: column[end - size : end] for name, column in columns.items()},
            station_mm=float(station),
        )
        for (time, travel, station), size, end in zip(times, sizes, ends, strict=True)
    )
