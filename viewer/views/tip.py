"""A tip held to be looked at: plan and side view of the can, forces, the sentence, the time bar."""

import math

from packsim.passage import Event
from packsim.report.words.display import Display
from packsim.report.words.numbers import thousands
from viewer.line import index_of
from viewer.screen.camera import Camera
from viewer.screen.drawing import Drawing, Polyline, Writer, join
from viewer.screen.layout import Box
from viewer.session.playback import clock_words
from viewer.session.session import Session
from viewer.session.tips import TipShow
from viewer.views.answers import bearing
from viewer.views.down import leaning_can, ways_of
from viewer.views.forces import arrow, forces
from viewer.views.plan import plan_drawing
from viewer.views.side_scene import SideScene, scene_of_tip
from viewer.views.side_view import SideView

PLAN_CANS = 5.5
"""Can diameters that the plan of a tip is high and wide at least."""

NEEDED_MM = 40.0
"""Length of the arrow of a kick that just tips; the kick is in its scale, up to thrice [mm]."""

TIME_PARTS = 60
"""Parts of the time bar that can be clicked."""


def tip_words(event: Event, leaned: int, display: Display) -> str:
    """Say why a can went: its gap beside the safe one, its kick beside the one it needed."""
    gap = f"gap {display.length(event.gap_mm)}, safe {display.length(event.safe_mm)}"
    if event.safe_mm == 0.0 == event.gap_mm:
        gap = "gap not recorded"
    with_it = ("", ": one more leaned with it", f": {leaned} more leaned with it")[min(leaned, 2)]
    kick = f"kick {_energy(event.energy_mJ)}, needed {_energy(event.needed_mJ)}"
    return f"{gap}{with_it}; {kick}: it went."


def _energy(millijoule: float) -> str:
    return f"{millijoule:.3f} mJ"


def tip_view(session: Session, show: TipShow) -> Drawing:
    """Show the tip that is held, in the place of the plans, the cards and the dock."""
    w, canvas, layout = Writer(session.layout.scale), session.layout.canvas, session.layout
    words = 0 if session.lesson is None or session.presenting else session.lesson.band_px(layout)
    box = canvas._replace(h=layout.footer.y - layout.told.h - canvas.y - words)
    source = session.packs[show.pack].source
    i = index_of(source.frame, show.fall.event.can)
    w.fill(box, "panel")
    body = canvas
    if not session.presenting:
        _head(session, show, w, box.row(0, w.px(26)))
        foot = box._replace(y=box.bottom - w.px(80), h=w.px(80))
        body = Box(box.x, box.y + w.px(26), box.w, max(1, foot.y - box.y - w.px(26)))
        _foot(session, show, w, foot)
    if i is None:
        return w.drawing
    left = body.cut(0, round(0.36 * body.w))
    over = Writer(session.layout.scale)
    right = body.cut(left.w, body.w - left.w)
    view = _side(over, right, scene_of_tip(source, i, show), show, alone=session.presenting)
    if not session.presenting:
        _legend(view, show, session.display)
    return join(w.drawing, _plan(session, show, left, i), over.drawing)


def _head(session: Session, show: TipShow, w: Writer, row: Box) -> None:
    event, source = show.fall.event, session.packs[show.pack].source
    w.fill(row, "panel head")
    stage = source.line_map.stages[event.stage]
    name = session.name_of(session.packs[show.pack])
    at = clock_words(event.time_s)
    missed_s = event.time_s - source.frame.time_s if show.shown_s >= 0.0 else 0.0
    at += f", the pack as recorded {missed_s:.1f} s before" if missed_s > 0.05 else ""
    title = f"Tip {thousands(show.number + 1)}{name}: {stage}, {event.place}, {at}"
    w.text(title, row.cut(w.px(12), row.w - w.px(330)), "on dark")
    names = ("Pause" if show.running else "Run", "Replay", "Next tip", "Close")
    actions = ("pause", "tip", "next tip", "close")
    for k, (label, action) in enumerate(zip(names, actions, strict=True)):
        cell = row.cut(row.w - w.px(312) + k * w.px(78), w.px(72)).inset(0, w.px(3))
        w.button(cell, label, action, -1 if action == "tip" else 0)


