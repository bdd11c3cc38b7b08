"""What can be dragged, where it is on the screen, and how it shows itself under the mouse."""

from packsim.report.words.display import Display
from viewer.screen.camera import Camera
from viewer.screen.drawing import Drawing, Grip, Item, Polygon, Writer
from viewer.screen.layout import Box
from viewer.session.adjust import DIALS, step_mm
from viewer.session.drag import PLACES
from viewer.session.keys import key_label
from viewer.session.session import Session
from viewer.views.plan import LETTER_PX
from viewer.views.side_view import WIRE_RADIUS_MM, SideView

NEAR_PX = 5
"""How near to a line the mouse takes it, in layout pixels."""

PACK_PX = 9
"""Half the side of the mark by which the pack is taken, in layout pixels."""

END_PX = 26
"""So much of either end of a header takes it: cans under the rest can be picked."""


def plan_grips(session: Session) -> Drawing:
    """Return what can be dragged in the plans: headers by their ends, guides, the pack."""
    grips: list[Grip] = []
    marks: list[Item] = []
    for pack, view in enumerate(session.views):
        low, high, _, _ = view.spans_mm()
        bounds = session.packs[pack].source.line_map.bounds_mm.tolist()
        for stage in range(len(bounds) - 1):
            near, far = max(low, bounds[stage]), min(high, bounds[stage + 1])
            if (far - near) * view.px_per_mm < 3 * PACK_PX * session.layout.scale:
                continue
            of_stage = _StageGrips(session, pack, stage, view)
            grips += of_stage.headers()
            grips += of_stage.guides(near, far)
            if stage == session.stage:
                grips.append(of_stage.the_pack(near))
                marks += _arrows(grips[-1].box, view.view)
    return Drawing(tuple(marks), tuple(g for g in grips if g.box.w > 0 and g.box.h > 0))


