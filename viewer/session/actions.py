"""What each control does to a session; one entry per action of `viewer.session.keys`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from viewer.screen.layout import usual_scale
from viewer.session.adjust import KNOBS
from viewer.session.camera_moves import look_at_line, look_at_stage, pan_keys
from viewer.views.plan import index_of

if TYPE_CHECKING:
    from viewer.session.session import Session

__all__ = ["acts_of"]

Act = Callable[[int], None]

ZOOM = 1.25
"""One key press nearer or farther."""


def acts_of(session: Session) -> dict[str, Act]:
    """Return the table from action to function of its argument."""
    s = session
    return {
        "pause": lambda _a: _pause(s),
        "one step": lambda _a: _one_step(s),
        "faster": lambda _a: _gear(s, 1),
        "slower": lambda _a: _gear(s, -1),
        "next scene": lambda _a: _next_scene(s),
        "answer": lambda a: _answer(s, a),
        "help": lambda _a: setattr(s, "overlay", "help"),
        "close": lambda _a: setattr(s, "message", ""),
        "quit": lambda _a: s.wants.append("quit"),
        "pan left": lambda _a: pan_keys(s, -1, 0),
        "pan right": lambda _a: pan_keys(s, 1, 0),
        "pan up": lambda _a: pan_keys(s, 0, -1),
        "pan down": lambda _a: pan_keys(s, 0, 1),
        "zoom in": lambda _a: setattr(s, "camera", s.camera.zoomed(ZOOM)),
        "zoom out": lambda _a: setattr(s, "camera", s.camera.zoomed(1.0 / ZOOM)),
        "whole line": lambda _a: look_at_line(s),
        "zoom stage": lambda _a: look_at_stage(s),
        "follow": lambda _a: _toggle(s, "follow", "riding with the pack", "standing still"),
        "stage": lambda a: _stage(s, s.stage + a),
        "card": lambda a: _stage(s, a),
        "worst can": lambda _a: _pick_worst(s),
        "next can": lambda _a: _pick_next(s),
        "footprints": lambda _a: _toggle(s, "footprints", "footprints shown", "footprints hidden"),
        "voids": lambda _a: _toggle(s, "shade", "voids shaded", "voids not shaded"),
        "text size": lambda a: _text_size(s, a),
        "full screen": lambda _a: s.wants.append("full screen"),
        "knob": lambda a: _knob(s, a),
        "pick knob": lambda a: setattr(s, "knob", a % len(KNOBS)),
        "next knob": lambda a: setattr(s, "knob", (s.knob + a) % len(KNOBS)),
        "turn": s.turn,
        "scope": lambda _a: setattr(s, "all_stages", not s.all_stages),
        "undo": lambda _a: _undo(s),
        "redo": lambda _a: _redo(s),
        "reset": lambda _a: _reset(s),
        "restart": lambda _a: _restart(s),
        "beside": lambda _a: _beside(s),
        "other pack": lambda _a: setattr(s, "active", (s.active + 1) % len(s.packs)),
        "save": lambda _a: s.save(),
        "picture": lambda _a: s.wants.append("picture"),
        "clip": lambda _a: s.wants.append("clip"),
    }


def _pause(s: Session) -> None:
    s.clock = s.clock.toggled()


def _one_step(s: Session) -> None:
    if s.clock.running:
        s.clock = s.clock.toggled()
    s.clock = replace(s.clock, owed_s=0.0)
    s.step(1)


def _gear(s: Session, steps: int) -> None:
    s.clock = s.clock.geared(steps)


def _next_scene(s: Session) -> None:
    if s.lesson is None:
        s.say("no lesson is open: start one with --lesson FILE")
    else:
        s.lesson.go_on = True


def _answer(s: Session, choice: int) -> None:
    if s.lesson is not None and s.lesson.asking:
        s.lesson.answer(choice)
    else:
        _stage(s, choice)


def _stage(s: Session, stage: int) -> None:
    count = len(s.pack.feed.picture.stages)
    s.stage = min(max(stage, 0), count - 1)


def _toggle(s: Session, name: str, yes: str, no: str) -> None:
    now = not getattr(s, name)
    setattr(s, name, now)
    s.say(yes if now else no)


def _pick_worst(s: Session) -> None:
    s.pack.picked = None
    s.pack.picked = s.shown_can(s.pack)
    frame = s.pack.feed.frame
    at = index_of(frame, s.pack.picked)
    if at is not None:
        s.camera = s.camera.centred(float(frame.x_mm[at]), float(frame.y_mm[at]))


def _pick_next(s: Session) -> None:
    numbers = s.pack.feed.frame.id
    if not len(numbers):
        return
    shown = s.shown_can(s.pack)
    later = numbers[numbers > (-1 if shown is None else shown)]
    s.pack.picked = int(later.min() if len(later) else numbers.min())


def _text_size(s: Session, steps: int) -> None:
    now = s.scale or usual_scale(s.layout.window.w, s.layout.window.h)
    s.scale = min(4.0, max(0.5, now + 0.25 * steps))
    s.resize(s.layout.window.w, s.layout.window.h)


def _knob(s: Session, knob: int) -> None:
    if s.knob == knob and KNOBS[knob].name == "wire height":
        wires = s.pack.feed.setting.scenario.stages[s.stage].guides.wires
        s.wire = (s.wire + 1) % len(wires.heights_mm)
    s.knob = knob


def _undo(s: Session) -> None:
    pack = s.pack
    if not pack.done:
        s.say("nothing to undo")
        return
    now = pack.feed.setting
    s.restore(pack.done[-1])
    pack.undone.append(now)
    pack.done.pop()


def _redo(s: Session) -> None:
    pack = s.pack
    if not pack.undone:
        s.say("nothing to redo")
        return
    now = pack.feed.setting
    s.restore(pack.undone[-1])
    pack.done.append(now)
    pack.undone.pop()


def _reset(s: Session) -> None:
    pack = s.pack
    if pack.feed.setting != pack.first:
        before = pack.feed.setting
        s.restore(pack.first)
        pack.done.append(before)
        pack.undone.clear()
    s.say("as in the file")


def _restart(s: Session) -> None:
    for pack in s.packs:
        pack.feed.retune(pack.feed.setting, restart=True)
        pack.picked = None
    s.say(f"passage begun anew, seed {s.seed}")


def _beside(s: Session) -> None:
    s.set_beside(None if len(s.packs) > 1 else s.packs[0].feed.setting)
    if len(s.packs) > 1:
        s.active = 1
        s.say("both packs began anew with one seed; changes go to the lower one")
