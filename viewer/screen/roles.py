"""The one table from roles to what is seen: colours, shape marks, names.

What cans and voids look like on pictures too stands in `packsim.report.can_looks`. A palette is
handed to whoever paints; there is one for a bright room and one for a dark one.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from packsim.passage import ROLES
from packsim.report.can_looks import CANS, INKS, RGB, CanStyle


@dataclass(frozen=True, slots=True, eq=False)
class Palette:
    """Colours of all lines, areas and texts by role, and of cans in the order of their roles."""

    inks: Mapping[str, RGB]
    cans: tuple[CanStyle, ...]

    @property
    def colours(self) -> tuple[RGB, ...]:
        """Every colour that a picture is made of."""
        cans = (colour for can in self.cans for colour in (can.fill, can.edge, can.ink))
        return (*self.inks.values(), *cans)


def _palette(inks: Mapping[str, RGB], *cans: CanStyle) -> Palette:
    """Return a palette in which a can can also be drawn otherwise than as a disc."""
    states = {state: can.fill for state, can in zip(ROLES, cans, strict=True)}
    marks = {f"on {state}": can.ink for state, can in zip(ROLES, cans, strict=True)}
    return Palette({**inks, **states, **marks}, cans)


_DAY: Final[dict[str, RGB]] = {
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
    "bracket": (60, 66, 70),
    "header": (96, 84, 140),
    "nozzle": (72, 58, 124),
    "footprint": (146, 134, 194),
    **INKS["light"],
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
    "hint": (255, 236, 179),
    "rule": (198, 200, 198),
    "good": (16, 86, 108),
    "caution": (255, 214, 79),
    "caution text": (20, 20, 20),
}

_NIGHT: Final[dict[str, RGB]] = {
    # surfaces
    "page": (18, 21, 23),
    "canvas": (24, 28, 31),
    "mat": (50, 52, 53),
    "mat tint": (44, 46, 47),
    "panel": (30, 35, 38),
    "panel head": (10, 13, 15),
    "chosen": (70, 56, 16),
    "button": (60, 68, 73),
    "veil": (0, 0, 0),
    "card": (38, 43, 47),
    # the line
    "mat edge": (122, 120, 112),
    "bracket": (178, 186, 190),
    "header": (186, 172, 240),
    "nozzle": (206, 194, 255),
    "footprint": (136, 122, 196),
    **INKS["dark"],
    "bound": (160, 168, 172),
    "picked": (255, 255, 255),
    "hold-down": (222, 176, 120),
    "balance": (255, 120, 140),
    "lean": (255, 190, 80),
    "kick": (226, 140, 240),
    "pool": (92, 170, 216),
    "drop": (150, 208, 255),
    "drop past": (96, 130, 160),
    "air": (200, 206, 210),
    "air past": (130, 138, 142),
    "can line": (214, 222, 226),
    "neighbour": (112, 122, 128),
    # text and rules
    "text": (240, 242, 242),
    "quiet": (176, 186, 191),
    "on dark": (245, 246, 246),
    "quiet on dark": (176, 186, 191),
    "hint": (255, 236, 179),
    "rule": (72, 78, 82),
    "good": (120, 208, 234),
    "caution": (255, 214, 79),
    "caution text": (20, 20, 20),
}

PALETTES: Final = {
    "light": _palette(_DAY, *CANS["light"]),
    "dark": _palette(_NIGHT, *CANS["dark"]),
}
"""For a bright room, and for a dark one."""
