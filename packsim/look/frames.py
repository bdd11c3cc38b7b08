"""Pictures of a folder or a film one after the other, each with the time it was taken."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, NamedTuple

from packsim.arrays import Floats
from packsim.errors import InputError, positive
from packsim.look.photograph import FORMATS, check_size, read_photograph

PICTURES: Final = (".jpg", ".jpeg", ".png", ".tif", ".tiff")
FILMS: Final = (".mp4", ".mov", ".m4v", ".avi", ".mkv", ".webm")

MOST_PICTURES: Final = 300
"""Pictures that are looked at; each takes a second or more."""

USUAL_PICTURES: Final = 60
"""Pictures of a film that are looked at where nobody says how often."""

_EXIF, _TAKEN, _PART = 0x8769, 0x9003, 0x9291
"""Where a file keeps the notes of its camera, and those of when it was taken (EXIF)."""

_LISTS: Final = "a film in one file (MP4, MOV, AVI, MKV, WEBM)"


class Picture(NamedTuple):
    """One picture: its name, its time [s] or None, and its brightness, shape (h, w)."""

    name: str
    time_s: float | None
    grey: Floats | InputError


def is_many(place: Path) -> bool:
    """Return whether a place is a folder of pictures or a film, by what it is and its name."""
    return place.is_dir() or place.suffix.lower() in FILMS


def pictures_of(place: Path, every_s: float | None = None) -> tuple[int, Iterator[Picture]]:
    """Return how many pictures a folder or a film gives, and the pictures.

    Parameters
    ----------
    place : Path
        A folder with pictures, or a film.
    every_s : float, optional
        Time from one picture to the next. Of a folder it goes by the names, else by what the
        cameras noted; of a film so many pictures are left out [s].

    Returns
    -------
    count : int
        Pictures.
    pictures : iterator of Picture
        A picture that cannot be read comes with the reason in place of its brightness.

    Raises
    ------
    InputError
        If there are no pictures, too many, or the film is none.
    """
    if every_s is not None:
        positive("every", every_s)
    return _in_folder(place, every_s) if place.is_dir() else _in_film(place, every_s)


def _in_folder(place: Path, every_s: float | None) -> tuple[int, Iterator[Picture]]:
    try:
        inside = sorted(place.iterdir())
    except OSError as error:
        raise InputError("photo", error.strerror or "", "a folder to read", str(place)) from None
    files = [one for one in inside if one.suffix.lower() in PICTURES and one.is_file()]
    if not 2 <= len(files) <= MOST_PICTURES:
        allowed = f"2 to {MOST_PICTURES} of them ({', '.join(PICTURES)})"
        raise InputError("photo", f"{len(files)} pictures in the folder", allowed, str(place))
    if every_s is not None:
        times: list[float | None] = [every_s * k for k in range(len(files))]
    else:
        taken = [_taken_s(one) for one in files]
        known = [one for one in taken if one is not None]
        first = min(known, default=0.0)
        whole = len(known) == len(files)
        times = [one - first if whole and one is not None else None for one in taken]

    def each() -> Iterator[Picture]:
        for file, time_s in zip(files, times, strict=True):
            try:
                yield Picture(file.name, time_s, read_photograph(file))
            except InputError as problem:
                yield Picture(file.name, time_s, problem)

    return len(files), each()


def _taken_s(file: Path) -> float | None:
    """When a camera noted that it took a picture, from any fixed day [s]; None where it did not."""
    from PIL import Image

    try:
        with Image.open(file, formats=FORMATS) as opened:
            notes = opened.getexif().get_ifd(_EXIF)
        when = dt.datetime.strptime(str(notes[_TAKEN]).strip("\0 "), "%Y:%m:%d %H:%M:%S")
        part = str(notes.get(_PART, "0")).strip("\0 ")
        return (when - dt.datetime(2000, 1, 1)).total_seconds() + float(f"0.{int(part or 0)!s}")
    except (OSError, SyntaxError, ValueError, KeyError, TypeError, AttributeError, EOFError):
        return None


def _in_film(place: Path, every_s: float | None) -> tuple[int, Iterator[Picture]]:
    _check_film(place)
    reader, rate, count = _opened(place)
    asked = max(1, round(every_s * rate)) if every_s is not None else 0
    stride = asked or max(1, math.ceil(count / USUAL_PICTURES))
    looked_at = math.ceil(count / stride)
    if not 2 <= looked_at <= MOST_PICTURES:
        reader.close()
        allowed = f"2 to {MOST_PICTURES}: another time from picture to picture (--every)"
        raise InputError("every", f"{looked_at} pictures of the film", allowed)
    return looked_at, _frames(reader, place, rate, stride)


def _check_film(place: Path) -> None:
    """Raise `InputError` unless a file begins as a film does.

    A list of other files or of addresses would be followed by what reads films.
    """
    try:
        with place.open("rb") as opened:
            head = opened.read(16)
    except OSError as error:
        allowed = "a film that can be read"
        raise InputError("photo", error.strerror or "", allowed, str(place)) from None
    riff = head[:4] == b"RIFF" and head[8:11] == b"AVI"
    mp4 = head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip")
    if not (riff or mp4 or head[:4] == b"\x1a\x45\xdf\xa3"):
        got = "no film" if head else "an empty file"
        raise InputError("photo", got, _LISTS, str(place))


def _opened(place: Path) -> tuple[Any, float, int]:
    """Return what reads a film, its pictures a second, and how many it has."""
    import imageio.v2 as imageio

    try:
        reader = imageio.get_reader(place, "ffmpeg")
        about = reader.get_meta_data()
        rate, duration = float(about["fps"]), float(about["duration"])
        size = about["size"]
    except (OSError, RuntimeError, ValueError, KeyError, IndexError, TypeError) as error:
        said = f"a film that cannot be read ({str(error).strip().rpartition(chr(10))[2]})"
        raise InputError("photo", said, _LISTS, str(place)) from None
    try:
        check_size((int(size[0]), int(size[1])), 1, str(place))
    except InputError:
        reader.close()
        raise
    if not (0.0 < rate < 1e5 and 0.0 < duration < 1e6):
        reader.close()
        allowed = "one that says how long it is: write it anew with any program for films"
        raise InputError("photo", f"a film of {duration:g} s", allowed, str(place))
    return reader, rate, max(1, round(rate * duration))


def _frames(reader: Any, place: Path, rate: float, stride: int) -> Iterator[Picture]:
    """Yield every so many-th picture of a film until it ends, also where it is cut off."""
    import numpy as np

    try:
        for k, frame in enumerate(reader):
            if k % stride == 0:
                grey = np.asarray(frame) @ (np.array([0.299, 0.587, 0.114]) / 255.0)
                yield Picture(f"{place.name} {k / rate:.2f} s", k / rate, grey)
    except (OSError, RuntimeError, IndexError):  # its end is missing
        return
    finally:
        reader.close()