class _StageGrips:
    """Makes the grips of one stage in one plan."""

    def __init__(self, session: Session, pack: int, stage: int, view: Camera) -> None:
        self.pack, self.index, self.view = pack, stage, view
        source = session.packs[pack].source
        self.map, self.stage = source.line_map, source.loaded.scenario.stages[stage]
        self.px, self.display = session.layout.px, session.display

    def _grip(self, box: Box, dial: str, part: int) -> Grip:
        moves = step_mm(DIALS[PLACES[dial]], self.stage, part, self.display) * self.view.px_per_mm
        seen, place = _within(box, self.view.view), PLACES[dial]
        whose = {"part": part, "pack": self.pack, "stage": self.index}
        return Grip(seen, "pick dial", place, **whose, px_per_step=moves)

    def headers(self) -> list[Grip]:
        """Return both ends of each header."""
        grips, near, end = [], self.px(NEAR_PX), self.px(END_PX)
        start = float(self.map.bounds_mm[self.index])
        for part, header in enumerate(self.stage.headers):
            at = start + header.station_mm
            nozzles = header.positions_mm
            x, top = self.view.point_px(at, float(nozzles[0]))
            low = self.view.point_px(at, float(nozzles[-1]))[1]
            for y in (top - end // 2, low - end // 2):
                box = Box(round(x) - near, round(y), 2 * near, end)
                grips.append(self._grip(box, "header place", part))
        return grips

    def guides(self, near_mm: float, far_mm: float) -> list[Grip]:
        """Return both guides between two stations."""
        wide = self.px(NEAR_PX)
        places = near_mm, (near_mm + far_mm) / 2.0, far_mm
        faces = [self.map.faces_at(at) for at in places]
        x, right = (round(self.view.point_px(at, 0.0)[0]) for at in (near_mm, far_mm))
        grips = []
        for part in (1, 2):
            ys = [self.view.point_px(0.0, face[part - 1])[1] for face in faces]
            top, low = round(min(ys)) - wide, round(max(ys)) + wide
            grips.append(self._grip(Box(x, top, right - x, low - top), "clear width", part))
        return grips

    def the_pack(self, near_mm: float) -> Grip:
        """Return the mark by which the pack is taken, at the upstream end of what is seen."""
        x, _ = self.view.point_px(near_mm, 0.0)
        left, right = self.map.faces_at(near_mm)
        y = self.view.point_px(near_mm, (left + right) / 2.0)[1]
        half = self.px(PACK_PX)
        box = Box(round(x) + half, round(y) - half, 2 * half, 2 * half)
        return self._grip(box, "shift", 0)


def _within(box: Box, view: Box) -> Box:
    """Return what of a box is inside another."""
    x, y = max(box.x, view.x), max(box.y, view.y)
    return Box(
        x, y, max(0, min(box.right, view.right) - x), max(0, min(box.bottom, view.bottom) - y)
    )


def _arrows(box: Box, clip: Box) -> list[Item]:
    """Return a mark for up and down."""
    middle, gap = box.x + box.w / 2.0, box.h / 9.0
    y = box.y + box.h / 2.0
    corners = ((box.x, y - gap), (middle, box.y), (box.right, y - gap))
    other = ((box.x, y + gap), (middle, box.bottom), (box.right, y + gap))
    return [Polygon(points, "picked", clip=clip) for points in (corners, other)]


def wire_grips(w: Writer, view: SideView, stage: int, pack: int, display: Display) -> None:
    """Make the wires of a side view ones to drag: where the plane cuts them, or along all of it."""
    scene, near = view.scene, w.px(NEAR_PX + 2)
    dial_at = PLACES["wire height"]
    dial = DIALS[dial_at]
    for part, height in enumerate(scene.stage.guides.wires.heights_mm):
        moves = -step_mm(dial, scene.stage, part, display) * view.camera.px_per_mm
        boxes = []
        for face, out in scene.faces_mm:
            x, y = view.camera.point_px(face + out * WIRE_RADIUS_MM, height)
            boxes.append(Box(round(x) - near, round(y) - near, 2 * near, 2 * near))
        if not boxes:
            y = view.camera.point_px(0.0, height)[1]
            boxes.append(Box(view.clip.x, round(y) - near, view.clip.w, 2 * near))
        for box in boxes:
            seen = _within(box, view.clip)
            if seen.w > 0 and seen.h > 0:
                whose = {"part": part, "pack": pack, "stage": stage}
                w.grip(Grip(seen, "pick dial", dial_at, **whose, px_per_step=moves))


def grip_mark(session: Session, drawing: Drawing) -> Drawing:
    """Show what is dragged where the hand has it, or what could be dragged, with its value."""
    w, drag = Writer(session.layout.scale), session.drag
    grip = None if drag is None else drag.grip
    if drag is None and session.pointer is not None:
        found = drawing.hit(*session.pointer)
        grip = found if isinstance(found, Grip) else None
    if grip is None:
        return w.drawing
    box, dial = grip.box, DIALS[grip.argument]
    if drag is not None:
        box = box._replace(y=box.y + round(drag.ahead_px))
    w.fill(box, "chosen", 150, outline="picked")
    loaded = session.packs[grip.pack].source.loaded
    parts = (0, grip.part) if dial.name == "clear width" else (grip.part,)
    shown = (dial.shown(session.display, loaded, grip.stage, part) for part in parts)
    said = f"{dial.name} {', '.join(shown)}"
    if drag is None:
        keys = f"{key_label('turn', -1)} / {key_label('turn', 1)}"
        often = " until here" if grip.part else ""
        said += f": drag, or {key_label('dial', grip.argument)}{often}, then {keys}"
    _label(w, session, box, said)
    return w.drawing


def _label(w: Writer, session: Session, box: Box, said: str) -> None:
    """Write beside a grip, inside the window."""
    window, tall = session.layout.window, w.px(22)
    wide = min(window.w, w.px(LETTER_PX * len(said)) + w.px(16))
    at = session.pointer or (box.x, box.y)
    x = min(max(0, at[0] + w.px(14)), window.w - wide)
    y = min(max(0, box.bottom + w.px(4)), window.h - tall)
    label = Box(x, y, wide, tall)
    w.fill(label, "panel head")
    w.text(said, label.inset(w.px(8), 0), "on dark", "small")
