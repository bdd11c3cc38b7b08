"""The panels around the plan: title and clock, counts, legend, dials, stage cards, cautions."""

import math

import numpy as np
from numpy.typing import NDArray

from packsim.answers import Answer
from packsim.passage import PLACES, ROLES
from packsim.report.can_looks import MEANINGS
from packsim.report.words.numbers import CAUTION_LINE, per_million, signed, thousands
from viewer.lessons.play import LETTER_PX
from viewer.line import index_of
from viewer.screen.drawing import Cans, Writer, wrapped
from viewer.screen.layout import Box
from viewer.session.adjust import DIALS
from viewer.session.keys import key_label, written
from viewer.session.playback import clock_words
from viewer.session.session import Session
from viewer.session.shown import ShownPack
from viewer.views.answers import ALARMING, crushes

SMALL_PX = 1100
"""A window narrower than this has room for half of the clock, in layout pixels."""

HEAD_LETTER_PX = 8.4
"""Mean width of a letter of a title, in layout pixels, a little generous."""


def _speed_words(session: Session, real: str) -> str:
    """Say how fast it goes; the button beside it runs what is shown, a tip before the pack."""
    if session.tip is not None:
        return "shows a tip"
    return f"× {session.clock.speed:g}{real}" if session.clock.running else "paused"


def header(session: Session, w: Writer) -> None:
    """Title, can size, clock, mat position, speed, and the buttons that run the passage."""
    layout, frame = session.layout, session.pack.source.frame
    box = layout.header
    w.fill(box, "panel head")
    loaded, clock = session.pack.source.loaded, session.clock
    running = clock.running if session.tip is None else session.tip.running
    first = box.w - w.px(8) - 4 * w.px(86)
    for i, name in enumerate(("Pause" if running else "Run", "Slower", "Faster", "Help")):
        action = "pause" if i == 0 else name.lower()
        w.button(box.cut(first + i * w.px(86), w.px(80)).inset(0, w.px(8)), name, action)
    small = box.w < w.px(SMALL_PX)
    real = "" if math.isnan(clock.measured) else f" · × {clock.measured:.1f}"
    # what is kept of a running pack can be seen again; a recording has nothing newer
    back_s = session.reach[1] * clock.dt_s if session.moments else 0.0
    cells: tuple[tuple[str, str], ...] = (
        (f"time, {back_s:.1f} s back" if back_s else "time", clock_words(frame.time_s)),
        ("mat moved", session.display.along(frame.travel_mm)),
        ("mat speed", session.display.speed(loaded.scenario.mat.speed_mm_per_s)),
        ("speed set · real", _speed_words(session, real)),
    )
    if small:  # what moved follows from time and speed, and the speed is a dial
        cells = cells[::3]
    middle = first - w.px(12) - len(cells) * w.px(110)
    for i, (label, value) in enumerate(cells):
        cell = box.cut(middle + i * w.px(110), w.px(104)).inset(0, w.px(4))
        w.two_lines(cell, label, value, "quiet on dark", "on dark")
    title = box.cut(w.px(12), middle - w.px(24))
    name = f"{loaded.scenario.name}  ·  {loaded.size}"
    lines = wrapped(name, max(1, int(title.w / (LETTER_PX * w.scale))))
    if len(name) * HEAD_LETTER_PX * w.scale <= title.w:
        w.text(name, title, "on dark", "head")
    else:
        for i, words in enumerate((lines[0], " ".join(lines[1:]))):
            w.text(words, title.inset(0, w.px(3)).row(i, w.px(18)), "on dark")


def tips_of(session: Session, pack: ShownPack) -> NDArray[np.int64]:
    """Return the cans of a pack tipped by stage and place, shape (k, 3), with the one in the show.

    The moment shown is the one before it went: it counts once it is past its tip angle.
    """
    tips, show = pack.source.tips, session.tip
    shown = show is not None and show.past and pack is session.packs[show.pack]
    if show is None or not shown or len(pack.source.events) > show.number:
        return tips
    tips = tips.copy()
    tips[show.fall.event.stage, PLACES.index(show.fall.event.place)] += 1
    return tips


def counts_panel(session: Session, w: Writer) -> None:
    """Tipped cans in all and by place; two packs with their difference; cans in, out, on mat."""
    layout = session.layout
    body = w.panel(layout.counts, "Tipped cans")
    packs = session.packs
    totals = [tips_of(session, pack).sum(axis=0) for pack in packs]
    if len(packs) == 1:
        top, part = body.row(0, w.px(52)), (body.w - w.px(96)) // 3
        w.text(thousands(totals[0].sum()), top.cut(0, w.px(92)), "text", "big")
        for i, place in enumerate(PLACES):
            cell = top.cut(w.px(96) + i * part, part)
            w.two_lines(cell, place, thousands(totals[0][i]), "quiet", "text", "head")
    else:
        _compare(w, body, totals)
    cans_in, cans_out = session.watched.source.flow
    row = Box(body.x, body.bottom - w.px(38), body.w, w.px(18))
    came, went, here = (thousands(n) for n in (cans_in, cans_out, cans_in - cans_out))
    whose, size = _whose(session, session.watched), "small" if len(packs) > 1 else "body"
    w.text(f"{whose}in {came} · out {went} · on the mat {here}", row, "quiet", size)
    _per_million(w, session, Box(body.x, row.bottom, body.w, w.px(18)))


