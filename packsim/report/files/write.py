"""Writing a file so that a half-written one never takes the place of a whole one."""

import errno
import os
import tempfile
from pathlib import Path

from packsim.errors import InputError


def check_target(path: Path, *, replace: bool = False) -> None:
    """Refuse a place that cannot or must not be written, before any work is done.

    A link stands for the file it leads to. `InputError` if the path is a directory, a device or a
    pipe, no name a file can have, its folder is missing or closed to writing, or if it exists and
    must not be replaced or is protected.
    """
    try:
        complaint = _complaint(path, _place(path), replace=replace)
    except (OSError, ValueError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or error
        raise InputError("output", path, f"a possible file name ({reason})") from error
    if complaint:
        raise InputError("output", path, complaint)


def _complaint(path: Path, place: Path, *, replace: bool) -> str:
    if place.is_dir():
        return "a file name, not a directory"
    if not place.parent.is_dir():
        return "a folder that exists"
    if not os.access(place.parent, os.W_OK):
        return "a folder that may be written"
    if not place.exists():
        return ""
    if not place.is_file():
        return "a plain file, or - for standard output"
    if not replace:
        return "a new file name, or --replace to overwrite it"
    return "" if os.access(place, os.W_OK) else "a file that may be written"


def _place(path: Path) -> Path:
    """Return the file a path leads to, whether it exists or not."""
    try:
        path.lstat()  # also refuses what no name can be, which is_symlink would pass over
    except (FileNotFoundError, NotADirectoryError):
        return path
    if not path.is_symlink():
        return path
    place = path.resolve()
    if place.is_symlink():  # newer Pythons give the link back; older ones complain
        raise OSError(errno.ELOOP, "a circle of links")
    return place


def write_bytes(path: Path, data: bytes, *, replace: bool = False) -> None:
    """Write a file in one step: a temporary neighbour first, then a rename over the target.

    Raises `InputError` as `check_target`, or if the disk refuses.
    """
    check_target(path, replace=replace)
    place = _place(path)
    try:
        mode = place.stat().st_mode & 0o777 if place.exists() else 0o666 & ~_umask()
        _write(place, data, mode)
    except OSError as error:
        raise InputError(
            "output", path, f"a file that can be written ({error.strerror})"
        ) from error


def _write(place: Path, data: bytes, mode: int) -> None:
    handle, name = tempfile.mkstemp(prefix=".packsim-", dir=place.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        # mkstemp makes private files; a report is meant to be passed on
        temporary.chmod(mode)
        temporary.replace(place)
    finally:
        temporary.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
