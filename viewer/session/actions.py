"""What each control does to a session, one entry per action of `viewer.session.keys`; and time."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from packsim.errors import InputError
from viewer.screen.layout import usual_scale
from viewer.screen.roles import PALETTES
from viewer.session.adjust import DIALS
from viewer.session.changes import go_back, recommended, reset, save_line, turn
from viewer.session.drag import drop, follow_drag
from viewer.session.lesson_scenes import (
    LESSON_ACTIONS,
    MENU_ACTIONS,
    follow_lesson,
    run_scene,
    show_scene,
)
from viewer.session.looking import look_at_line, look_at_stage, pan_keys, pick_worst, turn_sprays
from viewer.session.playback import MAX_STEPS
from viewer.session.session import Session
from viewer.session.tip_actions import TIP_ACTIONS, every_tip, hold_new_tip, next_tip, tip
from viewer.session.tips import close_tip, follow_tip

ZOOM = 1.25
"""One key press nearer or farther."""


def act(session: Session, action: str, argument: int = 0) -> None:
    """Do what a control says; a refused change becomes a message.

    The action is one of `ACTIONS`, by key or by mouse.
    """
    drop(session)
    menu = MENU_ACTIONS.get(action) if session.overlay == "lessons" else None
    if (
        menu is None
        and session.overlay
        and action not in ("quit", "full screen", "text size", *_SAVES)
    ):
        was, session.overlay = session.overlay, ""
        if was == "cautions" and session.menu is not None:
            session.overlay = "lessons"  # as asked for when it was started
        if was == "cautions" or action in ("close", "help"):
            return
    session.last, session.said = (action, argument), ""
    try:
        if menu is not None:
            menu(session, argument)
        elif session.tip is not None and action in TIP_ACTIONS:
            TIP_ACTIONS[action](session, session.tip, argument)
        else:
            if action not in _BESIDE_A_TIP:
                close_tip(session)
            ACTIONS[action](session, argument)
    except InputError as problem:
        session.say(str(problem))
    session.find_voids()


def tick(session: Session, now_s: float, *, most: int | None = MAX_STEPS) -> int:
    """Go on to a time [s]; return how many steps were made.

    A window makes no more than ``most`` rather than freeze, and goes down to the speed it reaches;
    None waits for every step that is due.
    """
    passed, session.now_s = now_s - session.now_s, now_s
    if now_s >= session.message_until_s:
        session.message = ""
    if session.overlay == "cautions":
        session.clock = session.clock.still(now_s)
        return 0
    if session.tip is not None:
        session.clock = session.clock.still(now_s)
        follow_tip(session, session.tip, max(0.0, passed))
        return 0
    tipped = [len(pack.source.events) for pack in session.packs]
    if session.lesson is not None:
        follow_lesson(session, session.lesson, max(0.0, passed))
    follow_drag(session)
    session.clock, due = session.clock.at(now_s, most)
    if session.lesson is None:
        session.step(due)
    else:
        run_scene(session, session.lesson, due)
    if session.filmed_s is None:  # a clip is timed by its passage, however slowly it is taken
        asked, session.clock = session.clock.speed, session.clock.lowered()
        if session.clock.speed < asked:
            said = f"this computer does not reach × {asked:g}"
            session.say(f"{said}: the playback speed is now × {session.clock.speed:g}")
    hold_new_tip(session, tipped)
    return due


def _set(name: str, value: Callable[[Session, int], object]) -> Callable[[Session, int], None]:
    return lambda s, argument: setattr(s, name, value(s, argument))


def _one_step(s: Session, steps: int) -> None:
    s.clock = replace(s.clock, running=False, owed_s=0.0)
    if steps < 0 and not s.reach[0]:
        s.say("nothing earlier is kept")
    s.step(steps)


def _seconds(s: Session, seconds: int) -> None:
    s.clock = replace(s.clock, owed_s=0.0)
    s.go_to(s.pack.source.frame.time_s + seconds)


def _answer(s: Session, choice: int) -> None:
    if s.lesson is not None and s.lesson.asking:
        s.lesson.answer(choice)
    else:
        _stage(s, choice)


def _stage(s: Session, stage: int) -> None:
    s.stage = min(max(stage, 0), len(s.pack.source.line_map.stages) - 1)


def _toggle(name: str, yes: str, no: str) -> Callable[[Session, int], None]:
    def toggle(s: Session, _argument: int) -> None:
        now = not getattr(s, name)
        setattr(s, name, now)
        s.say(yes if now else no)

    return toggle


def _pick_next(s: Session, _argument: int) -> None:
    pack = s.watched
    numbers = pack.source.frame.id
    if not len(numbers):
        return
    shown = s.shown_can(pack)
    later = numbers[numbers > (-1 if shown is None else shown)]
    pack.picked = int(later.min() if len(later) else numbers.min())


def _text_size(s: Session, steps: int) -> None:
    now = s.scale or usual_scale(s.layout.window.w, s.layout.window.h)
    s.scale = min(4.0, max(0.5, now + 0.25 * steps))
    s.resize(s.layout.window.w, s.layout.window.h)


def _graph(s: Session, _argument: int) -> None:
    """Show the next of what a part of the dock can show; a wide one always has the answers."""
    shows = ("answers", "can", "graph") if s.layout.narrow else ("can", "graph", "answers")
    s.dock = shows[(shows.index(s.dock) + 1) % (3 if s.layout.narrow else 2)]


def _present(s: Session, _argument: int) -> None:
    s.presenting = not s.presenting
    s.resize(s.layout.window.w, s.layout.window.h)


def _colours(s: Session, _argument: int) -> None:
    light, dark = PALETTES.values()
    s.palette = dark if s.palette is light else light


def _dial(s: Session, dial: int) -> None:
    if s.dial == dial:
        many = DIALS[dial].parts(s.pack.source.loaded.scenario.stages[s.stage])
        s.parts[dial] = (s.part + 1) % many
    s.dial = dial


def _restart(s: Session, _argument: int) -> None:
    if s.lesson is not None:
        show_scene(s, s.lesson, s.lesson.at)
        return
    for pack in s.packs:
        pack.source.retune(pack.source.loaded, restart=True)
        pack.picked = None
    s.say(f"the run starts again, seed {s.seed}")


def _beside(s: Session, _argument: int) -> None:
    s.set_beside(None if len(s.packs) > 1 else s.packs[0].source.loaded)
    if len(s.packs) > 1:
        s.active, s.chosen = 1, None
        s.say("both packs start again with one seed; changes go to the lower one")


def _other_pack(s: Session, _argument: int) -> None:
    s.active = (s.active + 1) % len(s.packs)
    s.chosen = s.active


def _save(s: Session, _argument: int) -> None:
    s.say(f"saved {save_line(s.pack.source.loaded, s.folder, s.stem)}")


def _want(what: str) -> Callable[[Session, int], None]:
    """Leave it to the window."""
    return lambda s, _a: s.wants.append(what)


_SAVES = ("picture", "clip", "session page")
"""What the window saves of what is shown."""

_BESIDE_A_TIP = (
    *("help", "quit", "faster", "slower", "sprays", "voids", "text size", "full screen", "graph"),
    "colours",
    "present",
    *("tips", "every tip", *_SAVES, "save", "dial", "pick dial", "next dial", "scope"),
)
"""What leaves a tip on the screen; anything else closes it first."""

ACTIONS: Final[dict[str, Callable[[Session, int], None]]] = {
    "pause": _set("clock", lambda s, _a: s.clock.toggled()),
    "one step": _one_step,
    "seconds": _seconds,
    "newest": lambda s, _a: s.step(s.reach[1]),
    "next tip": next_tip,
    "tip": tip,
    "tip time": lambda s, _a: s.say("no tip is shown"),
    "tips": _set("overlay", lambda _s, _a: "tips"),
    "every tip": every_tip,
    "faster": _set("clock", lambda s, _a: s.clock.geared(1)),
    "slower": _set("clock", lambda s, _a: s.clock.geared(-1)),
    **LESSON_ACTIONS,
    "answer": _answer,
    "help": _set("overlay", lambda _s, _a: "help"),
    "close": _set("message", lambda _s, _a: ""),
    "quit": _want("quit"),
    "pan left": lambda s, _a: pan_keys(s, -1, 0),
    "pan right": lambda s, _a: pan_keys(s, 1, 0),
    "pan up": lambda s, _a: pan_keys(s, 0, -1),
    "pan down": lambda s, _a: pan_keys(s, 0, 1),
    "zoom in": _set("camera", lambda s, _a: s.camera.zoomed(ZOOM)),
    "zoom out": _set("camera", lambda s, _a: s.camera.zoomed(1.0 / ZOOM)),
    "whole line": lambda s, _a: look_at_line(s),
    "zoom stage": lambda s, _a: look_at_stage(s),
    "follow": _toggle("follow", "the picture follows the pack", "the picture stands still"),
    "stage": lambda s, a: _stage(s, s.stage + a),
    "card": _stage,
    "worst can": lambda s, _a: pick_worst(s),
    "next can": _pick_next,
    "sprays": lambda s, _a: turn_sprays(s),
    "voids": _toggle("shade", "voids shaded", "voids not shaded"),
    "graph": _graph,
    "text size": _text_size,
    "present": _present,
    "colours": _colours,
    "full screen": _want("full screen"),
    "dial": _dial,
    "pick dial": _set("dial", lambda _s, a: a % len(DIALS)),
    "next dial": _set("dial", lambda s, a: (s.dial + a) % len(DIALS)),
    "turn": turn,
    "scope": _set("all_stages", lambda s, _a: not s.all_stages),
    "undo": lambda s, _a: go_back(s, s.pack.done, s.pack.undone, "undo"),
    "redo": lambda s, _a: go_back(s, s.pack.undone, s.pack.done, "redo"),
    "reset": reset,
    "recommended": recommended,
    "restart": _restart,
    "beside": _beside,
    "other pack": _other_pack,
    "save": _save,
    "picture": _want("picture"),
    "clip": _want("clip"),
    "session page": _want("session page"),
}
