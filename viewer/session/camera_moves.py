"""Where a session looks: the whole line, a stage, under the pointer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from viewer.views.plan import nearest_can

if TYPE_CHECKING:
    from viewer.session.session import Session

__all__ = ["look_at_line", "look_at_stage", "pan_keys", "point", "zoom_at"]

PAN_PX = 80
"""A key press moves the picture so far, in layout pixels."""


def look_at_line(session: Session) -> None:
    """Show the whole line."""
    picture = session.pack.feed.picture
    ends = (float(picture.bounds_mm[0]), 0.0), (picture.length_mm, picture.mat_mm)
    view = session.views[0]
    fitted = view.fitted(*ends, margin_px=12 * session.layout.scale)
    session.camera = fitted.placed(session.camera.view)


def look_at_stage(session: Session) -> None:
    """Show the chosen stage."""
    picture = session.pack.feed.picture
    bounds = picture.bounds_mm
    ends = (float(bounds[session.stage]), 0.0), (float(bounds[session.stage + 1]), picture.mat_mm)
    fitted = session.views[0].fitted(*ends, margin_px=12 * session.layout.scale)
    session.camera = fitted.placed(session.camera.view)


def pan_keys(session: Session, across: int, down: int) -> None:
    """Move the picture by one key press."""
    step = PAN_PX * session.layout.scale
    session.camera = session.camera.panned(-across * step, -down * step)


def point(session: Session, x_px: float, y_px: float) -> None:
    """Pick the can under a point of the screen."""
    for i, view in enumerate(session.views):
        if view.view.holds(x_px, y_px):
            session.active = i
            found = nearest_can(session.packs[i].feed.frame, *view.to_mm(x_px, y_px))
            session.packs[i].picked = found
            if found is not None:
                u, _ = view.to_mm(x_px, y_px)
                session.stage = session.packs[i].feed.picture.stage_at(u)


def zoom_at(session: Session, factor: float, x_px: float, y_px: float) -> None:
    """Zoom about a point of the screen, in whichever view it lies."""
    for view in session.views:
        if view.view.holds(x_px, y_px):
            session.camera = view.zoomed(factor, (x_px, y_px)).placed(session.camera.view)
            return
