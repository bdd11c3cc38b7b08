"""What the colours and marks over a photograph mean, in a band under it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from packsim.look.beside import Beside
from packsim.look.measure import Looked
from packsim.passage import ROLES
from packsim.passage.record import NOT_ASKED
from packsim.report.can_looks import (
    CANS,
    INKS,
    MARKS,
    MEANINGS,
    CanStyle,
    mark_shapes,
    void_name,
)
from packsim.report.words.display import Display
from packsim.report.words.numbers import ROWS

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

STYLES: Final = CANS["light"]
COLOURS: Final = INKS["light"]
GAP: Final = COLOURS["alarm"]
"""Cans and voids as in a bright room; gaps, and cans that are missing."""


def with_legend(picture: Image, looked: Looked, beside: Beside | None, display: Display) -> Image:
    """Return a picture with what its colours and marks mean in a band under it."""
    from PIL import Image, ImageDraw, ImageFont

    size = max(11, round(picture.width / 48))
    font = ImageFont.load_default(size)
    entries = [*_can_entries(looked, beside), *_other_entries(looked)]
    columns = max(1, picture.width // (20 * size))
    rows = -(-len(entries) // columns)
    step = round(1.7 * size)
    band = (rows + 1) * step + size
    whole = Image.new("RGB", (picture.width, picture.height + band), "white")
    whole.paste(picture, (0, 0))
    draw = ImageDraw.Draw(whole, "RGBA")
    top = picture.height + size
    draw.text((size, top), _head(looked, display), "black", font, anchor="lm")
    for k, (sign, style, text) in enumerate(entries):
        row, column = divmod(k, columns)
        at = (1.5 * size + column * picture.width / columns, top + (row + 1) * step)
        _sign(draw, at, 0.6 * size, sign, style)
        draw.text((at[0] + size, at[1]), text, "black", font, anchor="lm")
    return whole


def _head(looked: Looked, display: Display) -> str:
    """Say in one line how the pack stands."""
    words = [f"rows {ROWS[looked.layout]}", f"{looked.lanes} lanes"]
    if looked.clear_width_mm is not None and looked.slack_mm is not None:
        words.append(f"clear width {display.length(looked.clear_width_mm.value)}")
        words.append(f"slack {display.length(looked.slack_mm.value)}")
    return ", ".join(words)


Entry = tuple[str, CanStyle, str]
"""A sign of the legend, its colours, and what it means."""


def _can_entries(looked: Looked, beside: Beside | None) -> list[Entry]:
    """Return the roles that cans of the picture have, with how many."""
    if beside is None:
        states = {"stands": looked.standing + looked.leaning, MEANINGS[-1]: looked.down}
        numbers = [0, len(ROLES) - 1]
        return [
            (MARKS[number], STYLES[number], f"{text}: {count}")
            for number, (text, count) in zip(numbers, states.items(), strict=True)
            if count
        ]
    counts = np.bincount(beside.role[beside.role != NOT_ASKED], minlength=len(ROLES))
    return [
        (MARKS[k], STYLES[k], f"{MEANINGS[k]}: {count}")
        for k, count in enumerate(counts.tolist())
        if count
    ]


def _other_entries(looked: Looked) -> list[Entry]:
    """Return what else is drawn."""
    found: list[Entry] = []
    named = {"void": "open", "pocket": "edge pocket", "crack": "crack"}
    places = {} if looked.voids is None else looked.voids.by_place
    there = {void_name(place) for place, n in places.items() if n and place != "interstice"}
    for name, text in named.items():
        if name in there:
            found.append(("area", CanStyle(COLOURS[name], COLOURS[name], COLOURS[name]), text))
    others = [
        (np.isfinite(looked.seen.guides_mm).any(), "line", COLOURS["wire"], "edge of a guide"),
        (looked.gaps is not None, "line", GAP, "widest gap of a row"),
        (looked.missing > 0, "dashes", GAP, f"can missing: {looked.missing}"),
    ]
    signs = [(sign, CanStyle(ink, ink, ink), text) for shown, sign, ink, text in others if shown]
    return found + signs


def _sign(
    draw: ImageDraw, at: tuple[float, float], radius: float, sign: str, style: CanStyle
) -> None:
    x, y = at
    box = (x - radius, y - radius, x + radius, y + radius)
    if sign == "line":
        draw.line([(x - radius, y), (x + radius, y)], style.ink, max(2, round(radius / 3)))
    elif sign == "dashes":
        for begin in range(0, 360, 60):
            draw.arc(box, begin, begin + 30, style.ink, max(2, round(radius / 3)))
    elif sign == "area":
        draw.rectangle(box, style.fill, (120, 120, 120))
    else:
        draw.ellipse(box, style.fill, style.edge)
        for filled, points in mark_shapes(sign, at, radius, 0.0):
            if filled:
                draw.polygon(list(points), style.ink)
            else:
                draw.line(list(points), style.ink, max(1, round(radius / 4)))
