"""Small building blocks of panels: titled boxes, buttons, label and value."""

from viewer.screen.camera import Box
from viewer.screen.drawing import Drawing, Fill, Hit, Item, Polyline, Text

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
            self._items.append(Text(text, box, role, size, align))

    def hit(self, box: Box, action: str, argument: int = 0) -> None:
        """Make a box clickable."""
        self._hits.append(Hit(box, action, argument))

    def button(
        self, box: Box, text: str, action: str, argument: int = 0, align: str = "centre"
    ) -> None:
        """Add a button."""
        self.fill(box, "button", outline="rule")
        edge = self.px(2 if align == "centre" else 10)
        self.text(text, box.inset(edge, 0), "text", "small", align)
        self.hit(box, action, argument)

    def panel(self, box: Box, title: str) -> Box:
        """Add a panel with a title and a rule under it; return the room that is left."""
        self.fill(box, "panel")
        edge = self.px(1) or 1
        ends = ((box.x, box.y), (box.right - 1, box.y))
        self.add(
            Polyline(ends, "rule", edge),
            Polyline(((box.x, box.y), (box.x, box.bottom)), "rule", edge),
        )
        inner = box.inset(self.px(12), self.px(6))
        self.text(title, Box(inner.x, inner.y, inner.w, self.px(16)), "quiet", "small")
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
    lines, line = [], ""
    for word in text.split(" "):
        longer = f"{line} {word}".strip()
        if len(longer) <= letters or not line:
            line = longer
        else:
            lines.append(line)
            line = word
    lines = [*lines, line] if line else lines
    return [line.replace(NO_BREAK, " ") for line in lines]
