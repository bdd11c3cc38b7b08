"""How cans and voids look on every screen and picture: colours, and a mark for each role.

Cans differ in lightness by at least a clear step from role to role, so that they stay apart in grey
print and with any colour-vision deficiency, and each role but the first wears a mark of its own.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

RGB = tuple[int, int, int]
Point = tuple[float, float]

MARKS: Final = "none", "dot", "bar", "arrow", "cross"
"""What a can of each role wears, in the order of `packsim.passage.ROLES`.

``bar`` and ``arrow`` point where the can leans.
"""

MEANINGS: Final = (
    *("no room to lean", "up to the safe lean", "past the safe lean"),
    *("past its tip angle", "is down"),
)
"""What the legend says of each role. The safe lean is the tip angle over the factor."""


@dataclass(frozen=True, slots=True)
class CanStyle:
    """How cans of one role are coloured: face, rim and mark, red, green, blue 0..255."""

    fill: RGB
    edge: RGB
    ink: RGB


CANS: Final[Mapping[str, tuple[CanStyle, ...]]] = {
    "light": (
        CanStyle((228, 233, 235), (150, 163, 170), (90, 104, 112)),
        CanStyle((150, 194, 222), (70, 112, 143), (20, 54, 80)),
        CanStyle((226, 150, 28), (133, 80, 0), (40, 24, 0)),
        CanStyle((176, 32, 60), (96, 0, 22), (255, 255, 255)),
        CanStyle((26, 26, 30), (0, 0, 0), (255, 255, 255)),
    ),
    "dark": (
        CanStyle((70, 80, 88), (124, 134, 140), (200, 208, 212)),
        CanStyle((112, 172, 216), (170, 210, 238), (8, 30, 48)),
        CanStyle((246, 186, 74), (255, 222, 150), (48, 28, 0)),
        CanStyle((220, 46, 74), (255, 150, 166), (255, 255, 255)),
        CanStyle((248, 248, 250), (255, 255, 255), (20, 20, 24)),
    ),
}
"""Cans in the order of `packsim.passage.ROLES`, for a bright room and for a dark one."""

INKS: Final[Mapping[str, Mapping[str, RGB]]] = {
    "light": {
        "wire": (16, 86, 108),
        "alarm": (160, 20, 46),
        "void": (255, 250, 205),
        "pocket": (255, 224, 130),
        "crack": (255, 183, 77),
    },
    "dark": {
        "wire": (96, 205, 235),
        "alarm": (255, 152, 163),
        "void": (84, 80, 52),
        "pocket": (126, 100, 24),
        "crack": (160, 104, 22),
    },
}
"""Voids by what they are, guide wires, and what needs the eye, for both."""


def void_name(place: str) -> str:
    """Return which of `INKS` a place of `packsim.pack.void_places` is."""
    return {"edge pocket": "pocket", "crack": "crack"}.get(place, "void")


def mark_shapes(
    mark: str, at: Point, radius: float, direction_rad: float
) -> list[tuple[bool, tuple[Point, ...]]]:
    """Return the shapes of a mark on a can: whether it is filled or a line, and its points.

    Parameters
    ----------
    mark : str
        One of `MARKS`.
    at : tuple of float
        Middle of the can, in any unit.
    radius : float
        Its radius in the same unit.
    direction_rad : float
        Where marks that point do, from the first axis to the second [rad].

    Returns
    -------
    list of (bool, tuple of points)
        Nothing for ``none``.
    """
    cos, sin = math.cos(direction_rad), math.sin(direction_rad)

    def turned(along: float, across: float) -> Point:
        x = at[0] + radius * (along * cos - across * sin)
        return x, at[1] + radius * (along * sin + across * cos)

    if mark == "dot":
        return [(True, ring(at, 0.25 * radius, 12))]
    if mark == "cross":
        return [(False, ends) for ends in crossing(at, 0.55 * radius)]
    if mark == "bar":
        return [(False, (turned(0.0, 0.0), turned(0.72, 0.0)))]
    if mark == "arrow":
        head = turned(0.76, 0.0), turned(0.05, 0.55), turned(0.05, -0.55)
        return [(False, (turned(-0.62, 0.0), turned(0.1, 0.0))), (True, head)]
    return []


def ring(at: Point, radius: float, corners: int) -> tuple[Point, ...]:
    """Return points of a circle."""
    turns = (2.0 * math.pi * k / corners for k in range(corners))
    return tuple((at[0] + radius * math.cos(t), at[1] + radius * math.sin(t)) for t in turns)


def crossing(at: Point, reach: float) -> tuple[tuple[Point, Point], ...]:
    """Return the two lines of a diagonal cross."""
    x, y = at
    return tuple(((x - reach, y - s * reach), (x + reach, y + s * reach)) for s in (1.0, -1.0))
