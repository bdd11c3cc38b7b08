"""What stands round a shop drawing: frame, notes, table of holes, and the title block.

All of it in millimetres of paper, from the lower left corner.
"""

import textwrap
from collections.abc import Sequence
from typing import Final

from packsim.constants import MM_PER_INCH
from packsim.report.drawings.drawing import Entry, Label, Plain, Stroke
from packsim.report.drawings.sheet_tools import NOTE_MM, TEXT_ASPECT, box
from packsim.report.words.drilling import Drilling
from packsim.version import program_version

FRAME_MM: Final = 10.0
"""From the edge of the paper to the frame [mm]."""

TYPE_MM: Final = 2.5
"""Size of type [mm]."""

_WIDE: Final = 180.0  # the most of a title block by ISO 7200
_ROW: Final = 8.0
_NOTE: Final = 4.2  # from one line of notes to the next
_LINE: Final = 3.7  # from one line of the table to the next
_COLUMNS: Final = {"hole": 10.0, "A mm": 14.0, "A in": 14.0, "B mm": 14.0, "B in": 14.0}
_TABLE: Final = sum(_COLUMNS.values()) + 3.0

Cell = tuple[str, str, str, float]
"""Tag, caption, entry, and width [mm]."""


def title_block(
    drilling: Drilling, title: str, scenario_hash: str, scale: float, sheet: str, wide: float
) -> tuple[Plain | Entry, ...]:
    """Return the title block of a header on one of its sheets, in the corner of the frame."""
    one, shop = drilling, drilling.shop
    off = one.design.tolerance_mm
    sizes: list[Cell] = [
        (f"SIZE_{k}", "can size", text, _WIDE / 2.0) for k, text in enumerate(one.sizes, start=1)
    ]
    rows: list[list[Cell]] = [
        [
            ("PROGRAM", "program", f"packsim {program_version()}", 60.0),
            ("SCENARIO_HASH", "hash of the scenario", scenario_hash, 60.0),
            ("UNITS", "units", "mm; inches beside", 60.0),
        ],
        [
            ("DRAWING_NUMBER", "drawing number", shop.number, 60.0),
            ("REVISION", "revision", shop.revision, 30.0),
            ("DATE", "date", shop.date, 30.0),
            ("SCALE", "scale", f"1:{scale:g}", 30.0),
            ("SHEET", "sheet", sheet, 30.0),
        ],
        [
            (
                "HOLES",
                "holes",
                f"{len(one.places_mm)}{' x' if shop.hole else ','} {one.hole}",
                60.0,
            ),
            (
                "TOLERANCE",
                "a hole's place, plus or minus",
                f"{off:g} mm ({off / MM_PER_INCH:.3f} in)",
                60.0,
            ),
            ("QUANTITY", "make", f"{len(one.stations)}", 60.0),
        ],
        *(sizes[k : k + 2] for k in reversed(range(0, len(sizes), 2))),
        [
            ("SCENARIO", "scenario", title, 90.0),
            ("STAGES", "stages", _short(one), 90.0),
        ],
        [("TITLE", "title", f"Header {one.design.side} the mat", _WIDE)],
    ]
    parts: list[Plain | Entry] = []
    for k, row in enumerate(rows):
        x, y = wide - FRAME_MM - _WIDE, FRAME_MM + k * _ROW
        for tag, caption, text, width in row:
            parts.append(box(x, y, x + width, y + _ROW, "frame"))
            parts.append(Label((x + 1.2, y + _ROW - 1.7), caption, 1.7, "note"))
            parts.append(Entry((x + 1.2, y + 2.8), tag, text, fitted(text, width - 2.4)))
            x += width
    return tuple(parts)


def _short(drilling: Drilling) -> str:
    """Return the stages of a header where there is room for them; the notes have all."""
    text = ", ".join(dict.fromkeys(stage for stage, _ in drilling.stations))
    return text if fitted(text, 87.6) > 0.7 * TYPE_MM else "see the notes"


def fitted(text: str, room: float) -> float:
    """Return the size of type of a text: `TYPE_MM`, smaller where it has no room [mm]."""
    return min(TYPE_MM, room / (TEXT_ASPECT * max(len(text), 1)))


def surround(
    drilling: Drilling, notes: Sequence[str], wide: float, tall: float
) -> tuple[float, tuple[Plain, ...]]:
    """Return how high notes, table and title block reach, and the first two with the frame."""
    letters = int((wide - 2.0 * FRAME_MM - 8.0) / (TEXT_ASPECT * NOTE_MM))
    lines = [line for note in notes for line in textwrap.wrap(note, letters)]
    across = max(int((wide - 2.0 * FRAME_MM - _WIDE - 4.0) / _TABLE), 1)
    deep = -(-len(drilling.places_mm) // across)
    band = max((5 + -(-len(drilling.sizes) // 2)) * _ROW, (deep + 1) * _LINE + 3.0)
    top = FRAME_MM + band + 2.0 + _NOTE * len(lines)
    parts: list[Plain] = [box(FRAME_MM, FRAME_MM, wide - FRAME_MM, tall - FRAME_MM, "frame")]
    for k, line in enumerate(lines):
        parts.append(Label((FRAME_MM + 4.0, top - _NOTE * (k + 0.5)), line, NOTE_MM, "label"))
    for k in range(-(-len(drilling.places_mm) // deep)):
        corner = FRAME_MM + 2.0 + k * _TABLE, FRAME_MM + band - 1.0
        parts += _table(drilling, range(k * deep, (k + 1) * deep), corner)
    return top - FRAME_MM, tuple(parts)


def _table(drilling: Drilling, of: range, corner: tuple[float, float]) -> list[Plain]:
    """Return the places of some holes from both datums, from an upper left corner down."""
    rows: list[Sequence[str]] = [tuple(_COLUMNS)]
    shown = of[: max(len(drilling.places_mm) - of.start, 0)]
    rows += [(str(k + 1), *drilling.places_in_words(k)) for k in shown]
    parts: list[Plain] = []
    for j, row in enumerate(rows):
        x, y = corner[0], corner[1] - (j + 0.5) * _LINE
        for text, width in zip(row, _COLUMNS.values(), strict=True):
            x += width
            role = "label" if j else "note"
            parts.append(Label((x, y), text, 0.9 * TYPE_MM, role, "end"))
    y = corner[1] - _LINE
    return [*parts, Stroke((corner[0] + 2.0, y), (corner[0] + sum(_COLUMNS.values()), y), "frame")]
