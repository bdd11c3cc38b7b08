"""The side elevation of one can, to scale: wires, lean, balance, centre of gravity, pool, mat."""

import math
from dataclasses import dataclass

import numpy as np

from packsim.answers import Answer
from packsim.can import Can
from packsim.line import Stage
from packsim.passage import Frame
from packsim.report.drawings.can_section import CanSection
from packsim.report.words.display import Display
from viewer.line.cans import index_of
from viewer.screen.drawing import Polygon, Polyline, Writer
from viewer.screen.layout import Box, Camera
from viewer.session.session import Session

_SHOW = Display("metric")

WIRE_RADIUS_MM = 2.5
"""How thick a guide wire is drawn: a sketch, the scenario does not know it [mm]."""

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class SideView:
    """What the elevation shows, in its own plane: across the mat, seen downstream, or along travel.

    ``at_mm`` is the place of the can in that plane, from the mat's left edge or along the line
    [mm]; ``lean_rad`` the lean it has room for, to the right of the picture where ``toward`` is +1,
    to the left where it is -1; ``lies`` says that it has tipped. ``neighbours_mm`` are the centres
    of the cans beside it, ``faces_mm`` the left and right guide face, used across only.
    """

    across: bool
    at_mm: float
    lean_rad: float
    toward: float
    lies: bool
    neighbours_mm: tuple[float, ...]
    faces_mm: tuple[float, float]


def side_view(frame: Frame, index: int, faces_mm: tuple[float, float]) -> SideView:
    """Choose the plane nearer to the lean of the can at ``index``, and gather its neighbours there.

    Cans count as beside it when their centres are within a radius of its plane.
    """
    direction, lean = float(frame.direction_rad[index]), float(frame.lean_rad[index])
    across = abs(math.sin(direction)) >= 0.5 or lean < 1e-3
    main, other = (frame.y_mm, frame.x_mm) if across else (frame.x_mm, frame.y_mm)
    at, off = float(main[index]), float(other[index])
    radius = float(frame.radius_mm[index])
    near = (np.abs(other - off) < radius) & (np.abs(main - at) < 7.0 * radius)
    near[index] = False
    part = math.sin(direction) if across else math.cos(direction)
    return SideView(
        across=across,
        at_mm=at,
        lean_rad=lean,
        toward=1.0 if part >= 0.0 else -1.0,
        lies=int(frame.role[index]) == 4,
        neighbours_mm=tuple(np.sort(main[near]).astype(float).tolist()),
        faces_mm=faces_mm,
    )


def elevation_panel(session: Session, w: Writer) -> None:
    """Show the elevation of the picked can, or of the worst one in the chosen stage."""
    layout, pack = session.layout, session.pack
    number = session.shown_can(pack)
    frame = pack.source.frame
    i = index_of(frame, number)
    if i is None:
        w.panel(layout.elevation, "Side view: no can here")
        return
    x = float(frame.x_mm[i])
    line_map, loaded = pack.source.line_map, pack.source.loaded
    side, index = side_view(frame, i, line_map.faces_at(x)), line_map.stage_at(x)
    seen = "looking downstream" if side.across else "from the right guide"
    body = w.panel(layout.elevation, f"Side view, to scale, {seen}")
    answer = pack.source.answers[index]
    balance = answer.tipping.balance_angle_rad if isinstance(answer, Answer) else None
    stage = loaded.scenario.stages[index]
    water = answer.water.sprayed if isinstance(answer, Answer) else stage.water_in_dome[1]
    _Elevation(w, body, side, loaded.can, stage, water=water, balance_rad=balance).draw()


