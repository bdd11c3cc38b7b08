"""A clip written picture by picture, so that it may be as long as the disk allows."""

import shutil
import tempfile
from pathlib import Path
from subprocess import SubprocessError

import numpy as np
from numpy.typing import NDArray

from packsim.errors import InputError
from packsim.write import check_target, clear_unfinished, unfinished
from viewer.screen.roles import PALETTES, Palette
from viewer.window.gif import GifFile

FILM_FPS = 20.0
"""Pictures per second of a clip taken in the window."""


class Film:
    """An MP4 or GIF in the making, written beside ``path`` first and put in its place by `keep`.

    Raises `InputError` if the path exists and is not to be replaced, or its folder does not.
    """

    def __init__(
        self,
        path: Path,
        fps: float = FILM_FPS,
        *,
        replace: bool = False,
        palette: Palette = PALETTES["light"],
    ) -> None:
        check_target(path, replace=replace)
        self.path, self.fps, self._palette = path, fps, palette
        self.pictures = 0
        self.size_px: tuple[int, int] | None = None
        self._due_s = 0.0
        clear_unfinished(path.parent)
        self._folder = Path(tempfile.mkdtemp(prefix=unfinished(), dir=path.parent))
        self._writer: GifFile | _Mp4File | None = None
        self._whole = True

    @property
    def seconds(self) -> float:
        """Length so far [s]."""
        return self.pictures / self.fps

    def add(self, rgb: NDArray[np.uint8]) -> None:
        """Add a picture of shape (height, width, 3); all must be of one size."""
        if self._writer is None:
            if self.path.suffix.lower() == ".gif":
                self._writer = GifFile(self._part, self.fps, self._palette)
            else:
                self._writer = _Mp4File(self._part, self.fps)
            self.size_px = rgb.shape[1], rgb.shape[0]
        self._whole = False  # a program that is ended in the middle leaves a film nobody can read
        self._writer.append_data(rgb)
        self._whole = True
        self.pictures += 1

    def add_when_due(self, rgb: NDArray[np.uint8], now_s: float) -> None:
        """Add a picture as often as it takes to keep up with a clock that began at 0 [s]."""
        while self._due_s <= now_s + 1e-9:
            self.add(rgb)
            self._due_s += 1.0 / self.fps

    def keep(self) -> Path | None:
        """Finish the film and put it in its place; None if it has no picture, or is not whole."""
        kept = self._writer is not None and self._whole
        writer, self._writer = self._writer, None
        if writer is not None:
            writer.close()
        if kept:
            self._part.replace(self.path)
        self.close()
        return self.path if kept else None

    def close(self) -> None:
        """Stop, and leave nothing of a film that was not kept."""
        writer, self._writer = self._writer, None
        try:
            if writer is not None:
                writer.close()
        except (OSError, InputError):
            pass  # it is thrown away
        finally:
            shutil.rmtree(self._folder, ignore_errors=True)

    @property
    def _part(self) -> Path:
        return self._folder / f"part{self.path.suffix}"


class _Mp4File:
    """An MP4 in the making by ffmpeg.

    Raises `InputError` where no ffmpeg is to be had, or it stops.
    """

    def __init__(self, path: Path, fps: float) -> None:
        try:
            import imageio.v2 as imageio
            import imageio_ffmpeg

            imageio_ffmpeg.get_ffmpeg_version()  # found, and it runs
            # the codec wants even sides; one thread, so that the same pictures give the same file
            self._writer = imageio.get_writer(
                path,
                fps=fps,
                codec="libx264",
                quality=8,
                macro_block_size=2,
                ffmpeg_log_level="error",
                output_params=["-threads", "1"],
            )
        except (ImportError, OSError, RuntimeError, SubprocessError, ValueError):
            raise _NO_FFMPEG from None

    def append_data(self, rgb: NDArray[np.uint8]) -> None:
        """Add a picture of shape (height, width, 3)."""
        try:
            self._writer.append_data(rgb)
        except (OSError, RuntimeError):
            raise _NO_FFMPEG from None

    def close(self) -> None:
        """End the film; what does not end well is no film."""
        try:
            self._writer.close()
        except (OSError, RuntimeError):
            raise _NO_FFMPEG from None


_NO_FFMPEG = InputError(
    "clip",
    "no program that makes films, or one that stopped",
    "ffmpeg, and room on the disk: pip install imageio-ffmpeg, or set IMAGEIO_FFMPEG_EXE to the "
    "program",
)
