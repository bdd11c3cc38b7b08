"""The dock: packsim's answers for the chosen stage, and the facts of the can in the elevation."""

import math

from packsim.answers import Answer
from packsim.answers.quantities import quantity
from packsim.errors import InputError
from packsim.passage import ROLES
from packsim.report.words.display import Display
from packsim.report.words.numbers import pack_words, percent, thousands
from packsim.report.words.summary import SET_TO, WINDOW, set_to_words, slack_words
from packsim.setting import recommend
from packsim.study import StageSummary
from viewer.line import LoadedLine, index_of
from viewer.screen.drawing import Writer, wrapped
from viewer.screen.layout import Box
from viewer.session.keys import key_label
from viewer.session.session import Session

ROW_PX = 16.5
"""Height of a line of the dock, in layout pixels."""

LABEL_PX = 136
"""Room for the names of the answers, in layout pixels; the rest is for their values."""

WHY = (
    "cans around it or a guide touch: no room to lean",
    "it is stopped well short of its tip angle",
    "it is stopped past the safe lean, short of its tip angle",
    "nothing stops it before its tip angle",
    "it went past its tip angle",
)
"""What a can of each state is stopped by, in a few words; a hold-down mat comes before it."""

PAST = ROLES.index("could go over")


def dock_panel(session: Session, w: Writer, box: Box, title: str) -> Box:
    """Add a panel of the dock; a narrow dock says how to see what else it can show."""
    if not session.layout.narrow:
        return w.panel(box, title)
    more, key = w.px(70), key_label("graph")
    row = Box(box.right - w.px(12) - more, box.y + w.px(6), more, w.px(16))
    body = w.panel(box, title, more)
    w.text(f"{key}: more", row, "good", "small", "right")
    w.hit(row, "graph")
    return body


def answers_panel(session: Session, w: Writer) -> None:
    """Show what packsim says of the chosen stage with the size on it."""
    layout, pack = session.layout, session.watched
    source = pack.source
    found = source.answers[session.stage]
    name = source.line_map.stages[session.stage] + session.name_of(pack)
    body = dock_panel(session, w, layout.answers, f"Stage {session.stage + 1}: {name}")
    rows = []
    if isinstance(found, Answer):
        rows = answer_rows(found, source.loaded, session.display, waits=session.turning)
    slack, gap = (float(values[session.stage]) for values in source.slack_now)
    if rows and math.isfinite(slack):
        now = f"{session.display.length(slack, unit=False)}, gap {session.display.length(gap)}"
        rows.insert(3, ("slack now", now, "text"))
    if isinstance(found, InputError):
        for i, line in enumerate(wrapped(f"no answer: {found}", 40)[:8]):
            w.text(line, body.row(i, w.px(ROW_PX)), "alarm", "small")
    for i, (label, value, role) in enumerate(rows):
        box = body.row(i, w.px(ROW_PX))
        if label == SET_TO:
            label = f"{label}, key {key_label('recommended')}"
            w.hit(box, "recommended")
        w.row(box, label, value, role, w.px(LABEL_PX) / max(1, box.w))


ALARMING = ("can tip", "tight")
"""Verdicts on a stage that stand out."""


def crushes(found: Answer | InputError) -> bool:
    """Return whether the hold-down mat of a stage hangs lower than the can tops."""
    return isinstance(found, Answer) and (
        found.hold_down is not None and found.hold_down.state == "crushes"
    )


def why_words(role: int, lean_rad: float, found: Answer | InputError) -> str:
    """Say what keeps a can from leaning farther, or that nothing does."""
    held = found.hold_down if isinstance(found, Answer) and role <= PAST else None
    if crushes(found) and held is not None:
        return "the hold-down hangs lower than its top"
    if held is not None and lean_rad >= held.meets_rad - 1e-5:
        return "the hold-down stops it"
    return WHY[role]


WAITS = "working it out"
"""In place of what comes with the next picture: the recommended setting takes as long as all else
in a picture, and while a hand turns the next one asks for another."""


