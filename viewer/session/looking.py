"""Where a session looks: keys and the mouse move the picture, or pick the can under a point."""

from viewer.line import nearest_can
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


def pan_keys(session: Session, across: int, down: int) -> None:
    """Move the picture by one key press."""
    step = PAN_PX * session.layout.scale
    session.camera = session.camera.panned(-across * step, -down * step)


def point(session: Session, x_px: float, y_px: float) -> None:
    """Pick the can under a point of the screen."""
    for i, view in enumerate(session.views):
        if view.view.holds(x_px, y_px):
            u, v = view.to_mm(x_px, y_px)
            session.active = session.chosen = i
            pack = session.packs[i]
            pack.picked = nearest_can(pack.source.frame, u, v)
            if pack.picked is not None:
                session.stage = pack.source.line_map.stage_at(u)


def zoom_at(session: Session, factor: float, x_px: float, y_px: float) -> None:
    """Zoom about a point of the screen, in whichever view it lies."""
    for view in session.views:
        if view.view.holds(x_px, y_px):
            session.camera = view.zoomed(factor, (x_px, y_px)).placed(session.camera.view)
            return
