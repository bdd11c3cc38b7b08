"""The whole picture of a session: plans, panels and what lies over them, in painting order."""

from collections.abc import Callable

from viewer.screen.drawing import Drawing, Fill, Writer, join
from viewer.screen.layout import usual_scale
from viewer.session.playback import between
from viewer.session.rocking import with_tops_out
from viewer.session.session import Session
from viewer.views.answers import answers_panel, facts_panel
from viewer.views.doses import doses_panel
from viewer.views.down import ways_of
from viewer.views.elevation import elevation_panel
from viewer.views.graph import graph_panel
from viewer.views.grips import grip_mark, plan_grips
from viewer.views.overlays import (
    caption_band,
    cautions_overlay,
    help_overlay,
    lessons_overlay,
    message_band,
    tips_overlay,
)
from viewer.views.panels import adjust_panel, cards_panel, counts_panel, footer, header, roles_panel
from viewer.views.plan import plan_drawing, ruler
from viewer.views.presentation import presentation
from viewer.views.tip import tip_view
from viewer.views.why import why_line

PACK_NAMES = ("upper", "lower")


def plans(session: Session) -> Drawing:
    """One plan view per pack, with its ruler."""
    session.ask_leans()
    drawings = [Drawing((Fill(session.layout.canvas, "panel head"),))]
    unit, boxes = session.layout.scale, session.boxes
    for i, (pack, view) in enumerate(zip(session.packs, session.views, strict=True)):
        source = pack.source
        frame = between(source.before, source.frame, session.clock.share)
        plan = plan_drawing(
            source.line_map,
            with_tops_out(frame, pack.kicked, source.loaded.can.height_mm),
            view,
            unit_px=unit,
            height_mm=source.loaded.can.height_mm,
            ways=ways_of(source),
            voids=pack.voids,
            picked=session.shown_can(pack),
            footprints=session.sprays,
        )
        name = _pack_name(session, i) if len(session.packs) > 1 else ""
        above = view.placed(boxes[i]._replace(w=view.view.w))
        strip = ruler(source.line_map, above, unit, name, chosen=i == session.active)
        drawings += [plan, Drawing(tuple(strip))]
    return join(*drawings)


def _pack_name(session: Session, index: int) -> str:
    """Name a pack by what tells it from the other: its size, its clear width, its top wire."""
    loaded_lines = [pack.source.loaded for pack in session.packs]
    guides = [loaded.scenario.stages[session.stage].guides for loaded in loaded_lines]
    for names in (
        [loaded.size for loaded in loaded_lines],
        [session.display.length(each.narrowest_mm) for each in guides],
        [f"wire {session.display.length(max(each.wires.heights_mm))}" for each in guides],
    ):
        if len(set(names)) > 1:
            return f"{PACK_NAMES[index]}: {names[index]}"
    return f"{PACK_NAMES[index]} pack"


PANELS = (header, why_line, doses_panel, counts_panel, roles_panel, adjust_panel, cards_panel,
          elevation_panel, footer)  # fmt: skip

DOCK = {"answers": answers_panel, "can": facts_panel, "graph": graph_panel}
"""What the dock can show besides the side view."""


BESIDE_A_TIP = (header, why_line, counts_panel, roles_panel, adjust_panel, footer)
"""What stays while a tip takes the place of the plans, the cards and the dock."""


def panels(session: Session) -> Drawing:
    """Everything around the plans."""
    session.ask_leans()
    w = Writer(session.layout.scale)
    if session.presenting:
        presentation(session, w)
        return w.drawing
    for panel in (*PANELS, *_dock(session)) if session.tip is None else BESIDE_A_TIP:
        panel(session, w)
    return w.drawing


def _dock(session: Session) -> tuple[Callable[[Session, Writer], None], ...]:
    """Return what stands beside the side view; the answers always, where there is room."""
    if session.layout.narrow:
        return (DOCK[session.dock],)
    return answers_panel, DOCK["graph" if session.dock == "graph" else "can"]


def overlays(session: Session) -> Drawing:
    """Return what lies over the plans and panels."""
    w, window = Writer(session.layout.scale), session.layout.window
    if session.presenting:  # what is read from the front row has its usual size
        w = Writer(usual_scale(window.w, window.h))
    if session.overlay == "cautions":
        cautions_overlay(session, w)
    elif session.overlay == "help":
        help_overlay(session, w)
    elif session.overlay == "tips":
        tips_overlay(session, w)
    elif session.overlay == "lessons":
        lessons_overlay(session, w)
    elif not session.presenting:
        caption_band(session, w)
        message_band(session, w)
    return w.drawing


def whole_window(session: Session) -> Drawing:
    """Return the whole picture; what can be clicked is what is on top."""
    show = session.tip
    if show is None:
        below = join(plans(session), plan_grips(session), panels(session))
    else:
        below = join(tip_view(session, show), panels(session))
    if session.overlay:
        return join(Drawing(below.items), overlays(session))
    return join(below, grip_mark(session, below), overlays(session))