def _whose(session: Session, pack: ShownPack) -> str:
    """Name one of two packs before what is its own; nothing where there is one."""
    return "" if len(session.packs) == 1 else ("upper: ", "lower: ")[session.packs.index(pack)]


def _per_million(w: Writer, session: Session, row: Box) -> None:
    source = session.watched.source
    if source.jammed_mm > 0.2:
        w.text(f"jammed: cans overlap by {session.display.length(source.jammed_mm)}", row, "alarm")
        return
    tipped, fed = int(tips_of(session, session.watched).sum()), source.flow[0]
    if fed:
        whose = _whose(session, session.watched)
        said = f"{whose}{per_million(1e6 * tipped / fed)} per million tipped"
        if not math.isnan(source.expected_per_million):
            said += f", {per_million(source.expected_per_million)} expected"
        w.text(said, row, "quiet", "body" if len(session.packs) == 1 else "small")


def _compare(w: Writer, body: Box, totals: list[np.ndarray]) -> None:
    """One row per pack and one for the difference; a column for the total and each place."""
    names, column = w.px(70), (body.w - w.px(70)) // 4
    top = Box(body.x, body.y - w.px(2), body.w, w.px(16))
    for j, title in enumerate(("all", "left", "centre", "right")):
        w.text(title, top.cut(names + j * column, column), "quiet", "small", "right")
    rows = [("upper", totals[0]), ("lower", totals[1]), ("difference", totals[1] - totals[0])]
    for i, (name, counts) in enumerate(rows):
        row = body._replace(y=body.y + w.px(14)).row(i, w.px(17))
        w.text(name, row.cut(0, names), "quiet" if i < 2 else "text", "small")
        for j, value in enumerate([int(counts.sum()), *counts.tolist()]):
            shown = signed(value, 0, plus=i == 2)
            w.text(shown, row.cut(names + j * column, column), "text", "body", "right")


def roles_panel(session: Session, w: Writer) -> None:
    """Show each role with its mark, its meaning, and how many cans have it."""
    where = "in view" if session.tip is None else "of the stage"
    name = session.name_of(session.watched) or ", by how far they can lean"
    body = w.panel(session.layout.roles, f"Cans {where}{name}")
    rows = [body.row(i, w.px(20)) for i in range(len(ROLES))]
    counts = legend_marks(session, w, rows)
    for row, role, meaning, count in zip(rows, ROLES, MEANINGS, counts, strict=True):
        w.text(role, row.cut(w.px(24), w.px(96)))
        w.text(meaning, row.cut(w.px(122), row.w - w.px(168)), "quiet", "small")
        w.text(thousands(count), row.cut(row.w - w.px(46), w.px(46)), "text", "body", "right")


def legend_marks(session: Session, w: Writer, rows: list[Box]) -> NDArray[np.int64]:
    """Add a can of each role at the left of its row; return how many are seen, shape (roles,)."""
    pack = session.watched
    frame, show, line_map = pack.source.frame, session.tip, pack.source.line_map
    x0, x1, y0, y1 = session.views[session.packs.index(pack)].spans_mm()
    if show is not None:  # the plan is covered
        x0, x1 = line_map.bounds_mm[session.stage : session.stage + 2].tolist()
        y0, y1 = -math.inf, math.inf
    here = (frame.x_mm >= max(x0, 0.0)) & (frame.x_mm <= min(x1, line_map.length_mm))
    here &= (frame.y_mm >= y0) & (frame.y_mm <= y1)
    counts = np.bincount(frame.role[here], minlength=len(ROLES))
    at = None if show is None or not show.past else index_of(frame, show.fall.event.can)
    if at is not None and here[at]:
        counts[frame.role[at]] -= 1
        counts[-1] += 1
    marks = Cans(
        x_px=np.array([row.x + w.px(9) for row in rows], dtype=np.float64),
        y_px=np.array([row.y + row.h / 2.0 for row in rows]),
        radius_px=np.full(len(rows), min(w.px(8), rows[0].h * 0.48)),
        role=np.arange(len(rows), dtype=np.uint8),
        direction_rad=np.full(len(rows), -0.7),
        clip=session.layout.roles,
    )
    w.add(marks)
    return counts


