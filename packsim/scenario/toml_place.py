"""Where in a TOML text a value stands, so that a complaint can name its line and column."""

from __future__ import annotations

import re
from typing import Final

__all__ = ["place_in_toml"]

_HEADER: Final = re.compile(r"\s*(\[\[?)\s*([A-Za-z0-9_.\s-]+?)\s*\]\]?\s*(?:#.*)?$")
_PAIR: Final = re.compile(r"\s*([A-Za-z0-9_.-]+)\s*=\s*")
_FENCES: Final = ('"""', "'''")


def place_in_toml(text: str, key: str) -> tuple[int, int] | None:
    r"""Find a value by its path.

    Parameters
    ----------
    text : str
        TOML that could be read.
    key : str
        Path such as ``trials[0].stages[2].clear_width``.

    Returns
    -------
    tuple of (line, column) or None
        Of the value, from 1; of the heading of its table where the value is missing. None for
        what stands in no table with a heading of its own, or under a quoted key.

    Examples
    --------
    >>> place_in_toml("a = 1\n[[t]]\nb = 2\n[[t]]\nb = 3\n", "t[1].b")
    (5, 5)
    >>> place_in_toml("[[t]]\nb = 2\n", "t[0].c")
    (1, 1)
    """
    counts: dict[str, int] = {}
    here, fence, table = "", "", None
    for number, line in enumerate(text.splitlines(), start=1):
        if fence:
            fence = "" if fence in line else fence
            continue
        heading, pair = _HEADER.match(line), _PAIR.match(line)
        if heading is not None:
            here = _table(heading[2], counts, new=heading[1] == "[[")
            if key.startswith(f"{here}.") or key == here:
                table = number, line.index("[") + 1
        elif pair is not None:
            if f"{here}.{pair[1]}".lstrip(".") == key:
                return number, pair.end() + 1
            fence = _opened(line[pair.end() :])
    return table


def _table(name: str, counts: dict[str, int], *, new: bool) -> str:
    """Return the path of a table from its heading, counting the tables of a list."""
    parts, path = [part.strip() for part in name.split(".")], ""
    for i, part in enumerate(parts):
        path = f"{path}.{part}".lstrip(".")
        if new and i == len(parts) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path += f"[{counts[path]}]"
    return path


def _opened(value: str) -> str:
    """Return the fence of a text over several lines that starts and does not end here."""
    fence = next((mark for mark in _FENCES if value.startswith(mark)), "")
    return "" if fence and fence in value[3:] else fence
