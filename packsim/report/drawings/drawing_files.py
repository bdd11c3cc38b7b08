"""A drawing as the bytes of a file, its kind taken from the file's name."""

from pathlib import Path
from typing import Final

from packsim.errors import InputError
from packsim.report.drawings.drawing import Drawing

KINDS: Final = (".svg", ".dxf", ".png")
"""File name endings a drawing can be written to."""


def check_kind(path: Path) -> str:
    """Return the kind of a drawing file from its name; raise `InputError` if it is none."""
    kind = path.suffix.lower()
    if kind not in KINDS:
        raise InputError("output", path, "a file name that ends in " + ", ".join(KINDS))
    return kind


def drawing_bytes(drawing: Drawing, path: Path) -> bytes:
    """Return a drawing as SVG or DXF in UTF-8, or as PNG, by the name of its file."""
    kind = check_kind(path)
    if kind == ".svg":
        from packsim.report.drawings.svg import drawing_svg

        return drawing_svg(drawing).encode()
    if kind == ".dxf":
        from packsim.report.drawings.dxf import drawing_dxf

        return drawing_dxf(drawing).encode()
    from packsim.report.drawings.png import drawing_png

    return drawing_png(drawing)
