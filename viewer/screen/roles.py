"""The one table from roles to what is seen: colours, shape marks, names.

Cans differ in lightness by at least a clear step from role to role, so that they stay apart in grey
print and with any colour-vision deficiency, and each role but the first wears a mark of its own.
"""

from dataclasses import dataclass
from typing import Final

from packsim.passage import ROLES

RGB = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class CanStyle:
    """How cans of one role are drawn: colours of face, rim and mark, red, green, blue 0..255.

    The mark is "none", "dot", "bar", "arrow" or "cross"; ``bar`` and ``arrow`` point where the can
    leans. ``meaning`` is what the legend says of the role.
    """

    fill: RGB
    edge: RGB
    ink: RGB
    mark: str
    meaning: str


CAN_STYLES: Final = (
    CanStyle((228, 233, 235), (150, 163, 170), (90, 104, 112), "none", "no room to lean"),
    CanStyle((150, 194, 222), (70, 112, 143), (20, 54, 80), "dot", "up to the safe lean"),
    CanStyle((226, 150, 28), (133, 80, 0), (40, 24, 0), "bar", "past the safe lean"),
    CanStyle((176, 32, 60), (96, 0, 22), (255, 255, 255), "arrow", "past its tip angle"),
    CanStyle((26, 26, 30), (0, 0, 0), (255, 255, 255), "cross", "is down"),
)
"""Looks in the order of `packsim.passage.ROLES`. The safe lean is the tip angle over the factor."""

INKS: Final[dict[str, RGB]] = {
    # surfaces
    "page": (238, 236, 230),
    "canvas": (246, 245, 241),
    "mat": (211, 208, 199),
    "mat tint": (203, 200, 190),
    "panel": (252, 252, 250),
    "panel head": (38, 50, 56),
    "chosen": (255, 236, 179),
    "button": (224, 228, 230),
    "veil": (24, 32, 36),
    "card": (252, 252, 250),
    # the line
    "mat edge": (150, 146, 134),
    "wire": (16, 86, 108),
    "bracket": (60, 66, 70),
    "header": (96, 84, 140),
    "nozzle": (72, 58, 124),
    "footprint": (146, 134, 194),
    "void": (255, 250, 205),
    "pocket": (255, 224, 130),
    "crack": (255, 183, 77),
    "bound": (92, 98, 102),
    "picked": (0, 0, 0),
    "hold-down": (110, 74, 30),
    "balance": (176, 32, 60),
    "lean": (168, 104, 0),
    "kick": (120, 30, 130),
    "pool": (92, 160, 200),
    "drop": (24, 100, 160),
    "drop past": (108, 146, 180),
    "air": (88, 96, 100),
    "air past": (136, 142, 146),
    "can line": (50, 62, 70),
    "neighbour": (150, 160, 166),
    # text and rules
    "text": (24, 30, 34),
    "quiet": (84, 94, 100),
    "on dark": (245, 246, 246),
    "quiet on dark": (184, 197, 203),
    "rule": (198, 200, 198),
    "alarm": (160, 20, 46),
    "good": (16, 86, 108),
    "caution": (255, 214, 79),
    "caution text": (20, 20, 20),
    # a can by its state, in a view that draws it otherwise than as a disc
    **{state: style.fill for state, style in zip(ROLES, CAN_STYLES, strict=True)},
}
"""Colours of all lines, areas and texts."""
