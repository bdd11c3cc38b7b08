"""A header as a shop drawing: its holes from two datums in mm and inches, and what it serves.

Seen from above, travel up the sheet. Across is the place from the mat's left edge in real
millimetres; what belongs to the paper is in millimetres of paper.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np

from packsim.arrays import Floats
from packsim.errors import InputError
from packsim.headers.arrangement import Arrangement
from packsim.report.drawings.drawing import (
    Circle,
    Dimension,
    Drawing,
    Entry,
    Hole,
    Label,
    Ordinate,
    Plain,
    Primitive,
    Stroke,
)
from packsim.report.drawings.sheet_tools import arrow, box, wire
from packsim.report.drawings.title_block import FRAME_MM, TYPE_MM, fitted, surround, title_block
from packsim.report.words.drilling import Drilling, shop_text

PAPERS_MM: Final = ((420.0, 297.0), (594.0, 420.0), (841.0, 594.0), (1189.0, 841.0))
"""Sizes A3 to A0, lengthwise (ISO 216) [mm]."""

SCALES: Final = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
"""Real millimetres per millimetre of paper, of the reductions of ISO 5455."""

_STEP: Final = 1.35 * TYPE_MM  # from one ordinate to the next
_LEADER: Final = 12.0
_TEXT: Final = 11.0  # room of an ordinate's text
_LINE: Final = 7.0  # from one dimension line to the next
_ASIDE: Final = 26.0  # beside the longest thing
_HEAD: Final = 9.0
_MARK_MM: Final = 8.0  # a hole whose diameter nobody gave is drawn with
_PIPE_MM: Final = 60.0  # a pipe whose diameter nobody gave is drawn with


def header_sheets(
    name: str, drillings: Sequence[Drilling], scenario_hash: str
) -> tuple[Drawing, ...]:
    """Draw headers for the shop, each kind on a sheet of its own.

    Parameters
    ----------
    name : str
        Name of the scenario.
    drillings : sequence of Drilling
        What to make.
    scenario_hash : str
        See `packsim.report.files.stamp.scenario_hash`.

    Returns
    -------
    tuple of Drawing
        Pipe, holes, dimensions from the pipe's end and the middle of the mat; then mat, wires, cans
        and lanes of every size; table of holes, notes, title block. They stand one under the other
        in real millimetres, on the smallest paper that takes them.

    Raises
    ------
    InputError
        If there are more holes than A0 has room for.
    """
    found, level = [], 0.0
    for number, one in enumerate(drillings, start=1):
        sheet = _Sheet(one, level)
        of = f"{number} of {len(drillings)}"
        block = title_block(one, name, scenario_hash, sheet.scale, of, sheet.wide)
        drawing = sheet.drawing(name, block)
        found.append(drawing)
        level -= 1.1 * drawing.height_mm
    return tuple(found)


def spread(places: Floats, step: float) -> Floats:
    """Return places moved apart to at least a step, in order, by the least sum of squares.

    With each place less its number times the step the order alone is left: neighbours out of order
    share their mean (pool adjacent violators).

    Examples
    --------
    >>> spread(np.array([0.0, 1.0, 10.0]), 3.0)
    array([-1.,  2., 10.])
    """
    pools: list[tuple[float, int]] = []
    for value in places - step * np.arange(len(places)):
        pools.append((float(value), 1))
        while len(pools) > 1 and pools[-2][0] >= pools[-1][0]:
            (a, m), (b, n) = pools[-2:]
            pools[-2:] = [((a * m + b * n) / (m + n), m + n)]
    means, counts = (np.array(each) for each in zip(*pools, strict=True))
    moved: Floats = np.repeat(means, counts) + step * np.arange(len(places))
    return moved


class _Sheet:
    """One header on its paper: the axis of the pipe at ``level`` [mm], ``up`` above it [paper]."""

    def __init__(self, drilling: Drilling, level: float) -> None:
        self.drilling, self.design, self.level = drilling, drilling.design, level
        self.ends = drilling.ends_mm
        self.holes = self.ends[0] + drilling.from_end_mm
        self.middle = self.ends[0] + drilling.centre_mm
        self.low = min(0.0, self.ends[0])
        self.high = max(drilling.mat_mm, self.ends[1])
        self.thick = drilling.shop.pipe_diameter_mm or _PIPE_MM
        for most in SCALES[-3:]:
            for paper in PAPERS_MM:
                for scale in (one for one in SCALES if one <= most):
                    if self._fits(paper, scale):
                        return
        allowed = "fewer holes, or cans of fewer sizes (--size): more than a sheet of A0 takes"
        raise InputError("most", f"{len(self.holes)} holes", allowed)

    def _fits(self, paper: tuple[float, float], scale: float) -> bool:
        """Take a paper and a scale, and tell whether all has room."""
        (self.wide, self.tall), self.scale = paper, scale
        half = self.thick / 2.0 / scale
        self.reach = half + _LEADER + _TEXT  # from the axis to the dimension lines
        self.up = FRAME_MM + _HEAD + self.reach + 2.0 * _LINE + 2.0
        notes, _ = surround(self.drilling, self.notes(), *paper)
        down = self.reach + 2.0 * _LINE + 4.0 + sum(map(self._room, self.design.packs))
        room = self.wide - 2.0 * FRAME_MM - 2.0 * _ASIDE
        labels = (len(self.holes) + 2) * _STEP
        tall = self.up + down + notes + FRAME_MM
        return max((self.high - self.low) / scale, labels) <= room and tall <= self.tall

    def _room(self, at: Arrangement) -> float:
        """Return the height one size takes [mm of paper]."""
        along = _one_each(at)[:, 0]
        return (float(np.ptp(along)) + at.can.diameter_mm) / self.scale + 9.0

    def at(self, x: float, paper: float) -> tuple[float, float]:
        """Return a point at a real place across and a height of paper over the axis."""
        return x, self.level + paper * self.scale

    def drawing(self, name: str, block: tuple[Plain | Entry, ...]) -> Drawing:
        """Put the parts together."""
        middle = (self.low + self.high) / 2.0
        half = self.wide / 2.0 * self.scale
        low = (middle - half, self.level + (self.up - self.tall) * self.scale)
        high = (middle + half, self.level + self.up * self.scale)
        what = f"header {self.design.side} the mat: {', '.join(self.design.stages)}"
        title = f"{name} · {what}"
        _, paper = surround(self.drilling, self.notes(), self.wide, self.tall)
        size = 1.6 * fitted(title, (self.wide - 2.0 * FRAME_MM - 8.0) / 1.8)  # it is bold
        head = Label((FRAME_MM + 4.0, self.tall - FRAME_MM - 5.0), title, size, "title")
        parts = (*self._strips(), *self._pipe(), *self._dimensions())
        return Drawing(title, low, high, self.scale, parts, paper=(*paper, head), block=block)

    def notes(self) -> tuple[str, ...]:
        """Say what no line of the drawing says."""
        one, shop, header = self.drilling, self.drilling.shop, self.design.header
        faces = "up" if self.design.side == "below" else "down"
        angle, turn = np.degrees([header.nozzle.angle_rad, header.nozzle.twist_rad])
        pattern = "full cone" if header.nozzle.pattern == "cone" else header.nozzle.pattern
        pattern += f", turned {turn:.0f}°," if turn else ""
        found = [
            f"Drill {len(self.holes)} holes, each {one.hole}, in one line along the pipe; make "
            f"{len(one.stations)}. Holes face {faces}, towards the mat. Seen from above.",
            f"Place: {one.where}, from the start of the stage.",
            f"Datums: {one.datum}.",
            f"Tolerance: {one.tolerance}.",
            f"Nozzles: {pattern} {angle:.0f}°, tips {header.mat_distance_mm:g} mm from the mat, "
            f"{header.pressure_MPa * 10.0:.3g} bar.",
            "Under the header: cans, lanes and guides of each size as recommended; guide wires as "
            "thick as their mass says.",
        ]
        if shop.pipe_mm is None:
            found.append("Pipe ends were not given: the mat's edges are taken. Check them first.")
        if shop.pipe_diameter_mm is None:
            found.append(f"Pipe diameter was not given: drawn {_PIPE_MM:g} mm.")
        if shop.hole_mm is None:
            found.append(f"Holes are drawn {_MARK_MM:g} mm, as marks: the words above count.")
        return tuple(found)

    def _pipe(self) -> list[Primitive]:
        """Draw the pipe with its holes and datums."""
        (x0, x1), half = self.ends, self.thick / 2.0
        beyond = 5.0 * self.scale
        parts: list[Primitive] = [
            box(x0, self.level - half, x1, self.level + half, "pipe"),
            Stroke((x0 - beyond, self.level), (x1 + beyond, self.level), "lane"),
        ]
        diameter = self.drilling.shop.hole_mm or _MARK_MM
        for number, x in enumerate(self.holes, start=1):
            at = float(x), self.level
            what = self.drilling.hole
            parts.append(Hole(at, diameter, number, what, 0.72 * TYPE_MM * self.scale))
        reach = half / self.scale + 3.0
        parts.append(Stroke(self.at(x0, -reach), self.at(x0, reach), "datum"))
        parts += self._datum("A", (x0 - 9.0 * self.scale, self.level))
        return parts

    def _datum(self, name: str, at: tuple[float, float]) -> list[Primitive]:
        return [
            Circle(at, 3.0 * self.scale, "frame"),
            Label(at, name, 1.3 * TYPE_MM * self.scale, "title", "middle"),
        ]

    def _dimensions(self) -> list[Primitive]:
        """Every hole from A, in mm below and in inches above; then B and the other end from A."""
        size, (x0, x1) = TYPE_MM * self.scale, self.ends
        marks = np.concatenate([[x0], self.holes])
        labels = spread(marks, _STEP * self.scale)
        end = self.thick / 2.0 / self.scale + _LEADER
        parts: list[Primitive] = []
        for unit, side in (("mm", -1.0), ("in", 1.0)):
            for x, label in zip(marks, labels, strict=True):
                at, ends = (float(x), self.level), self.at(float(label), side * end)
                parts.append(Ordinate(at, ends, x0, size, unit))
            for k, place in enumerate((self.middle, x1), start=1):
                base = self.at(x0, side * self.reach), self.at(place, side * self.reach)
                off = side * (k * _LINE - 1.0) * self.scale
                text = shop_text(place - x0, unit)
                parts.append(Dimension(*base, off, text, size, unit=unit))
            beside = self.at(x0 - 4.0 * self.scale, side * (self.reach + _LINE))
            parts.append(Label(beside, unit, size, "note", "end"))
        return parts

    def _strips(self) -> list[Primitive]:
        """Draw the mat, and on it wires, cans and lanes of each size."""
        top = -self.reach - 2.0 * _LINE - 4.0
        level, parts = top, []
        for at, text in zip(self.design.packs, self.drilling.sizes, strict=True):
            room = self._room(at)
            parts += self._strip(at, text, level, room)
            level -= room
        foot, head = self.at(0.0, level), self.at(0.0, top)
        mat = box(0.0, foot[1], self.drilling.mat_mm, head[1], "mat")
        aside, middle = self.drilling.mat_mm + 8.0 * self.scale, (foot[1] + head[1]) / 2.0
        ends = (aside, middle - 7.0 * self.scale), (aside, middle + 7.0 * self.scale)
        way = arrow(*ends, 3.0 * self.scale, "label")
        word = Label((aside + 3.0 * self.scale, middle), "travel", TYPE_MM * self.scale, "note")
        datum = self._datum("B", (self.middle, foot[1] - 4.0 * self.scale))
        return [mat, *parts, *way, word, *datum]

    def _strip(self, at: Arrangement, text: str, top: float, room: float) -> list[Primitive]:
        cans, radius, scale = _one_each(at), at.can.diameter_mm / 2.0, self.scale
        (_, foot), (_, head) = self.at(0.0, top - room + 1.0), self.at(0.0, top - 6.0)
        size = TYPE_MM * scale
        parts: list[Primitive] = [Label(self.at(3.0 * scale, top - 3.0), text, size, "label")]
        for along, across in cans:
            centre = float(across) + at.left_mm, foot + radius + scale + float(along)
            parts.append(Circle(centre, radius, "can"))
        parts += [Stroke((float(x), foot), (float(x), head), "lane") for x in at.lines_mm]
        right = 2.0 * at.stage.guides.centre_mm - at.left_mm
        for face, out in ((at.left_mm, -1.0), (right, 1.0)):
            parts.append(wire(face, out * at.stage.guides.wires.diameter_mm, foot, head))
        return [*parts, Stroke((self.middle, foot), (self.middle, head), "datum")]


def _one_each(at: Arrangement) -> Floats:
    """Return the first can of each lane, along from the first and across, shape (lanes, 2)."""
    centres = at.pack.centres_mm
    near = centres[np.argsort(centres[:, 0], kind="stable")]
    _, first = np.unique(np.round(near[:, 1], 6), return_index=True)
    cans: Floats = near[first] - np.array([near[first, 0].min(), 0.0])
    return cans