def adjust_panel(session: Session, w: Writer) -> None:
    """Show the dials, with the one chosen, and what the changes act on."""
    layout = session.layout
    body = w.panel(layout.adjust, "Change while it runs")
    loaded = session.pack.source.loaded
    scope = "all stages" if session.all_stages else loaded.scenario.stages[session.stage].name
    top = body.row(0, w.px(24))
    w.text(
        f"acts on: {_whose(session, session.pack)}{scope}", top.cut(0, top.w - w.px(90)), "quiet"
    )
    w.button(Box(top.right - w.px(84), top.y + w.px(1), w.px(84), w.px(21)), "One / all", "scope")
    rows = body._replace(y=top.bottom + w.px(4))
    height = min(w.px(27), (body.bottom - rows.y - w.px(62)) // len(DIALS))
    for i in range(len(DIALS)):
        _dial_row(w, session, i, rows.row(i, height))
    _keep_buttons(w, body._replace(y=body.bottom - w.px(56), h=w.px(54)), session)


def _dial_row(w: Writer, session: Session, i: int, row: Box) -> None:
    dial = DIALS[i]
    chosen = i == session.dial
    if chosen:
        w.fill(Box(row.x - w.px(4), row.y, row.w + w.px(8), row.h - w.px(1)), "chosen")
    part = session.parts.get(i, 0)
    value = dial.shown(session.display, session.pack.source.loaded, session.stage, part)
    key, left = w.px(20), w.px(20) + w.px(100)
    w.text(written(dial.key), row.cut(0, key), "quiet", "small")
    w.text(dial.name, row.cut(key, w.px(100)))
    button = min(w.px(22), row.h - 1)
    right = row.w - (2 * button + w.px(8) if chosen else 0)
    w.text(value, row.cut(left, right - left), "text", "body", "right")
    w.hit(row, "pick dial", i)
    if chosen:
        y = row.y + (row.h - button) // 2
        w.button(Box(row.right - 2 * button - w.px(3), y, button, button), "−", "turn", -1)
        w.button(Box(row.right - button, y, button, button), "+", "turn", 1)


def _keep_buttons(w: Writer, box: Box, session: Session) -> None:
    clip = "Clip" if session.filmed_s is None else "End clip"
    names = ("Undo", "Redo", "Reset", "Restart", "2 packs", "Save", "Picture", clip)
    gap = w.px(6)
    wide, tall = (box.w - 3 * gap) // 4, (box.h - gap) // 2
    for i, name in enumerate(names):
        action = {"2 packs": "beside", clip: "clip"}.get(name, name.lower())
        cell = box.row(i // 4, tall + gap).cut((i % 4) * (wide + gap), wide)
        w.button(cell._replace(h=tall), name, action)


def cards_panel(session: Session, w: Writer) -> None:
    """One card per stage: name, slack, tipped cans; the chosen one stands out."""
    layout, source = session.layout, session.watched.source
    w.fill(layout.cards, "page")
    stages = source.line_map.stages
    boxes = layout.card_boxes(len(stages))
    first = min(max(0, session.stage - len(boxes) // 2), len(stages) - len(boxes))
    tips = tips_of(session, session.watched).sum(axis=1)
    for i, box in enumerate(boxes, first):
        card = box.inset(w.px(3), w.px(4))
        w.fill(card, "chosen" if i == session.stage else "card", outline="rule")
        found = source.answers[i]
        slack, verdict = "no answer", ""
        if isinstance(found, Answer):
            now = float(source.slack_now[0][i])
            slack = f"slack {session.display.length(now if math.isfinite(now) else found.slack_mm)}"
            verdict = found.tipping.verdict
        inner = card.inset(w.px(7), w.px(3))
        lines = wrapped(stages[i], int(inner.w / (LETTER_PX * w.scale)))
        name = [*lines[:1], *([" ".join(lines[1:])] if lines[1:] else [])]
        line = inner.h // (2 + len(name))
        for k, words in enumerate(name):
            w.text(words, inner.row(k, line))
        if crushes(found):
            w.text("crushes cans", inner.row(len(name), line), "alarm", "small")
        else:
            w.text(slack, inner.row(len(name), line), "quiet", "small")
        role = "alarm" if verdict in ALARMING else "quiet"
        half, last = inner.w * 3 // 5, inner.row(len(name) + 1, line)
        w.text(verdict, last.cut(0, half), role, "small")
        tipped = last.cut(half, inner.w - half)
        # the sign is the mark of a tipped can; the word would not fit beside a hundred of them
        count = f"× {thousands(tips[i])}"
        w.text(count, tipped, "alarm" if tips[i] else "quiet", "small", "right")
        w.hit(card, "card", i)


def footer(session: Session, w: Writer) -> None:
    """Show the cautions, always in sight."""
    box = session.layout.footer
    w.fill(box, "caution")
    help_box = box.cut(box.w - w.px(92), w.px(84))
    w.text(f"{key_label('help')}: help", help_box, "caution text", "small", "right")
    w.text(CAUTION_LINE, box.cut(w.px(12), box.w - w.px(116)), "caution text", "small")
