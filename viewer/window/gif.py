"""A GIF written picture by picture: only the last one is held, however long the film is."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from PIL.GifImagePlugin import getdata

from viewer.screen.roles import PALETTES, Palette

_COLOURS = 128
"""Colours of the one palette; the last stands for "as before"."""

_AS_BEFORE = _COLOURS - 1

_LEAST_CS = 2
"""Shorter than this no viewer of GIFs shows a picture [1/100 s]."""


class GifFile:
    """A GIF in the making; pictures shorter than 1/50 s are left out, the speed stays.

    One palette serves all pictures, and each holds only the part that differs from the one before:
    what stands still takes no room.
    """

    def __init__(self, path: Path, fps: float, palette: Palette = PALETTES["light"]) -> None:
        self._inks = palette.colours
        self._file, self._fps = path.open("wb"), fps
        self._palette: Image.Image | None = None
        self._shown = self._held = np.empty((0, 0), dtype=np.uint8)
        self._held_cs = self._count = 0

    def append_data(self, rgb: NDArray[np.uint8]) -> None:
        """Add a picture of shape (height, width, 3)."""
        now_cs = round(100.0 * self._count / self._fps)
        self._count += 1
        picture = Image.fromarray(np.ascontiguousarray(rgb))
        if self._palette is None:
            self._palette = _palette_of(picture, np.array(self._inks, dtype=np.uint8))
            self._file.write(_head(picture.size, self._palette))
        elif now_cs - self._held_cs < _LEAST_CS:
            return
        cells = np.array(picture.quantize(palette=self._palette, dither=Image.Dither.NONE))
        if self._held.size and not np.array_equal(cells, self._held):
            self._write(now_cs)
            self._held_cs = now_cs
        self._held = cells

    def close(self) -> None:
        """Write the last picture and the end."""
        if self._held.size:
            end_cs = round(100.0 * self._count / self._fps)
            self._write(max(end_cs, self._held_cs + _LEAST_CS))
            self._file.write(b";")
        self._file.close()

    def _write(self, until_cs: int) -> None:
        """Write the picture held, as far as it differs from the one shown before."""
        cells, top, left = self._held, 0, 0
        if self._shown.size:
            other = cells != self._shown
            rows, columns = np.flatnonzero(other.any(axis=1)), np.flatnonzero(other.any(axis=0))
            top, left = int(rows[0]), int(columns[0])
            part = np.s_[top : int(rows[-1]) + 1, left : int(columns[-1]) + 1]
            cells = np.where(other[part], cells[part], np.uint8(_AS_BEFORE))
        part_image = Image.fromarray(cells)
        for block in getdata(
            part_image,
            (left, top),
            duration=10 * (until_cs - self._held_cs),
            transparency=_AS_BEFORE,
            disposal=1,
        ):
            self._file.write(block)
        self._shown = self._held


def _head(size: tuple[int, int], palette: Image.Image) -> bytes:
    """Return the size, the palette, and that the film begins again at its end."""
    colours = bytes(palette.getpalette() or ())[: 3 * _AS_BEFORE].ljust(3 * _COLOURS, b"\0")
    screen = b"".join(side.to_bytes(2, "little") for side in size) + b"\xf6\0\0"
    return b"GIF89a" + screen + colours + b"!\xff\x0bNETSCAPE2.0\x03\x01\0\0\0"


def _palette_of(first: Image.Image, colours: NDArray[np.uint8]) -> Image.Image:
    """Return the palette of the first picture and of every colour that a later one may need."""
    tall = max(1, first.height // 8)
    patches = np.repeat(colours[None], tall, axis=0).repeat(-(-first.width // len(colours)), axis=1)
    sample = Image.new("RGB", (first.width, first.height + tall))
    sample.paste(first, (0, 0))
    sample.paste(Image.fromarray(patches), (0, first.height))
    return sample.quantize(_AS_BEFORE)
