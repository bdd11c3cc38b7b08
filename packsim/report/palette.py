"""One table of colours for charts, drawings and pages.

Few, muted, and apart in lightness, so that grey print and colour-vision deficiency keep them apart;
nothing is told by colour alone: dashes, markers, hatching and labels say the same.
"""

from typing import Final

PAPER: Final = "#ffffff"
"""Ground of every sheet."""

INK: Final = "#1d2730"
"""Text, outlines, the first line of a chart."""

QUIET: Final = "#5c6873"
"""Second text, axes, dimensions."""

GRID: Final = "#d5dbe0"
"""Hairlines that may vanish in a copy."""

PALE: Final = "#eef1f3"
"""Fill of plain things: cans, table heads."""

WASH: Final = "#dcebe4"
"""Fill of what is good: the guide window, a footprint."""

GOOD: Final = "#b5d3c6"
"""Fill of a bar that shows what is good, darker than `WASH`."""

ACCENT: Final = "#a8401c"
"""What needs the eye: past balance, a limit, a void."""

LINES: Final = (INK, "#1f7a8c", ACCENT, "#8a6d1f", "#6d4b86", "#8b98a3")
"""Lines of a chart in order; lightness falls and rises by turns."""

DASHES: Final[tuple[tuple[float, ...], ...]] = (
    (),
    (7.0, 2.5),
    (2.0, 2.0),
    (8.0, 2.0, 2.0, 2.0),
    (4.0, 1.5),
    (1.0, 3.0),
)
"""Dash patterns that go with `LINES`, in points on and off; the first is solid."""

MARKERS: Final = ("o", "s", "^", "D", "v", "P")
"""Markers that go with `LINES`."""
