"""From pygame's events to the session's actions: keys by the table, the mouse by what it hits."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import pygame

from viewer.screen.drawing import Drawing, Grip
from viewer.session.actions import act
from viewer.session.drag import choose, drop, pull, take
from viewer.session.keys import REPEATED, control_for
from viewer.session.looking import point, zoom_at
from viewer.session.session import Session

WHEEL = 1.15
"""One notch of the wheel nearer or farther."""

DRAG_PX = 4
"""A press that moves less than this is a click."""


@dataclass
class Mouse:
    """The mouse between two events: where it was pressed and whether it has been dragged.

    ``held`` are the keys that are down.
    """

    pressed: tuple[int, int] | None = None
    dragged: bool = False
    held: set[int] = field(default_factory=set)

    def fresh(self, events: list[pygame.event.Event]) -> Iterator[pygame.event.Event]:
        """Yield events, of a key held down only what moves something."""
        for event in events:
            if event.type == pygame.KEYDOWN:
                control = control_for(key_name(event.key, event.mod))
                moves = control is not None and control.action in REPEATED
                if moves or event.key not in self.held:
                    yield event
                self.held.add(event.key)
            elif event.type == pygame.KEYUP:
                self.held.discard(event.key)
            else:
                if event.type == pygame.WINDOWFOCUSLOST:
                    self.held.clear()
                yield event


def key_name(key: int, modifiers: int) -> str:
    """Return a key as it stands in the table: modifiers, then the name on the cap.

    A plus or an equals sign needs shift on some keyboards, so shift is left out before signs.
    """
    name = pygame.key.name(key).removeprefix("keypad ").strip("[]") or pygame.key.name(key)
    if name in ("enter", "return"):
        name = "return"
    parts = []
    if modifiers & (pygame.KMOD_CTRL | pygame.KMOD_META):
        parts.append("ctrl")
    if modifiers & pygame.KMOD_SHIFT and (len(name) > 1 or name.isalpha()):
        parts.append("shift")
    return "+".join([*parts, name])


def handle_all(
    session: Session, mouse: Mouse, events: list[pygame.event.Event], drawing: Drawing
) -> None:
    """Let events act in order, the turns of a dial in a row as one.

    A key that is held down sends more turns than packsim can answer one by one.
    """
    turns = 0
    for event in mouse.fresh(events):
        pressed = event.type == pygame.KEYDOWN
        control = control_for(key_name(event.key, event.mod)) if pressed else None
        if control is not None and control.action == "turn" and not session.overlay:
            turns += control.argument
            continue
        if turns:
            act(session, "turn", turns)
            turns = 0
        handle(session, mouse, event, drawing)
    if turns:
        act(session, "turn", turns)


def handle(session: Session, mouse: Mouse, event: pygame.event.Event, drawing: Drawing) -> None:
    """Let one event act on the session; unknown ones do nothing.

    ``mouse`` is changed; ``drawing`` is what was painted last, for what a click hits.
    """
    if event.type == pygame.QUIT:
        session.wants.append("quit")
    elif event.type == pygame.KEYDOWN:
        _key(session, event)
    elif event.type in (pygame.VIDEORESIZE, pygame.WINDOWFOCUSLOST, pygame.WINDOWLEAVE):
        _window(session, mouse, event)
    elif event.type == pygame.MOUSEWHEEL:
        if not session.overlay:
            zoom_at(session, WHEEL ** max(-8, min(8, event.y)), *pygame.mouse.get_pos())
    elif event.type == pygame.MOUSEMOTION:
        _move(session, mouse, event, drawing)
    elif getattr(event, "button", 0) == 1:
        _button(session, mouse, event, drawing)


def _window(session: Session, mouse: Mouse, event: pygame.event.Event) -> None:
    """Take another size; let go of what is dragged where the window is left."""
    session.pointer = None
    if event.type != pygame.WINDOWLEAVE:  # a hand may drag beyond the window and come back
        drop(session)
        mouse.pressed, mouse.dragged = None, False
    if event.type == pygame.VIDEORESIZE:
        session.resize(event.w, event.h)


def _button(session: Session, mouse: Mouse, event: pygame.event.Event, drawing: Drawing) -> None:
    if event.type == pygame.MOUSEBUTTONDOWN:
        drop(session)
        mouse.pressed, mouse.dragged = event.pos, False
    elif event.type == pygame.MOUSEBUTTONUP:
        drop(session)
        if mouse.pressed is not None and not mouse.dragged:
            _click(session, event.pos, drawing)
        mouse.pressed, mouse.dragged = None, False


def _key(session: Session, event: pygame.event.Event) -> None:
    name = key_name(event.key, event.mod)
    control = control_for(name)
    if control is not None:
        act(session, control.action, control.argument)
    elif session.overlay == "cautions" and name not in _BARE:
        act(session, "close")


_BARE = tuple(
    f"{before}{side} {key}"
    for before in ("", "ctrl+", "shift+", "ctrl+shift+")
    for side in ("left", "right")
    for key in ("shift", "ctrl", "alt", "meta", "gui")
)
"""A modifier alone is no answer to the cautions."""


def _move(session: Session, mouse: Mouse, event: pygame.event.Event, drawing: Drawing) -> None:
    session.pointer = event.pos
    if mouse.pressed is None or session.overlay:
        return
    if session.drag is not None:
        pull(session, session.drag, event.pos[1])
        return
    if session.tip is not None:
        _scrub(session, event.pos, drawing)
        return
    dx, dy = event.pos[0] - mouse.pressed[0], event.pos[1] - mouse.pressed[1]
    if not mouse.dragged and abs(dx) + abs(dy) < DRAG_PX:
        return
    held = None if mouse.dragged else drawing.hit(*mouse.pressed)
    if isinstance(held, Grip):
        take(session, held, mouse.pressed[1])
        mouse.dragged = True
        if session.drag is not None:
            pull(session, session.drag, event.pos[1])
    elif mouse.dragged or any(view.view.holds(*mouse.pressed) for view in session.views):
        session.camera = session.camera.panned(dx, dy)
        mouse.pressed, mouse.dragged = event.pos, True


def _scrub(session: Session, at: tuple[int, int], drawing: Drawing) -> None:
    """Go along the time bar of the tip that is shown."""
    hit = drawing.hit(*at)
    if hit is not None and hit.action == "tip time":
        act(session, hit.action, hit.argument)


def _click(session: Session, at: tuple[int, int], drawing: Drawing) -> None:
    hit = drawing.hit(*at)
    if isinstance(hit, Grip):
        choose(session, hit)
    elif hit is not None:
        act(session, hit.action, hit.argument)
    elif session.overlay:
        act(session, "close")
    else:
        point(session, *at)
