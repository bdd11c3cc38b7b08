"""How each role of a drawing looks: one table for screen, print and drawing files.

Every role differs from its neighbours in line width, dash or fill, not by colour alone.
"""

from dataclasses import dataclass
from typing import Final

from packsim.report import palette


@dataclass(frozen=True, slots=True)
class Look:
    """How one role is painted: widths and dashes on paper, "" for no colour.

    ``layer`` and the colour number ``index`` are for drawing files.
    """

    layer: str
    line: str
    width_mm: float = 0.18
    fill: str = ""
    dash_mm: tuple[float, ...] = ()
    bold: bool = False
    index: int = 7


_AIR = "#e3e7ea"
_VOID = "#f0c9b8"
_WATER = "#b9d6dd"

ROLES: Final[dict[str, Look]] = {
    "mat": Look("MAT", palette.QUIET, 0.18, "#f7f8f9", index=8),
    "strip": Look("BETWEEN_GUIDES", "", 0.0, _AIR, index=9),
    "void": Look("VOIDS", palette.ACCENT, 0.15, _VOID, index=30),
    "can": Look("CANS", palette.INK, 0.22, palette.PAPER, index=7),
    "can behind": Look("CANS_BEHIND", palette.QUIET, 0.15, palette.PALE, index=9),
    "can upright": Look("CANS_UPRIGHT", palette.QUIET, 0.2, "", (1.4, 0.8), index=8),
    "can leaning": Look("CANS_LEANING", palette.INK, 0.4, palette.PAPER, index=7),
    "dome": Look("DOMES", palette.INK, 0.18, index=7),
    "pool": Look("POOLS", palette.LINES[1], 0.15, _WATER, index=140),
    "lane": Look("LANE_CENTRES", palette.QUIET, 0.12, "", (3.0, 0.7, 0.5, 0.7), index=8),
    "wire": Look("GUIDE_WIRES", palette.INK, 0.6, palette.INK, index=5),
    "bracket": Look("BRACKETS", palette.INK, 0.25, "#9aa6b0", index=5),
    "hold-down": Look("HOLD_DOWN", palette.INK, 0.3, "#c6ced5", index=6),
    "header above": Look("HEADERS_ABOVE", palette.LINES[1], 0.3, palette.LINES[1], index=140),
    "header below": Look("HEADERS_BELOW", palette.LINES[3], 0.3, "", (1.2, 0.6), index=42),
    "footprint above": Look("FOOTPRINTS_ABOVE", "#6aa9b7", 0.15, "", index=140),
    "footprint below": Look("FOOTPRINTS_BELOW", "#bfa35c", 0.15, "", (0.6, 0.6), index=42),
    "balance": Look("BALANCE", palette.ACCENT, 0.3, "", (2.0, 0.8), index=1),
    "lean": Look("LEAN", palette.INK, 0.25, index=7),
    "centre of gravity": Look("CENTRE_OF_GRAVITY", palette.INK, 0.25, palette.INK, index=7),
    "dimension": Look("DIMENSIONS", palette.QUIET, 0.15, index=8),
    "limit": Look("LIMITS", palette.ACCENT, 0.2, palette.ACCENT, index=1),
    "note": Look("NOTES", palette.QUIET, 0.15, index=8),
    "label": Look("LABELS", palette.INK, 0.15, palette.INK, index=7),
    "title": Look("TITLE", palette.INK, 0.15, bold=True, index=7),
}
"""Every role a primitive may have."""
