"""What a picture is made of: plain shapes with roles, in painting order, without any drawing.

A panel, the plan and the elevation all return a `Drawing`; only `viewer.window.paint` turns roles
into colours. Every text has a box it must stay in, so that overlaps can be tested without a font.
"""

import textwrap
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from viewer.screen.layout import Box


@dataclass(frozen=True, slots=True, eq=False)
class Cans:
    """Cans seen from above, in arrays of shape (n,) clipped to a box.

    ``role`` is an index into `packsim.passage.ROLES`; ``direction_rad`` the direction of the lean
    on the screen, 0 to the right, +π/2 down.
    """

    x_px: NDArray[np.float64]
    y_px: NDArray[np.float64]
    radius_px: NDArray[np.float64]
    role: NDArray[np.uint8]
    direction_rad: NDArray[np.float64]
    clip: Box

    def only(self, which: NDArray[np.bool_]) -> "Cans":
        """Return some of them."""
        return replace(
            self,
            x_px=self.x_px[which],
            y_px=self.y_px[which],
            radius_px=self.radius_px[which],
            role=self.role[which],
            direction_rad=self.direction_rad[which],
        )


@dataclass(frozen=True, slots=True)
class Fill:
    """A filled rectangle; ``alpha`` 255 covers, less lets through what is below."""

    box: Box
    role: str
    alpha: int = 255
    outline: str = ""


@dataclass(frozen=True, slots=True)
class Polyline:
    """A polyline [px], ``dash_px`` above 0 for a broken one."""

    points: tuple[tuple[float, float], ...]
    role: str
    width_px: int = 1
    dash_px: int = 0
    clip: Box | None = None


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed polygon [px], filled or outlined; ``dashed`` leaves out every second side."""

    points: tuple[tuple[float, float], ...]
    role: str
    filled: bool = True
    width_px: int = 1
    alpha: int = 255
    clip: Box | None = None
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text in a box; cut with an ellipsis where it is too long.

    ``role`` is one of a `viewer.screen.roles.Palette`, ``size`` "small", "body", "head" or "big",
    ``align`` "left", "centre" or "right"; ``scale`` screen pixels per layout pixel, the painter's
    own where 0.
    """

    text: str
    box: Box
    role: str = "text"
    size: str = "body"
    align: str = "left"
    scale: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Dots:
    """Small squares of one colour, at arrays of shape (n,) clipped to a box [px]."""

    x_px: NDArray[np.float64]
    y_px: NDArray[np.float64]
    role: str
    side_px: int
    clip: Box


Item = Cans | Dots | Fill | Polyline | Polygon | Text


@dataclass(frozen=True, slots=True)
class Hit:
    """Part of the screen that acts when it is clicked: an action's name and its argument."""

    box: Box
    action: str
    argument: int = 0


@dataclass(frozen=True, slots=True)
class Grip(Hit):
    """Part of the screen that is dragged up and down; a click picks the dial that moves it.

    ``part`` is the one of several that the dial turns, of a stage of one of the packs.
    ``px_per_step`` is how far down the screen one step moves it, below 0 where more is higher up.
    """

    part: int = 0
    pack: int = 0
    stage: int = 0
    px_per_step: float = 1.0


@dataclass(frozen=True, slots=True)
class Drawing:
    """Shapes in painting order, and the parts that can be clicked, topmost last."""

    items: tuple[Item, ...] = ()
    hits: tuple[Hit, ...] = field(default=())

    @property
    def texts(self) -> tuple[Text, ...]:
        """Every text that says something."""
        return tuple(item for item in self.items if isinstance(item, Text) and item.text)

    def hit(self, x_px: float, y_px: float) -> Hit | None:
        """Return the topmost clickable part under a point, None where there is none."""
        return next((h for h in reversed(self.hits) if h.box.holds(x_px, y_px)), None)


def join(*drawings: Drawing) -> Drawing:
    """Return one scene of several, the first painted first."""
    items = tuple(item for drawing in drawings for item in drawing.items)
    return Drawing(items, tuple(hit for drawing in drawings for hit in drawing.hits))


NO_BREAK = "\u00a0"
"""A space that keeps a number and its unit on one line."""


class Writer:
    """Collects the shapes of one panel, at some screen pixels per layout pixel."""

    def __init__(self, scale: float) -> None:
        self.scale = scale
        self._items: list[Item] = []
        self._hits: list[Hit] = []

    @property
    def drawing(self) -> Drawing:
        """Everything so far."""
        return Drawing(tuple(self._items), tuple(self._hits))

    def px(self, units: float) -> int:
        """Return a length of the layout in screen pixels."""
        return round(units * self.scale)

    def add(self, *items: Item) -> None:
        """Add shapes."""
        self._items.extend(items)

    def fill(self, box: Box, role: str, alpha: int = 255, outline: str = "") -> None:
        """Add a filled box."""
        self._items.append(Fill(box, role, alpha, outline))

    def text(
        self, text: str, box: Box, role: str = "text", size: str = "body", align: str = "left"
    ) -> None:
        """Add a line of text, if there is any."""
        if text:
            self._items.append(Text(text, box, role, size, align, scale=self.scale))

    def hit(self, box: Box, action: str, argument: int = 0) -> None:
        """Make a box clickable."""
        self._hits.append(Hit(box, action, argument))

    def grip(self, grip: Grip) -> None:
        """Make a box one to drag."""
        self._hits.append(grip)

    def button(
        self, box: Box, text: str, action: str, argument: int = 0, align: str = "centre"
    ) -> None:
        """Add a button."""
        self.fill(box, "button", outline="rule")
        edge = self.px(2 if align == "centre" else 10)
        self.text(text, box.inset(edge, 0), "text", "small", align)
        self.hit(box, action, argument)

    def panel(self, box: Box, title: str, aside: int = 0) -> Box:
        """Add a panel with a title and a rule over it; return the room that is left.

        So much of the title's right end is left free [px].
        """
        self.fill(box, "panel")
        edge = self.px(1) or 1
        ends = ((box.x, box.y), (box.right - 1, box.y))
        self.add(
            Polyline(ends, "rule", edge),
            Polyline(((box.x, box.y), (box.x, box.bottom)), "rule", edge),
        )
        inner = box.inset(self.px(12), self.px(6))
        self.text(title, Box(inner.x, inner.y, inner.w - aside, self.px(16)), "quiet", "small")
        return Box(inner.x, inner.y + self.px(18), inner.w, inner.h - self.px(18))

    def two_lines(
        self, box: Box, label: str, value: str, quiet: str, role: str, size: str = "body"
    ) -> None:
        """Add a small label with its value under it."""
        upper = box.h * 2 // 5
        self.text(label, Box(box.x, box.y, box.w, upper), quiet, "small")
        self.text(value, Box(box.x, box.y + upper, box.w, box.h - upper), role, size)

    def row(self, box: Box, label: str, value: str, role: str = "text", share: float = 0.5) -> None:
        """Add a label at the left and its value at the right of one line."""
        left = round(box.w * share)
        self.text(label, box.cut(0, left), "quiet", "small")
        self.text(value, box.cut(left, box.w - left), role, "body", "right")


def wrapped(text: str, letters: int) -> list[str]:
    """Break a text into lines of at most so many letters, at spaces that may break.

    Examples
    --------
    >>> wrapped("slack lets cans tip", 10)
    ['slack lets', 'cans tip']
    """
    lines = textwrap.wrap(text, letters, break_long_words=False, break_on_hyphens=False)
    return [line.replace(NO_BREAK, " ") for line in lines]
