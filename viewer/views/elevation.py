"""The side elevation of one can, to scale: wires, lean, balance, centre of gravity, pool, mat."""

import math

import numpy as np

from packsim.answers import Answer
from packsim.report.drawings.can_section import CanSection
from packsim.report.words.display import Display
from viewer.line import index_of
from viewer.screen.drawing import Polygon, Polyline, Writer
from viewer.screen.layout import Box, Camera
from viewer.session.session import Session
from viewer.session.source import Source

_SHOW = Display("metric")

WIRE_RADIUS_MM = 2.5
"""How thick a guide wire is drawn: a sketch, the scenario does not know it [mm]."""

Points = tuple[tuple[float, float], ...]


def elevation_panel(session: Session, w: Writer) -> None:
    """Show the elevation of the picked can, or of the worst one in the chosen stage."""
    pack, box = session.pack, session.layout.elevation
    i = index_of(pack.source.frame, session.shown_can(pack))
    if i is None:
        w.panel(box, "Side view: no can here")
    else:
        _Elevation(w, box, pack.source, i).draw()


class _Elevation:
    """Draws one can between what stands around it, in the plane nearer to its lean.

    That is across the mat, seen downstream, or along travel. ``at_mm`` is the place of the can in
    that plane, from the mat's left edge or along the line [mm]; it leans to the right of the
    picture where ``toward`` is +1. Cans are its neighbours when their centres are within a radius
    of the plane.
    """

    def __init__(self, w: Writer, box: Box, source: Source, i: int) -> None:
        frame, self.w = source.frame, w
        direction, self.lean_rad = float(frame.direction_rad[i]), float(frame.lean_rad[i])
        self.lies = int(frame.role[i]) == 4
        self.across = abs(math.sin(direction)) >= 0.5 or self.lean_rad < 1e-3
        main, other = (frame.y_mm, frame.x_mm) if self.across else (frame.x_mm, frame.y_mm)
        self.at_mm, radius = float(main[i]), float(frame.radius_mm[i])
        near = (np.abs(other - other[i]) < radius) & (np.abs(main - main[i]) < 7.0 * radius)
        near[i] = False
        self.neighbours_mm = np.sort(main[near]).astype(float).tolist()
        part = math.sin(direction) if self.across else math.cos(direction)
        self.toward = 1.0 if part >= 0.0 else -1.0
        x = float(frame.x_mm[i])
        stage = source.line_map.stage_at(x)
        self.faces_mm, answer = source.line_map.faces_at(x), source.answers[stage]
        self.can, self.stage = source.loaded.can, source.loaded.scenario.stages[stage]
        self.balance_rad: float | None = None
        self.water = self.stage.water_in_dome[1]
        if isinstance(answer, Answer):
            self.balance_rad, self.water = answer.worst.balance_rad, answer.water.sprayed
        seen = "looking downstream" if self.across else "from the right guide"
        self.body = w.panel(box, f"Side view, to scale, {seen}")
        self.clip = self.body._replace(w=self.body.w - w.px(106))
        self.section = self._leaning(0.0)
        top = max(self.can.height_mm * 1.12, (self.stage.hold_down_mm or 0.0) * 1.02)
        scale = min(self.clip.w / (3.1 * self.can.diameter_mm), self.clip.h / (top + 9.0))
        up = self.clip.h / 2.0 / scale - 8.0
        self.camera = Camera(self.at_mm, up, scale, self.clip, up=True)

    def draw(self) -> None:
        """Add everything, from the back to the front."""
        self._mat()
        for centre in self.neighbours_mm:
            moved = tuple((u + centre - self.at_mm, v) for u, v in self._at(self.section.corners))
            self._outline(moved, "neighbour", 1)
        self._guides()
        if self.stage.hold_down_mm is not None:
            self._level(self.stage.hold_down_mm, "hold-down")
        self._can()
        self._centre_of_gravity()
        if self.balance_rad is not None and not self.lies:
            corners = self._at(self._leaning(self.balance_rad).corners)
            self._line((*corners, corners[0]), "balance", 1.5, 4)
        self._legend()

    def _leaning(self, lean_rad: float) -> CanSection:
        """Return the can in section, leaning to the left about its edge at 0; see `_at`."""
        share = self.water
        return CanSection(self.can, self.can.stance(share).cg_mm, share, 0.0, lean_rad)

    def _at(self, points: Points) -> Points:
        """Return points of a section where they stand, mirrored for a lean to the right [mm]."""
        toward = self.toward
        pivot = self.at_mm + toward * self.can.diameter_mm / 2.0
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
        if not self.across:
            for height in heights:
                self._level(height, "wire", 4)
            return
        turns = np.linspace(0.0, 2.0 * math.pi, 16, endpoint=False).tolist()
        for face, out in zip(self.faces_mm, (-1.0, 1.0), strict=True):
            for height in heights:
                middle, r = face + out * WIRE_RADIUS_MM, WIRE_RADIUS_MM
                ring = ((middle + r * math.cos(t), height + r * math.sin(t)) for t in turns)
                self._area(tuple(ring), "wire")
            post = face + out * 6.0
            self._line(((post, 0.0), (post, heights[-1] + 8.0)), "bracket", 2)

    def _can(self) -> None:
        corners = self._at(self.section.corners)
        self._area(corners, "button", 150)
        if self.lean_rad > 1e-3 or self.lies:
            # tipped cans of old recordings have no lean of their own
            angle = math.pi / 2.0 if self.lean_rad < 1e-3 else min(self.lean_rad, math.pi / 2.0)
            self._outline(self._at(self._leaning(angle).corners), "lean", 2)
        self._outline(corners, "can line", 2)
        self._line(self._at(self.section.recess), "can line", 1)
        if self.section.pool:
            self._area(self._at(self.section.pool), "pool")

    def _centre_of_gravity(self) -> None:
        x, y = self.camera.point_px(self.at_mm, self.section.cg_mm)
        reach, width = 2 * self.w.px(4), max(1, self.w.px(1))
        for dx, dy in ((reach, 0), (0, reach)):
            ends = ((x - dx, y - dy), (x + dx, y + dy))
            self.w.add(Polyline(ends, "can line", width, 0, self.clip))

    def _legend(self) -> None:
        w, stage = self.w, self.stage
        flat = self.lies and not 1e-3 < self.lean_rad < 1.5
        lean = "lies" if flat else _SHOW.angle(self.lean_rad)
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
