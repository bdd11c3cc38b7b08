"""The reader's own logo, checked and made part of a page."""

from __future__ import annotations

import base64
from io import BytesIO
from pathlib import Path
from typing import Final

from packsim.errors import InputError
from packsim.scenario.text_files import read_bytes, shown

KINDS: Final = {"PNG": "image/png", "JPEG": "image/jpeg"}
"""Kinds of pictures that hold nothing but a picture, and what a page calls them."""

MOST_SIDE: Final = 4000
"""More dots than this across or down are no logo."""

MOST_BYTES: Final = 500_000


def logo_uri(path: str | Path) -> str:
    """Return a PNG or JPEG file as text that a page can hold in place of its address.

    Raises `InputError` for anything else: a file with programs or addresses in it, such as SVG may
    have, has no place in a page that is sent on.
    """
    place = Path(path)
    raw = read_bytes(place, "a picture, PNG or JPEG")
    kind = KINDS[_checked(raw, shown(place))]
    return f"data:{kind};base64,{base64.b64encode(raw).decode('ascii')}"


def _checked(raw: bytes, file: str) -> str:
    """Return the kind of a picture that can be read to its end, or complain."""
    from PIL import Image

    if len(raw) > MOST_BYTES:
        raise InputError("", f"{len(raw)} bytes", f"a picture of at most {MOST_BYTES}", file=file)
    try:
        with Image.open(BytesIO(raw), formats=tuple(KINDS)) as picture:
            kind, size = str(picture.format), picture.size
            if max(size) <= MOST_SIDE:
                picture.load()
    except (OSError, ValueError, SyntaxError) as problem:
        got = "a picture that is cut short or of another kind"
        allowed = "a PNG or JPEG picture; save a drawing (SVG) as PNG first"
        raise InputError("", got, allowed, file=file) from problem
    if max(size) > MOST_SIDE:
        got = f"{size[0]} x {size[1]} dots"
        raise InputError("", got, f"at most {MOST_SIDE} dots each way", file=file)
    return kind
