"""Writing a file so that a half-written one never takes the place of a whole one.

All that is written goes this way, but for what libraries keep (machine code and repeats) and for
finished runs (`packsim.counts.run_file`), a file that only grows.
"""

import errno
import os
import platform
import re
import secrets
import shutil
import time
import zlib
from contextlib import suppress
from pathlib import Path
from typing import Final

from packsim.errors import InputError

_UNFINISHED: Final = re.compile(r"(\.packsim-[0-9a-f]{8}-)(\d{1,9})-\w+")
_DAY_S: Final = 86400.0
_NEW: Final = "a new file name, or --replace to overwrite it"


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
        return _NEW
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
    """Write a file in one step: a temporary neighbour first, which then takes its name.

    Raises `InputError` as `check_target`, or if the disk refuses. Unless it is to ``replace``, a
    file that came to be since it was checked stays.
    """
    check_target(path, replace=replace)
    place = _place(path)
    clear_unfinished(place.parent)
    temporary = place.parent / (unfinished() + secrets.token_hex(8))
    try:
        with temporary.open("xb") as file:
            if place.exists():
                temporary.chmod(place.stat().st_mode & 0o777)
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        _put(temporary, place, replace=replace)
    except FileExistsError:
        raise InputError("output", path, _NEW) from None
    except OSError as error:
        raise InputError(
            "output", path, f"a file that can be written ({error.strerror})"
        ) from error
    finally:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)


def _put(temporary: Path, place: Path, *, replace: bool) -> None:
    """Give a file its name; `FileExistsError` where there is one by now that must stay."""
    if not replace:
        try:
            os.link(temporary, place)
        except FileExistsError:
            raise
        except OSError:  # a disk that knows no second names
            pass
        else:
            return
    temporary.replace(place)


def unfinished() -> str:
    """Return how the name begins of a file or folder that this process has not finished."""
    machine = zlib.crc32(platform.node().encode(errors="replace"))
    return f".packsim-{machine:08x}-{os.getpid()}-"


def clear_unfinished(folder: Path) -> None:
    """Remove from a folder what programs had not finished when they were ended.

    Of another machine's nobody here can say whether its program still runs: that stays for a day,
    by whatever clock.
    """
    here = unfinished()
    with suppress(OSError):
        for old in folder.glob(".packsim-*"):
            found = _UNFINISHED.fullmatch(old.name)
            if found is None:
                continue
            if here.startswith(found[1]):
                ended = not _runs(int(found[2]))
            else:
                ended = abs(time.time() - old.stat().st_mtime) > _DAY_S
            if ended and old.is_dir():
                shutil.rmtree(old, ignore_errors=True)
            elif ended:
                old.unlink(missing_ok=True)


def _runs(process: int) -> bool:
    """Whether a process of this machine runs; for Windows no, which keeps a file in use itself."""
    if os.name == "nt":
        return process == os.getpid()
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:  # it is somebody else's
        pass
    return True
