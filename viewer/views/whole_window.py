"""The whole picture of a session: plans, panels and what lies over them, in painting order."""

from __future__ import annotations

from typing import TYPE_CHECKING

from packsim.report.words.display import Display
from viewer.screen.drawing import Fill, Scene, join
from viewer.session.playback import between
from viewer.views.answers import answers_panel, facts_panel
from viewer.views.elevation import elevation_panel
from viewer.views.overlays import caption_band, cautions_overlay, help_overlay, message_band
from viewer.views.panels import (
    adjust_panel,
    cards_panel,
    counts_panel,
    footer,
    header,
    roles_panel,
)
from viewer.views.plan import plan_scene
from viewer.views.plan_line import ruler

if TYPE_CHECKING:
    from viewer.session.session import Session

__all__ = ["overlays", "panels", "plans", "whole_window"]

PACK_NAMES = ("upper", "lower")

_SHOW = Display("metric")


def plans(session: Session) -> Scene:
    """One plan view per pack, with its ruler."""
    scenes = [Scene((Fill(session.layout.canvas, "panel head"),))]
    unit = session.layout.scale
    for i, (pack, view) in enumerate(zip(session.packs, session.views, strict=True)):
        feed = pack.feed
        frame = between(feed.before, feed.frame, session.clock.share)
        scenes.append(
            plan_scene(
                feed.picture,
                frame,
                view,
                unit_px=unit,
                voids=pack.voids,
                picked=session.shown_can(pack),
                footprints=session.footprints,
            )
        )
        name = _pack_name(session, i) if len(session.packs) > 1 else ""
        box = session.boxes[i]
        scenes.append(
            Scene(
                tuple(ruler(feed.picture, view.placed(box), unit, name, chosen=i == session.active))
            )
        )
    return join(*scenes)


def _pack_name(session: Session, index: int) -> str:
    """Name a pack by what tells it from the other: its size, its clear width, its top wire."""
    settings = [pack.feed.setting for pack in session.packs]
    guides = [setting.scenario.stages[session.stage].guides for setting in settings]
    for names in (
        [setting.size for setting in settings],
        [_SHOW.length(each.narrowest_mm) for each in guides],
        [f"wire {max(each.wires.heights_mm):g} mm" for each in guides],
    ):
        if len(set(names)) > 1:
            return f"{PACK_NAMES[index]}: {names[index]}"
    return f"{PACK_NAMES[index]} pack"


def panels(session: Session) -> Scene:
    """Everything around the plans."""
    return join(
        header(session),
        counts_panel(session),
        roles_panel(session),
        adjust_panel(session),
        cards_panel(session),
        elevation_panel(session),
        answers_panel(session),
        facts_panel(session),
        footer(session),
    )


def overlays(session: Session) -> Scene:
    """Return what lies over the plans and panels."""
    if session.overlay == "cautions":
        return cautions_overlay(session)
    if session.overlay == "help":
        return help_overlay(session)
    return join(caption_band(session), message_band(session))


def whole_window(session: Session) -> Scene:
    """Return the whole picture; what can be clicked is what is on top."""
    over = overlays(session)
    below = join(plans(session), panels(session))
    if session.overlay:
        below = Scene(below.items)
    return join(below, over)
