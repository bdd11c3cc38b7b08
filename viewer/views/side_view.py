"""A side scene to scale: cans in section, wires, hold-down, mat, centre of gravity, its plumb."""

import math

import numpy as np

from packsim.report.drawings.can_section import CanSection
from viewer.screen.camera import Camera
from viewer.screen.drawing import Polygon, Polyline, Writer
from viewer.screen.layout import Box
from viewer.screen.marks import cross, dot, state_mark
from viewer.views.side_scene import Body, SideScene

WIRE_RADIUS_MM = 2.5
"""How thick a guide wire is drawn: a sketch, the scenario does not know it [mm]."""

NEIGHBOUR_ALPHA = 120
"""How much the shade of a can that is not the one looked at covers, of 255."""

Points = tuple[tuple[float, float], ...]


class SideView:
    """Draws a scene in a box, the can looked at a little left of the middle where it falls."""

    def __init__(self, w: Writer, box: Box, scene: SideScene, wide_cans: float = 3.1) -> None:
        self.w, self.clip, self.scene = w, box, scene
        can, stage = scene.can, scene.stage
        self.stance = can.stance(scene.water)
        top = max(can.height_mm * 1.12, (stage.hold_down_mm or 0.0) * 1.02)
        scale = min(box.w / (wide_cans * can.diameter_mm), box.h / (top + 9.0))
        middle = max(0.0, wide_cans - 3.1) * 0.3 * can.diameter_mm
        self.camera = Camera(middle, box.h / 2.0 / scale - 8.0, scale, box, up=True)

    def draw(self) -> None:
        """Add everything, from the back to the front."""
        u0, u1, _, _ = self.camera.spans_mm()
        self.area(((u0, 0.0), (u1, 0.0), (u1, -5.0), (u0, -5.0)), "mat edge")
        for other in self.scene.others:
            self._can(other, NEIGHBOUR_ALPHA)
        self._guides()
        if self.scene.stage.hold_down_mm is not None:
            self.level(self.scene.stage.hold_down_mm, "hold-down", width=3.5)
        body = self.scene.body
        if body is None:
            return
        self._can(body, 255)
        standing = body.state != "tipped"
        if standing and self.scene.room_rad > 1e-3:
            # clear of the outline of where it would tip: two colours, and one of them broken
            corners = self._corners(self._turned(self.scene.room_rad))
            self.outline(corners, "lean", 3)
            self.w.add(dot(self._top(corners), self.w.px(4), "lean", self.clip))
        if standing and self.scene.balance_rad > 0.0:
            corners = self._corners(self._turned(self.scene.balance_rad))
            self.line((*corners, corners[0]), "balance", 1.5, 4)
            wide = max(2, self.w.px(2))
            self.w.add(*cross(self._top(corners), self.w.px(4), "balance", wide, self.clip))
        self._centre_of_gravity(body)

    def _turned(self, lean_rad: float) -> Body:
        """Return the can looked at as it would lean."""
        radius, toward = self.scene.can.diameter_mm / 2.0, self.scene.toward
        return Body(toward * radius, toward * lean_rad, "")

    def section(self, body: Body) -> tuple[CanSection, float]:
        """Return a body in section, leaning to the left about 0, and the side that stands for."""
        lean = abs(body.lean_rad)
        side = 1.0 if body.lean_rad >= 0.0 else -1.0
        return CanSection(self.scene.can, self.stance.cg_mm, self.scene.water, 0.0, lean), side

    def place(self, body: Body, points: Points) -> Points:
        """Return points of its section where they stand, mirrored for a lean to the right [mm]."""
        side = self.section(body)[1]
        return tuple((body.pivot_mm - side * x, y) for x, y in points)

    def _corners(self, body: Body) -> Points:
        return self.place(body, self.section(body)[0].corners)

    def _can(self, body: Body, alpha: int) -> None:
        """Draw a can in the shade of its state; what its dome holds stays level."""
        section = self.section(body)[0]
        corners = self._corners(body)
        self.area(corners, body.state, alpha)
        self.outline(corners, "can line" if alpha == 255 else "neighbour", 2 if alpha == 255 else 1)
        self.line(self.place(body, section.recess), "can line" if alpha == 255 else "neighbour", 1)
        if section.pool and alpha == 255:
            self.area(self.place(body, section.pool), "pool")
        share = zip((0.4, 0.1, 0.1, 0.4), corners, strict=True)  # low on its axis
        x, y = (sum(parts) for parts in zip(*((f * u, f * v) for f, (u, v) in share), strict=True))
        middle = self.camera.point_px(x, y)
        room = self.scene.toward if body.lean_rad == 0.0 else body.lean_rad
        radius = 0.3 * self.scene.can.diameter_mm * self.camera.px_per_mm
        turn = 0.0 if room > 0.0 else math.pi
        self.w.add(*state_mark(body.state, middle, radius, turn, self.clip))

    def _top(self, corners: Points) -> tuple[float, float]:
        """Return where the highest corner is on the screen [px]."""
        return self.camera.point_px(*max(corners, key=lambda point: point[1]))

    def _guides(self) -> None:
        """Draw wires as they are cut: round, outside the face; along the guides lines behind."""
        heights = self.scene.stage.guides.wires.heights_mm
        if not self.scene.faces_mm:
            for height in heights:
                self.level(height, "wire", 4)
            return
        turns = np.linspace(0.0, 2.0 * math.pi, 16, endpoint=False).tolist()
        for face, out in self.scene.faces_mm:
            for height in heights:
                middle, r = face + out * WIRE_RADIUS_MM, WIRE_RADIUS_MM
                ring = ((middle + r * math.cos(t), height + r * math.sin(t)) for t in turns)
                self.area(tuple(ring), "wire")
            post = face + out * 6.0
            self.line(((post, 0.0), (post, heights[-1] + 8.0)), "bracket", 2)

    def _centre_of_gravity(self, body: Body) -> None:
        """Mark it, with its plumb line down to the mat where the can leans."""
        ((u, v),) = self.place(body, (self.section(body)[0].centre_of_gravity_mm,))
        x, y = self.camera.point_px(u, v)
        ink = f"on {body.state}"
        reach, width = 2 * self.w.px(4), max(1, self.w.px(1))
        for dx, dy in ((reach, 0), (0, reach)):
            ends = ((x - dx, y - dy), (x + dx, y + dy))
            self.w.add(Polyline(ends, ink, width, 0, self.clip))
        if abs(body.lean_rad) > 1e-3:
            # over cans of any shade, and over the panel beside them
            self.line(((u, v), (u, 0.0)), "panel", 4)
            self.line(((u, v), (u, 0.0)), "picked", 1.5, 3)

    def line(self, points: Points, role: str, width: float, dash: float = 0.0) -> None:
        """Add a line through points of the scene [mm]; widths and dashes in layout pixels."""
        px = self.w.px
        at = tuple(self.camera.point_px(*point) for point in points)
        self.w.add(Polyline(at, role, max(1, px(width)), px(dash), self.clip))

    def outline(self, points: Points, role: str, width: float) -> None:
        """Add the outline of an area of the scene."""
        at = tuple(self.camera.point_px(*point) for point in points)
        wide = max(1, self.w.px(width))
        self.w.add(Polygon(at, role, filled=False, width_px=wide, clip=self.clip))

    def area(self, points: Points, role: str, alpha: int = 255) -> None:
        """Add an area of the scene."""
        at = tuple(self.camera.point_px(*point) for point in points)
        self.w.add(Polygon(at, role, alpha=alpha, clip=self.clip))

    def level(self, height_mm: float, role: str, dash: float = 0.0, width: float = 1.5) -> None:
        """Add a line from side to side at a height [mm]."""
        u0, u1, _, _ = self.camera.spans_mm()
        self.line(((u0, height_mm), (u1, height_mm)), role, width, dash)
