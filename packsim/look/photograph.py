"""A photograph as a picture of brightness, or a sentence about why it is none."""

from __future__ import annotations

import math
import warnings
from pathlib import Path
from typing import Any, Final

import numpy as np

from packsim.arrays import Floats
from packsim.errors import InputError

FORMATS: Final = ("JPEG", "PNG", "TIFF")

_MOST_BYTES: Final = 60_000_000
"""A photograph of fifty megapixels as JPEG has about half of it."""

_MOST_PX: Final = 60_000_000

_LEAST_PX: Final = 100
"""Pixels along the shorter side, below which no can has a rim."""

_EXIF, _ON_FILM = 0x8769, 0xA405
"""Where a file keeps the notes of its camera, and the one of its focal length."""

_FILM_MM: Final = math.hypot(36.0, 24.0)

_HEIF: Final = (b"heic", b"heix", b"heif", b"hevc", b"mif1", b"msf1", b"avif")


def read_photograph(photo: str | Path) -> Floats:
    """Return the brightness of a photograph.

    Parameters
    ----------
    photo : str or Path
        A JPEG, PNG or TIFF file, of one picture; turned as its camera noted (EXIF).

    Returns
    -------
    ndarray, shape (h, w)
        Brightness as stored, 0 to 1; colours weighed as the eye does, what is transparent is white.

    Raises
    ------
    InputError
        Names the file and says what it is instead.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    path, file = Path(photo), str(photo)
    _check_file(path, file)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of metadata, and of sizes that are refused below
            with Image.open(path, formats=FORMATS) as opened:
                check_size(opened.size, getattr(opened, "n_frames", 1), file)
                return _brightness(ImageOps.exif_transpose(opened))
    except UnidentifiedImageError:
        raise _other(path, file) from None
    except Image.DecompressionBombError:
        raise InputError("picture", "far too many pixels", _size_allowed(), file) from None
    except (OSError, SyntaxError, ValueError, EOFError) as error:
        if isinstance(error, InputError):
            raise
        said = f"a picture that cannot be read to its end ({error})"
        raise InputError("picture", said, "a whole JPEG, PNG or TIFF file", file) from None


def focal_length_px(photo: str | Path) -> float | None:
    """Return the focal length of the camera as the file says it, or None where it does not.

    It is noted as what it would be on film 36 mm by 24 mm, by the diagonal (EXIF) [px].
    """
    from PIL import Image

    with Image.open(photo, formats=FORMATS) as opened:
        noted: Any = opened.getexif().get_ifd(_EXIF).get(_ON_FILM)
        try:
            on_film = float(noted)
        except (TypeError, ValueError, ZeroDivisionError):
            return None
        return on_film / _FILM_MM * math.hypot(*opened.size) if on_film > 0.0 else None


def _check_file(path: Path, file: str) -> None:
    if path.is_dir():
        raise InputError("photo", "a folder", "a JPEG, PNG or TIFF file", file)
    try:
        size = path.stat().st_size
    except OSError as error:
        said = error.strerror or "no such file"
        raise InputError("photo", said, "a file that can be read", file) from None
    if not path.is_file():
        raise InputError("photo", "no ordinary file", "a JPEG, PNG or TIFF file", file)
    if size > _MOST_BYTES:
        allowed = f"at most {_MOST_BYTES / 1e6:.0f} MB: save the picture smaller"
        raise InputError("photo", f"{size / 1e6:.0f} MB", allowed, file)


def _size_allowed() -> str:
    return f"{_LEAST_PX} pixels or more a side and at most {_MOST_PX / 1e6:.0f} megapixels"


def check_size(size: tuple[int, int], frames: int, file: str) -> None:
    """Raise `InputError` for a picture of a size no photograph has, or one of several."""
    if min(size) < _LEAST_PX or size[0] * size[1] > _MOST_PX:
        raise InputError("picture", f"{size[0]} x {size[1]} pixels", _size_allowed(), file)
    if frames > 1:
        raise InputError("picture", f"{frames} pictures in one file", "a single picture", file)


def _other(path: Path, file: str) -> InputError:
    """Return the complaint about what the file is, by its first bytes."""
    with path.open("rb") as opened:
        head = opened.read(16)
    allowed = "a JPEG, PNG or TIFF picture"
    if head[4:8] == b"ftyp" and head[8:12] in _HEIF:
        allowed = "JPEG, PNG or TIFF: let the phone save or share it as JPEG"
        return InputError("photo", "an HEIC or HEIF picture", allowed, file)
    return InputError("photo", "no picture" if head else "an empty file", allowed, file)


def _brightness(picture: object) -> Floats:
    from PIL import Image

    assert isinstance(picture, Image.Image)  # noqa: S101 - for the types: Pillow is imported late
    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        seen = picture.convert("RGBA")
        picture = Image.alpha_composite(Image.new("RGBA", seen.size, "white"), seen)
    if picture.mode.startswith(("I", "F")):
        deep = np.asarray(picture, dtype=np.float32)
        low, high = (float(v) for v in np.quantile(deep, (0.0005, 0.9995)))
        return np.asarray(np.clip((deep - low) / max(high - low, 1e-9), 0.0, 1.0), dtype=np.float64)
    return np.asarray(picture.convert("L"), dtype=np.float64) / 255.0