def _plan(session: Session, show: TipShow, box: Box, i: int) -> Drawing:
    """Draw the can from above: those that lean with their tops out, and the kick as an arrow."""
    source = session.packs[show.pack].source
    frame, can = source.frame, source.loaded.can
    scale = min(box.w, box.h) / (PLAN_CANS * can.diameter_mm)
    camera = Camera(float(frame.x_mm[i]), float(frame.y_mm[i]), scale, box)
    unit = session.layout.scale
    plan = plan_drawing(
        source.line_map, frame, camera, unit_px=unit, picked=show.fall.event.can,
        footprints=session.sprays, height_mm=can.height_mm, ways=ways_of(source),
    )  # fmt: skip
    w, direction = Writer(unit), show.fall.event.direction_rad
    leans = show.fall.leans_rad(max(show.shown_s, 0.0)).tolist()
    for number, lean in zip(reversed(show.fall.cans.tolist()), reversed(leans), strict=True):
        k = index_of(frame, int(number))
        if k is not None and lean > 0.005:
            state = "some room"
            if number == show.fall.event.can:
                past = lean >= float(show.fall.leaners.balance_rad[0])
                state = "tipped" if past else "could go over"
            shape = (lean, can.height_mm, 0.0)
            w.add(*leaning_can(frame, k, camera, shape, unit, state, direction))
    if show.shown_s >= 0.0:
        radius, event = can.diameter_mm / 2.0, show.fall.event
        long = radius * min(3.0, event.energy_mJ / event.needed_mJ)
        ends = [
            camera.point_px(
                float(frame.x_mm[i]) - (radius + far) * math.cos(direction),
                float(frame.y_mm[i]) - (radius + far) * math.sin(direction),
            )
            for far in (long, 0.0)
        ]
        arrow(w, ends[0], ends[1], "kick", box)
    return join(plan, w.drawing)


LEGEND_PX = 188
"""Width of the numbers beside the side view, in layout pixels."""


def _side(w: Writer, box: Box, scene: SideScene, show: TipShow, *, alone: bool) -> SideView:
    """Draw the side view with forces, kick, gap and the point the can turns about."""
    falls = f"falls {bearing(show.fall.event.direction_rad)}"
    body = w.panel(box, falls if alone else f"Side view, to scale, {scene.title}")
    room = body if alone else body._replace(w=body.w - w.px(LEGEND_PX))
    view = SideView(w, room, scene, wide_cans=4.0)
    view.draw()
    _gap(view, show)
    forces(view, show.push, show.fall.event.direction_rad)
    if show.shown_s >= 0.0:
        _kick(view, show)
    return view


