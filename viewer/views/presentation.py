"""A picture for a room: one number, one line why, the legend, and what happens in a sentence.

No text of it is smaller than `viewer.screen.layout.LEAST_TEXT` of the picture.
"""

from packsim.answers import Answer
from packsim.errors import InputError
from packsim.passage import ROLES
from packsim.report.words.display import Display
from packsim.report.words.numbers import CAUTION_LINE, thousands
from viewer.lessons.play import LessonPlay
from viewer.screen.drawing import Writer
from viewer.screen.layout import Box
from viewer.session.adjust import DIALS
from viewer.session.keys import CONTROLS
from viewer.session.session import Session
from viewer.views.answers import ALARMING, crushes
from viewer.views.overlays import lesson_hints
from viewer.views.panels import legend_marks, tips_of
from viewer.views.tip import now_words, tip_words
from viewer.views.why import SMALL_LETTER_PX, sentence, sentence_lines, why_line

ROW_PX = 17
"""Height of a row of small text, in layout pixels."""


def presentation(session: Session, w: Writer) -> None:
    """Add everything around the plan."""
    why_line(session, w)
    _number(session, w)
    _legend(session, w)
    _caution(session, w)
    if session.lesson is not None and session.lesson.asking:
        _question(session, session.lesson, w)
    _told(session, w)


def the_number(found: Answer | InputError, display: Display) -> tuple[str, str, str]:
    """Return the number that matters of a stage, what it stands against, and the verdict."""
    if isinstance(found, InputError):
        return "–", "no answer", ""
    tipping, length = found.tipping, display.length
    if crushes(found) and found.hold_down is not None:
        return length(-found.hold_down.clearance_mm), "hold-down too low", "crushes cans"
    if tipping.verdict == "tight":
        return length(-found.pack.slack_mm), "guides too close", tipping.verdict
    allowed = f"slack, {length(tipping.allowed_slack_mm)} allowed"
    return length(tipping.loosest_slack_mm), allowed, tipping.verdict


def _number(session: Session, w: Writer) -> None:
    """Show the slack of the stage of the line above against what is allowed, its verdict, tips."""
    pack, box, stage = session.watched, session.layout.counts, session.stage
    w.fill(box, "panel")
    value, against, verdict = the_number(pack.source.answers[stage], session.display)
    body, row = box.inset(w.px(10), w.px(4)), w.px(ROW_PX)
    alarm = verdict in (*ALARMING, "crushes cans")
    name = pack.source.line_map.stages[stage]
    sentence(w, name, body._replace(h=row), "quiet", "small")
    big = Box(body.x, body.y + row, body.w, w.px(28))
    w.text(value, big, "alarm" if alarm else "text", "big")
    under = Box(body.x, big.bottom, body.w, row)
    w.text(against, under, "quiet", "small")
    last, said = under._replace(y=under.bottom), w.px(80)
    w.text(verdict, last.cut(0, said), "alarm" if alarm else "good", "small")
    # the sign is the mark of a tipped can, as on the cards
    tips = " : ".join(thousands(tips_of(session, pack).sum()) for pack in session.packs)
    w.text(f"× {tips}", last.cut(said, last.w - said), "text", "small", "right")


def _legend(session: Session, w: Writer) -> None:
    box = session.layout.roles
    w.fill(box, "panel")
    body = box.inset(w.px(8), w.px(2))
    rows = [body.row(i, min(w.px(ROW_PX + 1), body.h // len(ROLES))) for i in range(len(ROLES))]
    counts = legend_marks(session, w, rows)
    for row, role, count in zip(rows, ROLES, counts, strict=True):
        w.text(role, row.cut(w.px(22), w.px(82)), "text", "small")
        w.text(thousands(count), row.cut(row.w - w.px(34), w.px(34)), "text", "small", "right")


def _told(session: Session, w: Writer) -> None:
    """Write what happens at the foot; a long caption takes from the plan."""
    box, said = session.layout.told, subtitle(session)
    rows = len(sentence_lines(w, said, box.w - 2 * w.px(12), "small"))
    more = max(0, rows * w.px(ROW_PX) + 2 * w.px(3) - box.h)
    box = box._replace(y=box.y - more, h=box.h + more)
    w.fill(box, "panel head")
    sentence(w, said, box.inset(w.px(12), w.px(3)), "on dark", "small")


def subtitle(session: Session) -> str:
    """Say what happens: a lesson's words, why a can tips, or what was done last."""
    show, play = session.tip, session.lesson
    if show is not None:
        said = tip_words(show.fall.event, len(show.fall.cans) - 1, session.display)
        return f"{said} {now_words(session, show)}"
    if play is not None:
        parts = [*play.texts] if not play.asking else []
        if play.waiting or play.ended:
            parts.append(f"{lesson_hints(play)}.")
        return " ".join(parts)
    return session.said or last_words(session)


def last_words(session: Session) -> str:
    """Say what the last action did that said nothing of itself."""
    action, argument = session.last or ("pause", 0)
    clock = session.clock
    if action in ("pause", "one step", "faster", "slower", "seconds", "newest"):
        return f"running, × {clock.speed:g}" if clock.running else "paused"
    if action in ("stage", "card", "answer"):
        return f"stage {session.stage + 1}: {session.pack.source.line_map.stages[session.stage]}"
    if action in ("turn", "dial", "pick dial", "next dial", "undo", "redo"):
        dial = DIALS[session.dial]
        loaded = session.pack.source.loaded
        value = dial.shown(session.display, loaded, session.stage, session.part)
        return f"{action}: {dial.name} {value}" if "do" in action else f"{dial.name} {value}"
    words = [c.what for c in CONTROLS if (c.action, c.argument) == (action, argument)]
    return words[0] if words else ""


def _caution(session: Session, w: Writer) -> None:
    """Write as much of the line of cautions as has room in whole parts, the first at least."""
    box = session.layout.footer
    w.fill(box, "caution")
    inner = box.inset(w.px(7), w.px(2))
    parts = CAUTION_LINE.replace(". ", ".;").split(";")
    said = parts[0]
    for part in parts[1:]:
        longer = f"{said}{' ' if said.endswith('.') else '; '}{part.strip()}"
        if len(longer) * SMALL_LETTER_PX * w.scale > inner.w:
            break
        said = longer
    w.text(said, inner, "caution text", "small")


def _question(session: Session, play: LessonPlay, w: Writer) -> None:
    """Show a lesson's question and its answers over the plan, and over more if they are long."""
    layout, row, gap = session.layout, w.px(ROW_PX), w.px(4)
    wide = layout.window.w - 4 * w.px(12)
    asked = " ".join(play.texts)
    choices = [f"{i + 1}   {choice}" for i, choice in enumerate(play.choices)]
    high = [len(sentence_lines(w, said, wide, "small")) * row + gap for said in (asked, *choices)]
    needed = sum(high) + (len(high) + 1) * gap
    y = min(layout.canvas.y, layout.told.y - needed)
    w.fill(Box(0, y, layout.window.w, layout.told.y - y), "panel head")
    top = y + gap
    for i, (said, tall) in enumerate(zip((asked, *choices), high, strict=True)):
        box = Box(w.px(12), top, layout.window.w - 2 * w.px(12), tall)
        top += tall + gap
        inner = box.inset(w.px(12), gap // 2)
        if i == 0:
            sentence(w, said, inner, "on dark", "small")
            continue
        w.fill(box, "button", outline="rule")
        sentence(w, said, inner, "text", "small")
        w.hit(box, "answer", i - 1)
