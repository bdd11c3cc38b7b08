"""What lies over the rest: cautions at the start, help, the tips, a lesson's caption, messages."""

from collections.abc import Sequence

from packsim.report.words.numbers import CAUTIONS
from packsim.report.words.summary import RULE_SIGNS, STAR_MEANING
from viewer.lessons.play import LETTER_PX, LessonPlay
from viewer.screen.drawing import Drawing, Writer, wrapped
from viewer.screen.layout import Box
from viewer.session.keys import CONTROLS, GROUPS, Control, key_label, written
from viewer.session.playback import clock_words
from viewer.session.session import Session
from viewer.views.tip import tip_words


def cautions_overlay(session: Session, w: Writer) -> None:
    """Show what to know before anybody goes near the machine; shown first."""
    window = session.layout.window
    w.fill(window, "veil", 150)
    wide = min(window.w - w.px(40), w.px(760))
    lines = [
        wrapped(caution, int((wide - w.px(80)) / (LETTER_PX * w.scale))) for caution in CAUTIONS
    ]
    tall = w.px(150) + sum(len(part) * w.px(19) + w.px(9) for part in lines)
    box = Box((window.w - wide) // 2, (window.h - tall) // 2, wide, tall)
    w.fill(box, "panel", outline="rule")
    w.fill(box.row(0, w.px(44)), "caution")
    inner = box.inset(w.px(24), 0)
    w.text("Caution", inner.row(0, w.px(44)), "caution text", "head")
    y = box.y + w.px(58)
    for part in lines:
        w.fill(Box(box.x + w.px(26), y + w.px(6), w.px(7), w.px(7)), "quiet")
        for line in part:
            w.text(line, Box(box.x + w.px(46), y, box.w - w.px(70), w.px(19)))
            y += w.px(19)
        y += w.px(9)
    name = session.pack.source.loaded.scenario.name
    about = inner._replace(y=box.bottom - w.px(78), h=w.px(20))
    text = f"Now showing: {name}. Values that nobody measured are assumed."
    w.text(text, about, "quiet", "small")
    button = Box(inner.x, box.bottom - w.px(48), w.px(220), w.px(30))
    w.button(button, "Understood: press any key", "close")


HEAVY_LETTER_PX = 6.5
"""Mean width of a letter of a few small words, in layout pixels: the wide ones weigh more."""

HANDS = (
    "Wheel: zoom. Drag a guide, a wire, a header's end or the two arrows in the pack: set it; "
    "the mat: look along. Click: pick."
)
"""What the mouse does."""


def help_overlay(session: Session, w: Writer) -> None:
    """Every control, from the table of keys, what the mouse does, and what signs mean."""
    window = session.layout.window
    w.fill(window, "veil", 170)
    most = max(sum(c.group == group for c in CONTROLS) for group in GROUPS)
    line = min(w.px(22), (window.h - w.px(140)) // (most + 2))
    tall = w.px(76) + (most + 2) * line
    box = Box(w.px(24), (window.h - tall) // 2, window.w - 2 * w.px(24), tall)
    w.fill(box, "panel", outline="rule")
    head = Box(box.x + w.px(16), box.y + w.px(10), box.w - w.px(32), w.px(28))
    w.text("Keys", head.cut(0, w.px(60)), "text", "head")
    w.text(HANDS, head.cut(w.px(64), head.w - w.px(64)), "quiet", "small")
    groups = [[(_caps(c), c.what) for c in CONTROLS if c.group == group] for group in GROUPS]
    wide = [[_wide(w, part) for part in zip(*rows, strict=True)] for rows in groups]
    spare = (head.w - sum(map(sum, wide))) // len(GROUPS)
    column = Box(head.x, head.bottom + w.px(10), 0, line)
    for group, rows, (keys_px, what_px) in zip(GROUPS, groups, wide, strict=True):
        column = column._replace(w=keys_px + what_px + spare)
        w.text(group, column, "good", "body")
        for j, (keys, what) in enumerate(rows):
            row = column._replace(y=column.y + w.px(6)).row(j + 1, line)
            w.text(keys, row.cut(0, keys_px), "text", "small")
            w.text(what, row.cut(keys_px, what_px), "quiet", "small")
        column = column._replace(x=column.right)
    signs = f"Set to: {STAR_MEANING} {'' if session.display.metric else RULE_SIGNS}"
    shaded = "Shaded on the mat: a void, wider than between three cans that touch."
    last = head._replace(y=box.bottom - w.px(10) - line, h=line)
    w.text(f"{signs} {shaded}", last, "quiet", "small")


def _caps(control: Control) -> str:
    return " ".join(written(key) for key in control.keys)


def _wide(w: Writer, texts: Sequence[str]) -> int:
    """Return the room a column of small texts wants, with a gap [px]."""
    return w.px(HEAVY_LETTER_PX * max(map(len, texts)) + 8.0)


def caption_band(session: Session, w: Writer) -> None:
    """Show what a lesson's scene says, its question, and how to go on."""
    play, layout = session.lesson, session.layout
    if play is None:
        return
    canvas, line, tall = layout.canvas, w.px(20), play.band_px(layout)
    bottom = canvas.bottom if session.tip is None else layout.footer.y
    box = Box(canvas.x, bottom - tall, canvas.w, tall)
    w.fill(box, "panel head")
    left = box.x + w.px(24)
    _progress(w, play, Box(left, box.y + w.px(6), box.w - w.px(48), w.px(18)))
    y = box.y + w.px(28)
    for text in play.texts:
        for part in play.lines(text, layout):
            w.text(part, Box(left, y, box.w - w.px(48), line), "on dark")
            y += line
    for row in play.choice_rows(layout) if play.asking else ():
        x = left
        for i, wide in row:
            button = Box(x, y + w.px(2), wide, w.px(22))
            w.button(button, f"{i + 1}   {play.choices[i]}", "answer", i, align="left")
            x += wide + w.px(8)
        y += w.px(26)


def lesson_hints(play: LessonPlay) -> str:
    """Say how to go on in a lesson."""
    hints = [f"{key_label('scene back')}: back"] if play.at > 0 else []
    if play.over and play.right not in (None, play.answered):
        hints.append(f"{key_label('restart')}: try again")
    enter = key_label("next scene")
    if play.ended:
        hints.append("end of the lesson")
    elif play.asking:
        hints.append("press the number of your answer")
    elif play.scene.row.hands and not play.over:
        hints.append(f"your turn  ·  {enter}: go on")
    elif play.waiting:
        hints.append(f"{enter}: go on")
    else:
        hints.append(f"{enter}: to the end")
    return "  ·  ".join(hints)


def _progress(w: Writer, play: LessonPlay, row: Box) -> None:
    title = f"{play.lesson.title}  ·  {play.at + 1} of {len(play.lesson.scenes)}"
    if play.tries:
        right, asked = play.score
        title += f"  ·  right {right} of {asked}"
    w.text(title, Box(row.x, row.y, row.w - w.px(380), row.h), "quiet on dark", "small")
    right_end = Box(row.right - w.px(370), row.y, w.px(370), row.h)
    w.text(lesson_hints(play), right_end, "hint", "small", "right")
    w.hit(right_end, "next scene")


def film_mark(session: Session) -> Drawing:
    """Show that a clip is being taken, and its length; the clip itself does not show it."""
    w = Writer(session.layout.scale)
    if session.filmed_s is None:
        return w.drawing
    canvas = session.layout.canvas
    box = Box(canvas.right - w.px(128), canvas.y + w.px(30), w.px(116), w.px(26))
    w.fill(box, "could go over")
    minutes, seconds = divmod(int(session.filmed_s), 60)
    text = f"clip {minutes}:{seconds:02d}"
    w.text(text, box.inset(w.px(12), 0), "on could go over", "body")
    return w.drawing


def message_band(session: Session, w: Writer) -> None:
    """Show what was just done, or why it was refused."""
    if not session.message:
        return
    canvas = session.layout.canvas
    wide = min(canvas.w - w.px(24), w.px(LETTER_PX * len(session.message)) + w.px(36))
    top = session.views[0].view.y + w.px(8)
    box = Box(canvas.x + w.px(12), top, int(wide), w.px(26))
    w.fill(box, "panel head")
    w.text(session.message, box.inset(w.px(12), 0), "on dark", "body")


def tips_overlay(session: Session, w: Writer) -> None:
    """List the last tips of the pack that is watched, each with its sentence; a click shows it."""
    pack, window = session.watched, session.layout.window
    events, most = pack.source.events, max(1, (window.h - w.px(160)) // w.px(24))
    first = max(0, len(events) - min(most, 24))
    rows = list(range(len(events) - 1, first - 1, -1))
    w.fill(window, "veil", 150)
    wide = min(window.w - w.px(40), w.px(940))
    box = Box((window.w - wide) // 2, w.px(60), wide, w.px(56) + w.px(24) * max(1, len(rows)))
    w.fill(box, "panel", outline="rule")
    inner = box.inset(w.px(20), w.px(10))
    w.text(f"Tips, the latest first{session.name_of(pack)}", inner.row(0, w.px(26)), "text", "head")
    if not rows:
        key = key_label("next tip")
        w.text(f"No can has tipped yet. {key} runs on to the next tip.", inner.row(1, w.px(26)))
    for k, number in enumerate(rows):
        event = events[number]
        row = Box(inner.x, inner.y + w.px(30) + k * w.px(24), inner.w, w.px(22))
        stage = pack.source.line_map.stages[event.stage]
        where = f"{clock_words(event.time_s)}  {stage}, {event.place}"
        w.fill(row, "button")
        w.text(where, row.cut(w.px(8), w.px(230)), "text", "small")
        w.text(
            tip_words(event, 0, session.display),
            row.cut(w.px(240), row.w - w.px(244)),
            "quiet",
            "small",
        )
        w.hit(row, "tip", number)


def lessons_overlay(session: Session, w: Writer) -> None:
    """List the lessons there are; the marked one opens by a key, any by a click."""
    menu, window = session.menu, session.layout.window
    if menu is None:
        return
    w.fill(window, "veil", 170)
    wide, tall = min(window.w - w.px(40), w.px(860)), w.px(50)
    most = max(1, (window.h - w.px(100)) // tall)
    first = max(0, menu.at + 1 - most)
    shown = menu.rows[first : first + most]
    high = w.px(56) + tall * len(shown)
    box = Box((window.w - wide) // 2, max(0, (window.h - high) // 2), wide, high)
    w.fill(box, "panel", outline="rule")
    inner = box.inset(w.px(20), w.px(10))
    w.text("Lessons", inner.row(0, w.px(26)), "text", "head")
    keys = (key_label(name) for name in ("pan up", "pan down", "next scene", "close"))
    hint = "{} and {}: mark  ·  {}: open  ·  {}: close".format(*keys)
    w.text(hint, inner.row(0, w.px(26)), "quiet", "small", "right")
    for k, (_path, file) in enumerate(shown):
        number = first + k
        row = Box(inner.x, inner.y + w.px(32) + k * tall, inner.w, tall - w.px(4))
        w.fill(row, "chosen" if number == menu.at else "button")
        asked = sum(scene.question is not None for scene in file.scenes)
        name = f"{number + 1}   {file.title}"
        w.text(name, row.row(0, w.px(24)).inset(w.px(10), 0), "text", "body")
        about = f"{len(file.scenes)} scenes, {asked} questions"
        w.text(about, row.row(0, w.px(24)).inset(w.px(10), 0), "text", "small", "right")
        goal = Box(row.x + w.px(32), row.y + w.px(22), row.w - w.px(42), w.px(20))
        w.text(file.goal, goal, "text", "small")
        w.hit(row, "lesson", number)
