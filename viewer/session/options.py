"""What ``packsim-viewer`` can be told on the command line."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from packsim.errors import InputError

__all__ = ["read_options", "size_px"]

MAX_SIDE = 8192
"""Largest side of a window or a captured picture [px]."""


def read_options(arguments: list[str]) -> argparse.Namespace:
    """Read the command line; a bad option ends with one line and exit code 2."""
    parser = _Parser(
        prog="packsim-viewer",
        description="Watch a can pack on its way through the washer, and change it while it runs.",
    )
    add = parser.add_argument
    add("scenario", nargs="?", type=Path, help="scenario file, or a recorded passage (.npz)")
    add("--lesson", type=Path, metavar="FILE", help="a lesson, see scenarios/lessons")
    add("--can", metavar="NAME", help="can size on the line; the one the guides are set for")
    add("--beside", type=Path, metavar="FILE", help="second scenario, shown under the first")
    add("--beside-can", metavar="NAME", help="second pack: same line, another can size")
    add("--seed", type=int, help="seed of the passage; the scenario's own when left out")
    add("--size", type=_size, default=(1280, 720), metavar="WxH", help="window, 1280x720")
    add("--scale", type=float, help="size of text and panels; chosen from the window")
    add("--folder", type=Path, default=Path(), help="where pictures and scenarios are saved")
    add("--capture", type=Path, metavar="OUT", help="no window: .png, .gif, .mp4 or a folder")
    add("--seconds", type=float, default=10.0, help="how long a capture shows")
    add("--after", type=float, default=0.0, help="seconds of passage before a capture begins")
    add("--fps", type=float, default=20.0, help="pictures per second of a capture")
    add("--look", choices=("line", "stage", "worst"), default="line", help="what a capture shows")
    add("--stage", type=int, default=1, help="chosen stage, counted from 1")
    add("--follow", action="store_true", help="ride with the pack")
    add("--replace", action="store_true", help="overwrite what a capture finds")
    options = parser.parse_args(arguments)
    _check(options)
    return options


def size_px(text: str) -> tuple[int, int]:
    """Read a size such as ``1920x1080``.

    Raises
    ------
    InputError
        If it is none, or a side is outside 320..8192.
    """
    found = re.fullmatch(r"(\d{1,5})[xX×](\d{1,5})", text.strip())
    if found:
        wide, tall = int(found[1]), int(found[2])
        if 320 <= wide <= MAX_SIDE and 200 <= tall <= MAX_SIDE:
            return wide, tall
    raise InputError("--size", text, f"WIDTHxHEIGHT, 320x200 to {MAX_SIDE}x{MAX_SIDE}")


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> None:  # type: ignore[override]
        """Complain in one line, without the usage."""
        raise InputError("options", message, "what packsim-viewer --help lists")


def _size(text: str) -> tuple[int, int]:
    try:
        return size_px(text)
    except InputError as problem:
        raise argparse.ArgumentTypeError(str(problem)) from None


def _check(options: argparse.Namespace) -> None:
    if (options.scenario is None) == (options.lesson is None):
        raise InputError("options", "no file" if options.lesson is None else "two files",
                         "a scenario file, or --lesson FILE")  # fmt: skip
    if options.beside is not None and options.beside_can is not None:
        raise InputError("--beside-can", options.beside_can, "only one of the --beside options")
    limits = {"seconds": (0.01, 36_000.0), "fps": (0.1, 240.0), "after": (0.0, 36_000.0)}
    for name, (low, high) in limits.items():
        value = getattr(options, name)
        if not low <= value <= high:
            raise InputError(f"--{name}", value, f"a number from {low:g} to {high:g}")
    if options.scale is not None and not 0.5 <= options.scale <= 4.0:
        raise InputError("--scale", options.scale, "a number from 0.5 to 4")
    if options.seed is not None and not 0 <= options.seed < 2**63:
        raise InputError("--seed", options.seed, "a whole number from 0 to 2^63 - 1")
    if not options.folder.is_dir():
        raise InputError("--folder", options.folder, "a folder that exists")
