"""Where a session looks: keys and the mouse move the picture, or pick the can under a point."""

from packsim.answers import Answer
from viewer.line import Answers, nearest_can
from viewer.session.session import Session

PAN_PX = 80
"""A key press moves the picture so far, in layout pixels."""


def look_at_line(session: Session) -> None:
    """Show the whole line."""
    session.look_at(0.0, session.pack.source.line_map.length_mm)


def look_at_stage(session: Session) -> None:
    """Show the chosen stage."""
    bounds = session.pack.source.line_map.bounds_mm
    session.look_at(float(bounds[session.stage]), float(bounds[session.stage + 1]))


NEAR_PX_PER_MM = 0.5
"""Scale at which a can is told from its lean, in layout pixels: some 30 px wide [px/mm]."""


def worst_stage(answers: Answers) -> int:
    """Return the stage to look at first: where cans can tip, the one with the highest tip index.

    A hold-down that crushes cans, and a pack that does not fit, come before.
    """

    def urgent(i: int) -> tuple[int, float]:
        found = answers[i]
        if not isinstance(found, Answer):
            return 0, 0.0
        if found.hold_down is not None and found.hold_down.state == "crushes":
            return 3, 0.0
        level = {"tight": 2, "can tip": 1}.get(found.tipping.verdict, 0)
        index = found.tipping.loosest.worst
        return level, index if index == index else 0.0

    return max(range(len(answers)), key=urgent)


def look_near(session: Session) -> None:
    """Look at the place of the chosen stage where cans tip first, near enough to see one lean.

    Under its first header, at the guide that the pack drifts away from or in the middle.
    """
    source = session.pack.source
    stage, found = source.loaded.scenario.stages[session.stage], source.answers[session.stage]
    start = float(source.line_map.bounds_mm[session.stage])
    x = start + (stage.headers[0].station_mm if stage.headers else stage.length_mm / 2.0)
    left, right = source.line_map.faces_at(x)
    scale = NEAR_PX_PER_MM * session.layout.scale
    half = session.views[0].view.h / 2.0 / scale
    y = (left + right) / 2.0
    if isinstance(found, Answer) and found.tipping.safe.governing == "edge":
        y = left + 0.6 * half if stage.kicks.drift_mm_per_s >= 0.0 else right - 0.6 * half
    camera = session.camera.centred(x, y)
    session.camera = camera.zoomed(scale / camera.px_per_mm)


def pick_worst(session: Session) -> None:
    """Pick the worst can of the stage and put it in the middle."""
    pack = session.watched
    pack.picked = pack.worst(session.stage)
    session.look_at_can(pack)


def turn_sprays(session: Session) -> None:
    """Show doses, headers and footprints, or more of the plan without them."""
    before = session.views[0].view.w
    session.sprays = not session.sprays
    session.camera = session.camera.zoomed(session.views[0].view.w / before)


def pan_keys(session: Session, across: int, down: int) -> None:
    """Move the picture by one key press."""
    step = PAN_PX * session.layout.scale
    session.camera = session.camera.panned(-across * step, -down * step)


def point(session: Session, x_px: float, y_px: float) -> None:
    """Pick the can under a point of the screen, where no tip is shown in place of the plans."""
    for i, view in enumerate(session.views if session.tip is None else ()):
        if view.view.holds(x_px, y_px):
            u, v = view.to_mm(x_px, y_px)
            session.active = session.chosen = i
            pack = session.packs[i]
            pack.picked = nearest_can(pack.source.frame, u, v)
            if pack.picked is not None:
                session.stage = pack.source.line_map.stage_at(u)


def zoom_at(session: Session, factor: float, x_px: float, y_px: float) -> None:
    """Zoom about a point of the screen, in whichever view it lies, if the plans are shown."""
    for view in session.views if session.tip is None else ():
        if view.view.holds(x_px, y_px):
            session.camera = view.zoomed(factor, (x_px, y_px)).placed(session.camera.view)
            return
