"""The side view, to scale: cans in section, wires, hold-down, mat, centre of gravity, its plumb."""

import math

import numpy as np

from packsim.report.drawings.can_section import CanSection
from packsim.report.words.display import Display
from viewer.line import index_of
from viewer.screen.drawing import Polygon, Polyline, Writer
from viewer.screen.layout import Box, Camera
from viewer.session.rocking import leans_now
from viewer.session.session import Session
from viewer.session.source import Source
from viewer.views.down import DOWN
from viewer.views.side_scene import Body, SideScene, scene_now

_SHOW = Display("metric")

WIRE_RADIUS_MM = 2.5
"""How thick a guide wire is drawn: a sketch, the scenario does not know it [mm]."""

NEIGHBOUR_ALPHA = 120
"""How much the shade of a can that is not the one looked at covers, of 255."""

Points = tuple[tuple[float, float], ...]


def ink_on(state: str) -> str:
    """Return what can be made out on the shade of a can."""
    return "on dark" if state in ("could go over", "tipped") else "can line"


def elevation_panel(session: Session, w: Writer) -> None:
    """Show the side view of the picked can, or of the worst one in the chosen stage."""
    pack, box = session.watched, session.layout.elevation
    name = session.name_of(pack)
    i = index_of(pack.source.frame, session.shown_can(pack))
    if i is None:
        w.panel(box, f"Side view{name}: no can here")
        return
    cans, lean, direction = leans_now(pack.kicked, _shown_s(session, pack.source))
    each = zip(lean.tolist(), direction.tolist(), strict=True)
    scene = scene_now(pack.source, i, dict(zip(cans.tolist(), each, strict=True)))
    body = w.panel(box, scene.title + name)
    view = SideView(w, body._replace(w=body.w - w.px(106)), scene)
    view.draw()
    _legend(w, body, view, down=int(pack.source.frame.role[i]) == DOWN)


def _shown_s(session: Session, source: Source) -> float:
    """Return the time that the plan shows, between two steps [s]."""
    last, now = source.before.time_s, source.frame.time_s
    return last + session.clock.share * (now - last)


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
            self.level(self.scene.stage.hold_down_mm, "hold-down")
        body = self.scene.body
        if body is None:
            return
        self._can(body, 255)
        standing = body.state != "tipped"
        if standing and self.scene.room_rad > 1e-3:
            # clear of the outline of where it would tip: two colours, and one of them broken
            self.outline(self._corners(self._turned(self.scene.room_rad)), "lean", 2)
        if standing and self.scene.balance_rad > 0.0:
            corners = self._corners(self._turned(self.scene.balance_rad))
            self.line((*corners, corners[0]), "balance", 1.5, 4)
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
        ink = ink_on(body.state)
        reach, width = 2 * self.w.px(4), max(1, self.w.px(1))
        for dx, dy in ((reach, 0), (0, reach)):
            ends = ((x - dx, y - dy), (x + dx, y + dy))
            self.w.add(Polyline(ends, ink, width, 0, self.clip))
        if abs(body.lean_rad) > 1e-3:
            self.line(((u, v), (u, 0.0)), ink if ink == "can line" else "balance", 1.5, 3)

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

    def level(self, height_mm: float, role: str, dash: float = 0.0) -> None:
        """Add a line from side to side at a height [mm]."""
        u0, u1, _, _ = self.camera.spans_mm()
        self.line(((u0, height_mm), (u1, height_mm)), role, 1.5, dash)


def _legend(w: Writer, body: Box, view: SideView, *, down: bool) -> None:
    """Write what the lines and outlines of the side view are, with their numbers."""
    scene, stage = view.scene, view.scene.stage
    lean = ("is down, leans" if down else "room to lean", _SHOW.angle(scene.room_rad))
    if scene.body is None:
        lean = ("is down", "left a hole")
    elif down and scene.room_rad > 1.5:
        lean = ("is down", "lies flat")
    wires = ", ".join(f"{h:g}" for h in reversed(stage.guides.wires.heights_mm))
    hold_down = "none" if stage.hold_down_mm is None else _SHOW.length(stage.hold_down_mm)
    rows = [
        (*lean, "tipped" if down else "lean"),
        ("tip angle here", "–" if down else _SHOW.angle(scene.balance_rad), "balance"),
        ("c. of gravity at", _SHOW.length(view.stance.cg_mm), "can line"),
        ("wires at", f"{wires} mm", "wire"),
        ("hold-down at", hold_down, "hold-down"),
    ]
    box = Box(body.right - w.px(100), body.y, w.px(100), body.h)
    line = box.h // (2 * len(rows))
    for i, (label, value, role) in enumerate(rows):
        y = box.y + 2 * i * line
        w.fill(Box(box.x, y + w.px(2), w.px(4), 2 * line - w.px(4)), role)
        text = Box(box.x + w.px(10), y, box.w - w.px(10), line)
        w.text(label, text, "quiet", "small")
        w.text(value, text._replace(y=y + line), "text", "small")
