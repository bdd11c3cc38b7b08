"""What a picture is made of: plain shapes with roles, in painting order, without any drawing.

A panel, the plan and the elevation all return a `Drawing`; only `viewer.window.paint` turns roles
into colours. Every text has a box it must stay in, so that overlaps can be tested without a font.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from viewer.screen.camera import Box


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

    ``role`` is a colour of `viewer.screen.roles.INKS`, ``size`` "small", "body", "head" or "big",
    ``align`` "left", "centre" or "right".
    """

    text: str
    box: Box
    role: str = "text"
    size: str = "body"
    align: str = "left"


Item = Cans | Fill | Polyline | Polygon | Text


@dataclass(frozen=True, slots=True)
class Hit:
    """Part of the screen that acts when it is clicked: an action's name and its argument."""

    box: Box
    action: str
    argument: int = 0


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