def answer_rows(
    found: Answer, loaded: LoadedLine, display: Display, *, waits: bool = False
) -> list[tuple[str, str, str]]:
    """Return name, value and role of each line of the dock; what it is set to where nothing waits.

    Everything else is of the line as it is.
    """
    tipping, pack = found.tipping, found.pack
    return [
        ("verdict", tipping.verdict, "alarm" if tipping.verdict in ALARMING else "good"),
        ("pack", pack_words(found, display.length), "text" if pack.fits else "alarm"),
        _row(found, "slack_mm", display),
        ("worst/allowed slack", f"{slack_words(found, display)} {display.length_unit}", "text"),
        *(_waiting() if waits else _recommended(found, loaded, display)),
        _row(found, "tip_index", display),
        ("worst tip angle", _balance(found, display), "text"),
        (quantity("nozzle_offset_mm").heading, _miss(found, display), "text"),
    ]


def _recommended(found: Answer, loaded: LoadedLine, display: Display) -> list[tuple[str, str, str]]:
    part = recommend(loaded.scenario, loaded.size).of_stage(found.stage)
    set_to, window = set_to_words(StageSummary(found, part), display), part.window
    return [
        (SET_TO, f"{set_to}, {part.lanes} lanes", "text" if part.safe else "alarm"),
        (WINDOW, display.window(window, unit=True), "alarm" if window.empty else "text"),
    ]


def _waiting() -> list[tuple[str, str, str]]:
    return [(name, WAITS, "quiet") for name in (SET_TO, WINDOW)]


def _row(found: Answer, key: str, display: Display) -> tuple[str, str, str]:
    one = quantity(key)
    return one.heading, display.show(one.kind, one.of(found)), "text"


def _balance(found: Answer, display: Display) -> str:
    tipping = found.tipping
    rest, worst = (
        display.angle(a)
        for a in (tipping.worst.at_rest.balance_angle_rad, tipping.worst.balance_rad)
    )
    return rest if not found.sprayed else f"{worst} sprayed, {rest} off"


def _miss(found: Answer, display: Display) -> str:
    if found.alignment is None:
        return "no nozzles"
    best = found.alignment.best.worst_mm
    return (
        f"{display.length(found.alignment.now.worst_mm, unit=False)}, best {display.length(best)}"
    )


def facts_panel(session: Session, w: Writer) -> None:
    """Show the facts of the can in the elevation, from the frame and packsim's answer."""
    layout, pack = session.layout, session.watched
    frame = pack.source.frame
    number = session.shown_can(pack)
    title = "Picked can" if number is not None and number == pack.picked else "Worst can here"
    i = index_of(frame, number)
    title += session.name_of(pack)
    body = dock_panel(session, w, layout.facts, "No can here" if i is None else title)
    if i is None:
        return
    x, y = float(frame.x_mm[i]), float(frame.y_mm[i])
    radius = float(frame.radius_mm[i])
    left, right = pack.source.line_map.faces_at(x)
    stage = pack.source.line_map.stage_at(x)
    found = pack.source.answers[stage]
    lean, role = float(frame.lean_rad[i]), int(frame.role[i])
    share = lean / tip_angle if (tip_angle := pack.source.tip_angle_rad(i)) > 0.0 else math.inf
    down = role > PAST
    rows = [
        ("number", thousands(frame.id[i])),
        ("state", ROLES[role]),
        ("is down at" if down else "can lean", session.display.angle(lean)),
        ("towards", bearing(float(frame.direction_rad[i]))),
        ("of its tip angle here", "–" if down or not math.isfinite(share) else percent(share, 0)),
        ("gap to left guide", session.display.length(max(0.0, y - radius - left))),
        ("gap to right guide", session.display.length(max(0.0, right - y - radius))),
        ("along the line", session.display.along(x)),
        ("hold-down", _hold_down(found, session.display)),
    ]
    for k, (label, value) in enumerate(rows):
        w.row(body.row(k, w.px(ROW_PX)), label, value)
    line = body.row(len(rows), w.px(ROW_PX))
    why = why_words(role, lean, found)
    w.text(why, line, "alarm" if role >= PAST or crushes(found) else "text", "small")


def _hold_down(found: Answer | InputError, display: Display) -> str:
    if not isinstance(found, Answer) or found.hold_down is None:
        return "none"
    return f"{found.hold_down.state}, {display.length(found.hold_down.clearance_mm)}"


def bearing(direction_rad: float) -> str:
    """Name the nearest of eight directions, turning from downstream to the right."""
    along = "downstream", "right, downstream", "right", "right, upstream"
    against = "upstream", "left, upstream", "left", "left, downstream"
    return (along + against)[round(direction_rad / (math.pi / 4.0)) % 8]