def _legend(view: SideView, show: TipShow, display: Display) -> None:
    """Write the numbers of a tip beside its side view."""
    w, scene, near = view.w, view.scene, view.clip
    legend = Box(near.right + w.px(12), near.y, w.px(LEGEND_PX - 12), near.h)
    event, swing = show.fall.event, show.fall.swing
    lean = swing.at(max(show.shown_s, 0.0))
    weight = view.stance.weight_N
    rows = [
        ("leans", display.angle(lean), "tipped" if lean >= scene.balance_rad else "lean"),
        ("tip angle", display.angle(scene.balance_rad), "balance"),
        ("sprays off", display.angle(view.stance.balance_angle_rad), "bound"),
        ("kick", _energy(event.energy_mJ), "kick"),
        ("needed", _energy(event.needed_mJ), "kick"),
        ("gap, safe", f"{display.bare(show.gap_mm)}, {display.length(event.safe_mm)}", "good"),
        ("weight", display.force(weight, 2), "can line"),
    ]
    for name, push in zip(("spray on top", "from below"), show.push, strict=True):
        if abs(push[0]) > 0.005:
            rows.append((name, display.force(abs(float(push[0])), 2), "header"))
    line = min(w.px(20), legend.h // len(rows))
    for k, (label, value, role) in enumerate(rows):
        row = legend.row(k, line)
        w.fill(Box(row.x, row.y + w.px(2), w.px(4), line - w.px(4)), role)
        inner = row.cut(w.px(10), row.w - w.px(10))
        half = round(0.46 * inner.w)
        w.text(label, inner.cut(0, half), "quiet", "small")
        w.text(value, inner.cut(half, inner.w - half), "text", "small", "right")


def _gap(view: SideView, show: TipShow) -> None:
    """Add the gap as a measure where it is closed, the safe one as a mark beyond."""
    scene, event = view.scene, show.fall.event
    radius, top = scene.can.diameter_mm / 2.0, scene.can.height_mm
    wall = min((u - radius for u, side in scene.faces_mm if side > 0.0), default=math.inf)
    below = [z for z in scene.stage.guides.wires.heights_mm if z < top]
    at_guide = len(show.fall.cans) == 1 and show.gap_mm > wall - 1.0 and below
    height = max(below) if at_guide and below else 0.985 * top
    near, far = radius, radius + show.gap_mm
    view.line(((near, height), (far, height)), "good", 2)
    for u in (near, far):
        view.line(((u, height - 4.0), (u, height + 4.0)), "good", 1.5)
    safe = radius + event.safe_mm
    view.line(((safe, height - 9.0), (safe, height + 9.0)), "balance", 2, 3)


def _kick(view: SideView, show: TipShow) -> None:
    """Add the kick in scale of its energy, with a mark where one that just tips would begin."""
    event, height = show.fall.event, view.stance.cg_mm
    long = NEEDED_MM * min(3.0, event.energy_mJ / event.needed_mJ)
    left = -view.scene.can.diameter_mm / 2.0
    ends = (view.camera.point_px(left - long, height), view.camera.point_px(left, height))
    arrow(view.w, *ends, "kick", view.clip)
    view.line(((left - NEEDED_MM, height - 7.0), (left - NEEDED_MM, height + 7.0)), "kick", 2)


def _foot(session: Session, show: TipShow, w: Writer, box: Box) -> None:
    """Write the sentence, what happens now, and the time bar with its marks."""
    inner = box.inset(w.px(12), w.px(4))
    said = tip_words(show.fall.event, len(show.fall.cans) - 1, session.display)
    w.text(said, inner.row(0, w.px(24)), "text", "head")
    now = inner._replace(y=inner.y + w.px(25), h=w.px(18))
    w.text(now_words(session, show), now.cut(0, now.w - w.px(158)), "quiet")
    pace = show.pace * session.clock.speed
    slow = f"{1.0 / pace:.0f} times slower" if pace < 0.99 else f"× {pace:g}"
    w.text(slow, now.cut(now.w - w.px(150), w.px(150)), "quiet", "small", "right")
    bar = inner._replace(y=now.bottom + w.px(6), h=w.px(20))
    past = bar._replace(y=bar.bottom - w.px(6), h=w.px(6))  # under the words: no ink suits both
    w.fill(bar, "button")
    w.fill(past._replace(w=round(bar.w * show.share_of(show.shown_s))), "good")
    marks = (
        (0.0, "kick"),
        (show.balance_s, "tip angle"),
        (show.fall.swing.lasts_s, "down"),
    )
    ends = [bar.x + round(bar.w * show.share_of(at_s)) for at_s, _ in marks[1:]] + [bar.right]
    for (at_s, label), end in zip(marks, ends, strict=True):
        x = bar.x + round(bar.w * show.share_of(at_s))
        w.add(Polyline(((x, bar.y - w.px(3)), (x, bar.bottom + w.px(2))), "alarm", max(1, w.px(2))))
        if end - x > w.px(30):  # one that comes at once leaves its place to the next
            w.text(label, Box(x + w.px(5), bar.y, end - x - w.px(8), w.px(14)), "text", "small")
    for k in range(TIME_PARTS):
        left, right = (bar.w * (k + d) // TIME_PARTS for d in (0, 1))
        w.hit(bar.cut(left, right - left), "tip time", k)


def now_words(session: Session, show: TipShow) -> str:
    """Say what is happening at the time shown."""
    lean = show.fall.swing.at(max(show.shown_s, 0.0))
    if show.shown_s < 0.0:
        first, now = (session.display.length(mm) for mm in (show.first_gap_mm, show.gap_mm))
        if first == now:
            return f"Before the kick: the gap is {now}."
        return f"Before the kick: the gap was {first}, it is {now}."
    if show.shown_s >= show.fall.swing.lasts_s:
        stage = session.packs[show.pack].source.loaded.scenario.stages[show.fall.event.stage]
        return {
            "leans": f"It is down: it leans at {session.display.angle(lean)} on what stops it.",
            "leaves a hole": "It is down: it rides up and leaves a hole.",
            "lies across": "It is down: it works itself down to the mat and lies across.",
        }[stage.tipped]
    if lean >= float(show.fall.leaners.balance_rad[0]):
        return "It is past its tip angle: weight and sprays take it on by themselves."
    others = len(show.fall.cans) - 1
    gives = (
        ""
        if not others
        else ", one neighbour gives way"
        if others == 1
        else ", neighbours give way"
    )
    return f"The kick turns it about its rim{gives}."
