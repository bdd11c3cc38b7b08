"""Writing a file so that a half-written one never takes the place of a whole one."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from packsim.errors import InputError

__all__ = ["check_target", "write_bytes", "write_text"]


def check_target(path: Path, *, replace: bool = False) -> None:
    """Refuse a place that cannot or must not be written, before any work is done.

    Parameters
    ----------
    path : Path
        Where the file is to go.
    replace : bool
        Whether an existing file may be replaced.

    Raises
    ------
    InputError
        If ``path`` is a directory, its folder is missing or closed to writing, or it exists and
        ``replace`` is False.
    """
    if path.is_dir():
        raise InputError("output", path, "a file name, not a directory")
    if not path.parent.is_dir():
        raise InputError("output", path, "a folder that exists")
    if not os.access(path.parent, os.W_OK):
        raise InputError("output", path, "a folder that may be written")
    if path.exists() and not replace:
        raise InputError("output", path, "a new file name, or --replace to overwrite it")


def write_text(path: Path, text: str, *, replace: bool = False) -> None:
    """Write text (UTF-8, newlines as given) in one step; see `write_bytes`."""
    write_bytes(path, text.encode("utf-8"), replace=replace)


def write_bytes(path: Path, data: bytes, *, replace: bool = False) -> None:
    """Write a file in one step: a temporary neighbour first, then a rename over the target.

    Parameters
    ----------
    path : Path
        Where the file goes.
    data : bytes
        Its whole content.
    replace : bool
        Whether an existing file may be replaced.

    Raises
    ------
    InputError
        As `check_target`, or if the disk refuses.
    """
    check_target(path, replace=replace)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        # mkstemp makes private files; a report is meant to be passed on
        temporary.chmod(0o666 & ~_umask())
        temporary.replace(path)
    except OSError as error:
        raise InputError(
            "output", path, f"a file that can be written ({error.strerror})"
        ) from error
    finally:
        temporary.unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
