"""Write a record to a file and read it back: plain arrays in a zip, nothing that runs code."""

import io
import json
import zipfile
import zlib
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any, get_type_hints

import numpy as np
from numpy.typing import NDArray

from packsim.arrays import Floats
from packsim.errors import InputError, between, finite, whole
from packsim.passage.record import FRAME_ARRAYS, ROLES, Event, Frame, Jam, Profile, Record
from packsim.write import write_bytes

FORMAT = 1
"""Layout of the file; a file of another layout is refused."""

MAX_BYTES = 1_000_000_000
"""Most a file may unpack to; a record of the largest allowed run is under a fifth of it [byte]."""

_FARTHEST = 1e12
"""Most that any number of a record may be: no line is longer, no passage runs so long."""

_TABLES = ("station_mm", "left_mm", "right_mm", "tipped", "kicks", "across")
_DTYPES = dict.fromkeys(FRAME_ARRAYS, np.float32) | {"role": np.uint8, "id": np.uint32}
_PROFILE = tuple(f.name for f in fields(Profile))
_APART = (*_TABLES, "frames", "events", "jams", "profile")
_PLAIN = tuple(f.name for f in fields(Record) if f.name not in _APART)


def save_record(record: Record, path: str | Path, *, replace: bool = True) -> None:
    """Write a record to a compressed file of numpy arrays.

    Parameters
    ----------
    record : Record
        The record.
    path : str or Path
        Where to.
    replace : bool
        Whether an existing file is replaced.

    Raises
    ------
    InputError
        If the file cannot be written, or is there and is not to be replaced.
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
    file = io.BytesIO()
    np.savez_compressed(file, allow_pickle=False, **arrays)
    write_bytes(Path(path), file.getvalue(), replace=replace)


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
        for name, array in arrays.items():
            if not isinstance(array, np.ndarray):
                raise InputError(name, "no array", "an array of numbers")
        return _built(arrays)
    except OSError as error:
        raise InputError("record", error.strerror or str(error), allowed, str(place)) from error
    except (MemoryError, RecursionError) as error:
        too_much = f"more than can be read: {error}"
        raise InputError("record", too_much, allowed, str(place)) from error
    except (ValueError, KeyError, TypeError, EOFError, IndexError) as error:
        got = error.got if isinstance(error, InputError) else f"{type(error).__name__}: {error}"
        raise InputError("record", got, allowed, str(place)) from error
    except (zipfile.BadZipFile, zlib.error, NotImplementedError) as error:
        raise InputError("record", str(error), allowed, str(place)) from error


def _check_size(place: Path) -> None:
    if place.exists() and not place.is_file():  # a pipe would never end
        got = "a folder" if place.is_dir() else "a device or a pipe"
        raise InputError("record", got, "a file")
    with zipfile.ZipFile(place) as archive:
        total = sum(item.file_size for item in archive.infolist())
    if total > MAX_BYTES:
        raise InputError("record", f"{total} bytes unpacked", f"at most {MAX_BYTES}")


def _built(arrays: dict[str, NDArray[Any]]) -> Record:
    head = json.loads(arrays["head"].tobytes())
    if not isinstance(head, dict) or head.get("format") != FORMAT:
        raise InputError("format", "another layout", f"layout {FORMAT}")
    plain = _row(Record, {name: head[name] for name in _PLAIN})
    plain["stages"] = tuple(str(name) for name in head["stages"])
    plain["bounds_mm"] = tuple(finite("bounds_mm", bound) for bound in head["bounds_mm"])
    k = len(plain["stages"])
    for name in ("tipped", "kicks", "across"):
        if arrays[name].ndim != 2 or arrays[name].shape[0] != k:
            raise InputError(name, arrays[name].shape, f"one row for each of the {k} stages")
        if arrays[name].dtype != np.int64 or (arrays[name] < 0).any():
            raise InputError(name, "other numbers", "counts")
    if len(plain["bounds_mm"]) != k + 1:
        raise InputError("bounds_mm", len(plain["bounds_mm"]), f"{k + 1} boundaries")
    _check_faces(*(arrays[name] for name in _TABLES[:3]))
    profile = None
    if "profile_station_mm" in arrays:
        columns = [arrays[f"profile_{name}"] for name in _PROFILE]
        for name, column in zip(_PROFILE, columns, strict=True):
            if column.dtype != np.float64 or column.shape != (columns[0].size,):
                raise InputError(f"profile_{name}", column.shape, f"{columns[0].size} numbers")
        profile = Profile(*columns)
    parts: dict[str, Any] = plain | {name: arrays[name] for name in _TABLES}
    return Record(
        **parts,
        frames=_frames(arrays),
        events=tuple(Event(**_row(Event, event, k)) for event in head["events"]),
        jams=tuple(Jam(**_row(Jam, jam, k)) for jam in head["jams"]),
        profile=profile,
    )


def _row(owner: type, given: dict[str, Any], stages: int = 0) -> dict[str, Any]:
    """Return the values of a class's fields as they came, each of its field's type."""
    hints = get_type_hints(owner)
    for name, value in given.items():
        kind = hints.get(name)
        right = type(value) is kind or (kind is float and type(value) is int)
        if kind in (bool, int, float, str) and not right:
            raise InputError(name, repr(value), f"a value of type {kind.__name__}")
        if kind in (int, float):
            between(name, value, -_FARTHEST, _FARTHEST)
        if name == "stage":
            whole(name, value, 0, stages - 1, f"one of {stages} stages")
    return dict(given)


def _check_faces(station: Floats, left: Floats, right: Floats) -> None:
    """Raise `InputError` unless there are guides along the line, the left one left of the right."""
    for name, column in (("station_mm", station), ("left_mm", left), ("right_mm", right)):
        _check_numbers(name, column)
        if column.dtype != np.float64 or column.shape != (max(station.size, 2),):
            raise InputError(name, column.shape, "two places or more, as many in each column")
    if (np.diff(station) < 0.0).any() or (right - left < 1.0).any():
        raise InputError("station_mm", "guides that cross", "guides apart, in order along travel")


def _check_numbers(name: str, column: NDArray[Any]) -> None:
    if column.dtype.kind == "f" and not (np.abs(column) <= _FARTHEST).all():
        raise InputError(name, "a number beyond all lines", f"at most {_FARTHEST:g}")


def _frames(arrays: dict[str, NDArray[Any]]) -> tuple[Frame, ...]:
    times, sizes = arrays["frame_times"], arrays["frame_sizes"]
    if times.shape != (sizes.size, 3) or (sizes < 0).any():
        raise InputError("frames", times.shape, f"three times for each of {sizes.size} frames")
    _check_numbers("frame_times", times)
    if (arrays["frame_role"] >= len(ROLES)).any():
        raise InputError("role", "no role of a can", f"0 to {len(ROLES) - 1}")
    ends = np.cumsum(sizes)
    columns = {}
    for name, dtype in _DTYPES.items():
        column = arrays[f"frame_{name}"]
        if column.dtype != dtype or column.shape != (int(sizes.sum()),):
            raise InputError(name, f"{column.dtype} {column.shape}", f"{int(sizes.sum())} values")
        _check_numbers(name, column)
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
