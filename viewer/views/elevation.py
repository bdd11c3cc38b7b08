"""The side view of the picked can, or of the one kept in view, with what its lines are."""

from packsim.answers.worst_can import full_words
from packsim.report.words.display import Display
from viewer.line import index_of
from viewer.screen.drawing import Polyline, Writer
from viewer.screen.layout import Box
from viewer.screen.marks import cross, dot
from viewer.session.rocking import leans_now
from viewer.session.session import Session
from viewer.session.source import Source
from viewer.session.tips import push_on
from viewer.views.down import DOWN
from viewer.views.forces import forces
from viewer.views.grips import wire_grips
from viewer.views.side_scene import scene_now
from viewer.views.side_view import SideView


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
    body = w.panel(box, f"Side view{name or ', to scale'}, {scene.title}")
    view = SideView(w, body._replace(w=body.w - w.px(106)), scene)
    view.draw()
    frame = pack.source.frame
    push = push_on(pack.source, float(frame.x_mm[i]), float(frame.y_mm[i]))
    forces(view, push, scene.plane_rad)
    at = pack.source.line_map.stage_at(float(frame.x_mm[i]))
    wire_grips(w, view, at, session.packs.index(pack), session.display)
    _legend(w, body, view, session.display, down=int(pack.source.frame.role[i]) == DOWN)


def _shown_s(session: Session, source: Source) -> float:
    """Return the time that the plan shows, between two steps [s]."""
    last, now = source.before.time_s, source.frame.time_s
    return last + session.clock.share * (now - last)


def _legend(w: Writer, body: Box, view: SideView, display: Display, *, down: bool) -> None:
    """Write what the lines and outlines of the side view are, with their numbers."""
    scene, stage = view.scene, view.scene.stage
    lean = ("is down, leans" if down else "room to lean", display.angle(scene.room_rad))
    if scene.body is None:
        lean = ("is down", "left a hole")
    elif down and scene.room_rad > 1.5:
        lean = ("is down", "lies flat")
    digits = 1 if display.metric else 2  # three wires have to fit
    at = map(display.length_value, reversed(stage.guides.wires.heights_mm))
    wires = ", ".join(f"{round(height, digits):g}" for height in at)
    hold_down = "none" if stage.hold_down_mm is None else display.length(stage.hold_down_mm)
    here, rest = display.angle(scene.balance_rad), display.angle(view.stance.balance_angle_rad)
    rows = [
        (*lean, "tipped" if down else "lean"),
        ("tip here, at rest", "–" if down else f"{here}, {rest}", "balance"),
        ("dome", full_words(scene.water), "pool"),
        ("c. of gravity at", display.length(view.stance.cg_mm), "can line"),
        (f"wires at, {display.length_unit}", wires, "wire"),
        ("hold-down at", hold_down, "hold-down"),
    ]
    box = Box(body.right - w.px(100), body.y, w.px(100), body.h)
    line = box.h // (2 * len(rows))
    for i, (label, value, role) in enumerate(rows):
        y = box.y + 2 * i * line
        _key(w, Box(box.x - w.px(6), y + w.px(2), w.px(12), 2 * line - w.px(4)), role)
        text = Box(box.x + w.px(10), y, box.w - w.px(10), line)
        w.text(label, text, "quiet", "small")
        w.text(value, text._replace(y=y + line), "text", "small")


def _key(w: Writer, box: Box, role: str) -> None:
    """Show a line of the side view as it is drawn there: its thickness, dashes and mark."""
    x, thick = box.x + box.w / 2.0, {"lean": 3.0, "hold-down": 3.5, "can line": 2.0}.get(role, 1.5)
    end, reach = (x, box.y + w.px(3.0)), w.px(4)
    if role in ("tipped", "pool"):
        w.fill(box.cut(box.w // 3, max(1, box.w // 3)), role)
    elif role == "wire":
        w.add(dot((x, box.y + box.h / 2.0), reach, role, box))
    else:
        dash = w.px(4) if role == "balance" else 0
        w.add(Polyline((end, (x, box.bottom)), role, max(1, w.px(thick)), dash))
    if role == "lean":
        w.add(dot(end, reach, role, box))
    elif role == "balance":
        w.add(*cross(end, w.px(3), role, max(2, w.px(2)), box))
    elif role == "can line":
        y = box.y + box.h / 2.0
        w.add(Polyline(((x - reach, y), (x + reach, y)), role, max(1, w.px(thick))))