class _Elevation:
    """Draws one can in its plane, between what stands around it."""

    def __init__(
        self,
        w: Writer,
        body: Box,
        side: SideView,
        can: Can,
        stage: Stage,
        water: float,
        balance_rad: float | None,
    ) -> None:
        self.w, self.body, self.side, self.can, self.stage = w, body, side, can, stage
        self.balance_rad, self.water = balance_rad, water
        self.clip = Box(body.x, body.y, body.w - w.px(106), body.h)
        self.section = self._leaning(0.0)
        top = max(can.height_mm * 1.12, (stage.hold_down_mm or 0.0) * 1.02)
        scale = min(self.clip.w / (3.1 * can.diameter_mm), self.clip.h / (top + 9.0))
        up = self.clip.h / 2.0 / scale - 8.0
        self.camera = Camera(side.at_mm, up, scale, self.clip, up=True)

    def draw(self) -> None:
        """Add everything, from the back to the front."""
        self._mat()
        for centre in self.side.neighbours_mm:
            moved = tuple(
                (u + centre - self.side.at_mm, v) for u, v in self._at(self.section.corners)
            )
            self._outline(moved, "neighbour", 1)
        self._guides()
        if self.stage.hold_down_mm is not None:
            self._level(self.stage.hold_down_mm, "hold-down")
        self._can()
        self._centre_of_gravity()
        if self.balance_rad is not None and not self.side.lies:
            corners = self._at(self._leaning(self.balance_rad).corners)
            self._line((*corners, corners[0]), "balance", 1.5, 4)
        self._legend()

    def _leaning(self, lean_rad: float) -> CanSection:
        """Return the can in section, leaning to the left about its edge at 0; see `_at`."""
        share = self.water
        return CanSection(self.can, self.can.stance(share).cg_mm, share, 0.0, lean_rad)

    def _at(self, points: Points) -> Points:
        """Return points of a section where they stand, mirrored for a lean to the right [mm]."""
        toward = self.side.toward
        pivot = self.side.at_mm + toward * self.can.diameter_mm / 2.0
        return tuple((pivot - toward * x, y) for x, y in points)

    def _px(self, points: Points) -> Points:
        return tuple(self.camera.point_px(*point) for point in points)

    def _line(self, points: Points, role: str, width: float, dash: float = 0.0) -> None:
        px = self.w.px
        self.w.add(Polyline(self._px(points), role, max(1, px(width)), px(dash), self.clip))

    def _outline(self, points: Points, role: str, width: float) -> None:
        wide = max(1, self.w.px(width))
        self.w.add(Polygon(self._px(points), role, filled=False, width_px=wide, clip=self.clip))

    def _area(self, points: Points, role: str, alpha: int = 255) -> None:
        self.w.add(Polygon(self._px(points), role, alpha=alpha, clip=self.clip))

    def _level(self, height_mm: float, role: str, dash: float = 0.0) -> None:
        u0, u1, _, _ = self.camera.spans_mm()
        self._line(((u0, height_mm), (u1, height_mm)), role, 1.5, dash)

    def _mat(self) -> None:
        u0, u1, _, _ = self.camera.spans_mm()
        self._area(((u0, 0.0), (u1, 0.0), (u1, -5.0), (u0, -5.0)), "mat edge")

    def _guides(self) -> None:
        """Wires as they are cut: round, outside the face; along travel they are lines behind."""
        heights = self.stage.guides.wires.heights_mm
        if not self.side.across:
            for height in heights:
                self._level(height, "wire", 4)
            return
        turns = np.linspace(0.0, 2.0 * math.pi, 16, endpoint=False).tolist()
        for face, out in zip(self.side.faces_mm, (-1.0, 1.0), strict=True):
            for height in heights:
                middle, r = face + out * WIRE_RADIUS_MM, WIRE_RADIUS_MM
                ring = ((middle + r * math.cos(t), height + r * math.sin(t)) for t in turns)
                self._area(tuple(ring), "wire")
            post = face + out * 6.0
            self._line(((post, 0.0), (post, heights[-1] + 8.0)), "bracket", 2)

    def _can(self) -> None:
        corners, side = self._at(self.section.corners), self.side
        self._area(corners, "button", 150)
        if side.lean_rad > 1e-3 or side.lies:
            # tipped cans of old recordings have no lean of their own
            angle = math.pi / 2.0 if side.lean_rad < 1e-3 else min(side.lean_rad, math.pi / 2.0)
            self._outline(self._at(self._leaning(angle).corners), "lean", 2)
        self._outline(corners, "can line", 2)
        self._line(self._at(self.section.recess), "can line", 1)
        if self.section.pool:
            self._area(self._at(self.section.pool), "pool")

    def _centre_of_gravity(self) -> None:
        x, y = self.camera.point_px(self.side.at_mm, self.section.cg_mm)
        reach, width = 2 * self.w.px(4), max(1, self.w.px(1))
        for dx, dy in ((reach, 0), (0, reach)):
            ends = ((x - dx, y - dy), (x + dx, y + dy))
            self.w.add(Polyline(ends, "can line", width, 0, self.clip))

    def _legend(self) -> None:
        w, stage = self.w, self.stage
        flat = self.side.lies and not 1e-3 < self.side.lean_rad < 1.5
        lean = "lies" if flat else _SHOW.angle(self.side.lean_rad)
        balance = "–" if self.balance_rad is None else _SHOW.angle(self.balance_rad)
        wires = ", ".join(f"{h:g}" for h in reversed(stage.guides.wires.heights_mm))
        hold_down = "none" if stage.hold_down_mm is None else _SHOW.length(stage.hold_down_mm)
        rows = [
            ("room to lean", lean, "lean"),
            ("tip angle", balance, "balance"),
            ("c. of gravity at", _SHOW.length(self.section.cg_mm), "can line"),
            ("wires at", f"{wires} mm", "wire"),
            ("hold-down at", hold_down, "hold-down"),
        ]
        box = Box(self.body.right - w.px(100), self.body.y, w.px(100), self.body.h)
        line = box.h // (2 * len(rows))
        for i, (label, value, role) in enumerate(rows):
            y = box.y + 2 * i * line
            w.fill(Box(box.x, y + w.px(2), w.px(4), 2 * line - w.px(4)), role)
            text = Box(box.x + w.px(10), y, box.w - w.px(10), line)
            w.text(label, text, "quiet", "small")
            w.text(value, text._replace(y=y + line), "text", "small")
