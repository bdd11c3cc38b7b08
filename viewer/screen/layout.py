"""How the window is divided: panels, plans, the dock; what is large enough for a classroom."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

RULER_PX = 22
"""Height of the ruler over a plan view, in layout pixels."""

DOSE_PX = 168, 36
"""Width of the doses beside a plan view, height of the headers under it, in layout pixels."""

LEAST_PLAN_PX = 64
"""A plan that would be lower with doses and headers stands without them, in layout pixels."""

WIDE_PX = 900
"""Where the plan is narrower, a sentence takes two lines and the dock has two parts, in layout
pixels."""

CARD_PX = 104, 66
"""Least width of a stage's card, and its height, in layout pixels."""

MOST_ROWS = 2
"""More rows of cards would leave the plan too little room."""

MIN_WINDOW = (960, 600)
"""Smallest window the panels are readable in, at scale 1 [px]."""


@dataclass(frozen=True, slots=True)
class Layout:
    """The parts of the window [px], and the screen pixels per layout pixel.

    Title and clock in the header, cautions in the footer, a line on what the stage does under the
    header; the canvas holds one plan view or both;
    one card per stage, in rows, under them the dock (elevation, answers, facts); counts, roles and
    adjust are the side panel. In a narrow window answers and facts are one box, for one of them.
    In a presentation there are only the line on what the stage does, the canvas, counts and roles,
    and what is told under them, over the cautions; the others are empty.
    """

    window: Box
    scale: float
    header: Box
    footer: Box
    why: Box
    canvas: Box
    cards: Box
    elevation: Box
    answers: Box
    facts: Box
    counts: Box
    roles: Box
    adjust: Box
    told: Box

    def px(self, units: float) -> int:
        """Return a length of the layout in screen pixels."""
        return round(units * self.scale)

    @property
    def narrow(self) -> bool:
        """Whether the dock has room for one of answers and facts only."""
        return self.answers == self.facts

    def canvases(self, count: int, band_px: int = 0) -> tuple[Box, ...]:
        """Return the canvas cut into ``count`` plan views, one over the other."""
        gap = self.px(4) if count > 1 else 0
        room = max(count, self.canvas.h - band_px)
        each = (room - gap * (count - 1)) // count
        return tuple(
            Box(self.canvas.x, self.canvas.y + i * (each + gap), self.canvas.w, each)
            for i in range(count)
        )

    def card_boxes(self, count: int) -> tuple[Box, ...]:
        """Return a box for each of so many cards, in rows; fewer where no more have room."""
        rows = max(1, round(self.cards.h / self.px(CARD_PX[1])))
        each = max(1, min(-(-count // rows), self.cards.w // self.px(CARD_PX[0])))
        wide, tall = self.cards.w // each, self.cards.h // rows
        return tuple(
            Box(self.cards.x + i % each * wide, self.cards.y + i // each * tall, wide, tall)
            for i in range(min(count, rows * each))
        )


def usual_scale(width_px: int, height_px: int) -> float:
    """Return a scale factor that suits a window: text grows with the picture.

    Examples
    --------
    >>> usual_scale(1280, 720), usual_scale(1920, 1080), usual_scale(3840, 2160)
    (1.0, 1.5, 3.0)
    """
    growth = math.floor(8.0 * min(width_px / 1280.0, height_px / 720.0)) / 8.0
    largest = min(width_px / MIN_WINDOW[0], height_px / MIN_WINDOW[1])
    return max(0.5, min(max(1.0, growth), largest))


def lay_out(width_px: int, height_px: int, scale: float | None = None, stages: int = 1) -> Layout:
    """Divide a window into parts that tile it without overlap.

    The cards of so many stages take as many rows as they need, up to `MOST_ROWS`.
    The scale factor is chosen by `usual_scale` when omitted, and never so large that the window
    would fall below `MIN_WINDOW` of layout pixels.
    """
    largest = min(width_px / MIN_WINDOW[0], height_px / MIN_WINDOW[1])
    s = min(scale or usual_scale(width_px, height_px), largest)

    def px(units: float) -> int:
        return round(units * s)

    head, foot, side, dock = px(42), px(24), px(304), px(196)
    left = width_px - side
    cards = min(MOST_ROWS, -(-stages // max(1, left // px(CARD_PX[0])))) * px(CARD_PX[1])
    body = height_px - head - foot
    dock_y = height_px - foot - dock
    wide = left >= WIDE_PX * s
    side_view = min(px(520), max(px(280), round(0.34 * left)))
    answers = Box(side_view, dock_y, (left - side_view) // (2 if wide else 1), dock)
    facts = Box(answers.right, dock_y, left - answers.right, dock) if wide else answers
    counts, roles = px(134), px(126)
    why = px(26 if wide else 44)
    return Layout(
        window=Box(0, 0, width_px, height_px),
        scale=s,
        header=Box(0, 0, width_px, head),
        footer=Box(0, height_px - foot, width_px, foot),
        why=Box(0, head, left, why),
        canvas=Box(0, head + why, left, body - dock - cards - why),
        cards=Box(0, dock_y - cards, left, cards),
        elevation=Box(0, dock_y, side_view, dock),
        answers=answers,
        facts=facts,
        counts=Box(left, head, side, counts),
        roles=Box(left, head + counts, side, roles),
        adjust=Box(left, head + counts + roles, side, body - counts - roles),
        told=Box(0, 0, 0, 0),
    )


LEAST_TEXT = 1.0 / 24.0
"""Height of the smallest text of a presentation, from the top of a letter to the foot of one that
reaches down, over the height of the picture."""

TEXT_PX = 11.6
"""That height of small text, in layout pixels."""

LEAST_WIDE_PX = 360
"""A presentation narrower than this would have no room for its words, in layout pixels."""


def lay_out_presentation(width_px: int, height_px: int, scale: float | None = None) -> Layout:
    """Divide a window for a room that reads it from its last row: text first, few parts.

    The scale factor is at least the one that gives text of `LEAST_TEXT`, where the window is wide
    enough for the words.
    """
    least = height_px * LEAST_TEXT / TEXT_PX
    s = min(max(least, scale or 0.0), max(0.5, width_px / LEAST_WIDE_PX))

    def px(units: float) -> int:
        return round(units * s)

    side, foot = px(152), px(20)
    why, told = px(40 if width_px >= 480 * s else 57), px(40)
    left, body, none = width_px - side, height_px - foot - why - told, Box(0, 0, 0, 0)
    counts = min(max(px(84), round(0.47 * body)), body // 2 + px(8))
    return Layout(
        window=Box(0, 0, width_px, height_px),
        scale=s,
        header=none,
        footer=Box(0, height_px - foot, width_px, foot),
        why=Box(0, 0, width_px, why),
        canvas=Box(0, why, left, body),
        cards=none,
        elevation=none,
        answers=none,
        facts=none,
        counts=Box(left, why, side, counts),
        roles=Box(left, why + counts, side, body - counts),
        adjust=none,
        told=Box(0, why + body, width_px, told),
    )


class Box(NamedTuple):
    """A rectangle on the screen [px]; x to the right, y down."""

    x: int
    y: int
    w: int
    h: int

    @property
    def right(self) -> int:
        """First column to the right of it [px]."""
        return self.x + self.w

    @property
    def bottom(self) -> int:
        """First row under it [px]."""
        return self.y + self.h

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies inside."""
        return self.x <= x < self.right and self.y <= y < self.bottom

    def cut(self, x: int, w: int) -> Box:
        """Return a part of it over its whole height, from ``x`` on, ``w`` wide."""
        return Box(self.x + x, self.y, w, self.h)

    def row(self, i: int, h: int) -> Box:
        """Return the i-th of its rows of a height."""
        return Box(self.x, self.y + i * h, self.w, h)

    def inset(self, dx: int, dy: int) -> Box:
        """Return it smaller by ``dx`` left and right, ``dy`` above and below."""
        return Box(self.x + dx, self.y + dy, max(0, self.w - 2 * dx), max(0, self.h - 2 * dy))
