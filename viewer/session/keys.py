"""Every control in one table: its key, what it does, and its place in the help.

A key is written as on the cap, modifiers first: ``ctrl+z``. Everything the mouse can do is here
too, so that the keyboard reaches all of it.
"""

from dataclasses import dataclass

from viewer.session.adjust import DIALS

GROUPS = ("run", "look", "change", "compare and keep")
"""Groups of the help, in order."""


@dataclass(frozen=True, slots=True)
class Control:
    """One control: what it does, an action with its argument, by which keys.

    ``what`` is a few words for the help, ``group`` one of `GROUPS`.
    """

    action: str
    keys: tuple[str, ...]
    what: str
    group: str
    argument: int = 0


CONTROLS: tuple[Control, ...] = (
    Control("pause", ("space",), "run or pause", "run"),
    Control("one step", (".",), "one step", "run", 1),
    Control("one step", (",",), "one step back", "run", -1),
    Control("seconds", ("ctrl+left",), "a second earlier", "run", -1),
    Control("seconds", ("ctrl+right",), "a second later again", "run", 1),
    Control("newest", ("ctrl+end",), "on from where it was", "run"),
    Control("next tip", ("end",), "run to the next tip", "run"),
    Control("tip", ("home",), "last tip again, slowly", "run", -1),
    Control("tips", ("f2",), "list of tips", "run"),
    Control("every tip", ("f3",), "slow down at every tip", "run"),
    Control("faster", ("page up",), "faster", "run"),
    Control("slower", ("page down",), "slower", "run"),
    Control("lessons", ("f4",), "list of lessons", "run"),
    Control("next scene", ("return",), "next scene of a lesson", "run"),
    Control("scene back", ("backspace",), "scene before", "run"),
    Control("first scene", ("ctrl+home",), "lesson from its start", "run"),
    Control("answer", ("1",), "stage 1, or answer 1", "run", 0),
    Control("answer", ("2",), "stage 2, or answer 2", "run", 1),
    Control("answer", ("3",), "stage 3, or answer 3", "run", 2),
    Control("answer", ("4",), "stage 4, or answer 4", "run", 3),
    Control("help", ("f1",), "this help", "run"),
    Control("close", ("escape",), "close what is open", "run"),
    Control("quit", ("ctrl+q",), "end", "run"),
    Control("pan left", ("left",), "look upstream", "look"),
    Control("pan right", ("right",), "look downstream", "look"),
    Control("pan up", ("up",), "look to the left guide", "look"),
    Control("pan down", ("down",), "look to the right guide", "look"),
    Control("zoom in", ("=", "+"), "nearer", "look"),
    Control("zoom out", ("-",), "farther", "look"),
    Control("whole line", ("o",), "whole line", "look"),
    Control("zoom stage", ("z",), "chosen stage", "look"),
    Control("follow", ("t",), "follow the pack", "look"),
    Control("stage", ("e",), "next stage", "look", 1),
    Control("stage", ("q",), "stage before", "look", -1),
    Control("worst can", ("u",), "pick the worst can", "look"),
    Control("next can", ("j",), "pick the next can", "look"),
    Control("sprays", ("g",), "footprints and doses", "look"),
    Control("voids", ("v",), "shade voids", "look"),
    Control("graph", ("f7",), "graph, or facts of can", "look"),
    Control("text size", ("ctrl+=", "ctrl++"), "larger text", "look", 1),
    Control("text size", ("ctrl+-",), "smaller text", "look", -1),
    Control("present", ("f5",), "large, for a classroom", "look"),
    Control("colours", ("f6",), "colours of a dark room", "look"),
    Control("full screen", ("f11",), "full screen", "look"),
    *(Control("dial", (dial.key,), dial.name, "change", i) for i, dial in enumerate(DIALS)),
    Control("next dial", ("tab",), "next in the list", "change", 1),
    Control("next dial", ("shift+tab",), "one before", "change", -1),
    Control("turn", ("d", "]"), "more, one step", "change", 1),
    Control("turn", ("a", "["), "less, one step", "change", -1),
    Control("turn", ("shift+d",), "more, ten steps", "change", 10),
    Control("turn", ("shift+a",), "less, ten steps", "change", -10),
    Control("scope", ("y",), "one stage or all", "change"),
    Control("recommended", ("i",), "set as recommended", "change"),
    Control("undo", ("ctrl+z",), "undo", "compare and keep"),
    Control("redo", ("ctrl+y",), "redo", "compare and keep"),
    Control("reset", ("r",), "reset to the file", "compare and keep"),
    Control("restart", ("shift+r",), "restart run or scene", "compare and keep"),
    Control("beside", ("b",), "second pack on or off", "compare and keep"),
    Control("other pack", ("x",), "change the other pack", "compare and keep"),
    Control("save", ("ctrl+s",), "save as scenario file", "compare and keep"),
    Control("picture", ("p",), "save a picture", "compare and keep"),
    Control("session page", ("f9",), "page of this session", "compare and keep"),
    Control("clip", ("ctrl+p",), "begin or end a clip", "compare and keep"),
)
"""Every control."""

REPEATED = ("pan left", "pan right", "pan up", "pan down", "zoom in", "zoom out", "turn",
            "one step", "seconds")  # fmt: skip
"""Actions that go on while their key is held; all others act once per press."""

_BY_KEY = {key: control for control in CONTROLS for key in control.keys}


def control_for(key: str) -> Control | None:
    """Return the control of a key, None where there is none.

    Examples
    --------
    >>> control_for("space").action
    'pause'
    """
    return _BY_KEY.get(key)


def key_label(action: str, argument: int = 0) -> str:
    """Return how to write the first key of an action, empty where it has none.

    Examples
    --------
    >>> key_label("undo")
    'Ctrl+Z'
    """
    for control in CONTROLS:
        if control.action == action and control.argument == argument:
            return written(control.keys[0])
    return ""


def written(key: str) -> str:
    """Return a key as on the cap."""
    short = {"page up": "PgUp", "page down": "PgDn", "escape": "Esc", "return": "Enter"}
    parts = key.split("+") if len(key) > 1 and not key.endswith("++") else [key]
    return "+".join(short.get(part, part.capitalize()) for part in parts)
