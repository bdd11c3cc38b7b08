"""Where results that took long are kept on disk, and what they depend on."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from packsim.version import program_version

FOLDER_VARIABLE: Final = "PACKSIM_CACHE"
"""Environment variable with the folder to keep results in; ``off`` keeps none."""

_off = False


def keep_nothing() -> None:
    """Neither read nor write kept results from here on."""
    global _off
    _off = True


def cache_folder() -> Path | None:
    """Return the folder results are kept in, None where none are or none can be made."""
    named = os.environ.get(FOLDER_VARIABLE, "")
    if _off or named == "off":
        return None
    try:
        folder = Path(named) if named else _users_folder()
        if not named and not folder.is_absolute():
            return None
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, RuntimeError):
        # neither a disk that cannot be written nor a user without a home must stop an answer
        return None
    return folder if os.access(folder, os.W_OK) else None


def _users_folder() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("packsim", appauthor=False)


@cache
def program_digest(*rooms: str) -> str:
    """Version of the program, and what its files say: a changed model must not find old results.

    Parameters
    ----------
    *rooms : str
        Folders of the package that the results depend on.
    """
    digest = hashlib.sha256(program_version().encode())
    for name in rooms:
        for file in sorted((Path(__file__).parent / name).glob("*.py")):
            digest.update(file.read_bytes())
    return digest.hexdigest()


def digest_of(value: Any, program: str = "") -> str:
    """Return a digest of a value, field by field and with the shapes of arrays, and of a program.

    Parameters
    ----------
    value : object
        Numbers, texts, arrays, tuples, lists and dataclasses of them.
    program : str
        From `program_digest`, or empty.
    """
    digest = hashlib.blake2b(program.encode(), digest_size=32)
    _feed(digest.update, value)
    return digest.hexdigest()


def _feed(update: Callable[[Any], None], value: Any) -> None:
    if is_dataclass(value):
        for field in fields(value):
            _feed(update, getattr(value, field.name))
    elif isinstance(value, np.ndarray):
        update(f"{value.dtype}{value.shape}".encode())
        update(np.ascontiguousarray(value).reshape(-1).view(np.uint8))
    elif isinstance(value, tuple | list):
        update(f"{len(value)}".encode())
        for one in value:
            _feed(update, one)
    else:
        told = repr(value)
        if " at 0x" in told:  # another one in every process
            raise TypeError(f"{told}: says where it is, not what")
        update(told.encode())
