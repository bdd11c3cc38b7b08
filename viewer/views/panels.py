"""The panels around the plan: title and clock, counts, legend, dials, stage cards, cautions."""

from __future__ import annotations

import math

import numpy as np

from packsim.answers import Answer
from packsim.passage import PLACES
from packsim.report.words.cautions import CAUTION_LINE
from packsim.report.words.display import Display, per_million, signed, thousands
from viewer.screen.camera import Box
from viewer.screen.drawing import Cans, Drawing
from viewer.screen.panel_writer import Writer
from viewer.screen.roles import CAN_STYLES
from viewer.session.adjust import DIALS
from viewer.session.keys import key_label
from viewer.session.session import Session

__all__ = ["adjust_panel", "cards_panel", "counts_panel", "footer", "header", "roles_panel"]

_SHOW = Display("metric")


def header(session: Session) -> Drawing:
    """Title, can size, clock, mat position, speed, and the buttons that run the passage."""
    layout, frame = session.layout, session.pack.source.frame
    w = Writer(layout.scale)
    box = layout.header
    w.fill(box, "panel head")
    loaded, clock = session.pack.source.loaded, session.clock
    names = ("Run" if not clock.running else "Pause", "Slower", "Faster", "Help")
    actions = ("pause", "slower", "faster", "help")
    x = box.right - w.px(8)
    for name, action in reversed(list(zip(names, actions, strict=True))):
        x -= w.px(86)
        w.button(Box(x, box.y + w.px(8), w.px(80), box.h - w.px(16)), name, action)
    middle = Box(x - w.px(452), box.y, w.px(440), box.h)
    minutes, seconds = divmod(frame.time_s, 60.0)
    speed = f"× {clock.speed:g}"
    state = speed if clock.running else "paused"
    cells = (
        ("time", f"{minutes:.0f}:{seconds:04.1f}"),
        ("mat moved", f"{frame.travel_mm / 1000.0:.2f} m"),
        ("mat speed", _SHOW.speed(loaded.scenario.mat.speed_mm_per_s)),
        ("playback speed", state),
    )
    for i, (label, value) in enumerate(cells):
        cell = Box(middle.x + i * w.px(110), box.y + w.px(4), w.px(104), box.h - w.px(8))
        w.two_lines(cell, label, value, "quiet on dark", "on dark")
    title = Box(box.x + w.px(12), box.y, middle.x - box.x - w.px(24), box.h)
    w.text(f"{loaded.scenario.name}  ·  {loaded.size}", title, "on dark", "head")
    return w.drawing


def counts_panel(session: Session) -> Drawing:
    """Tipped cans in all and by place; two packs with their difference; cans in, out, on mat."""
    layout = session.layout
    w = Writer(layout.scale)
    body = w.panel(layout.counts, "Tipped cans")
    packs = session.packs
    totals = [pack.source.tips.sum(axis=0) for pack in packs]
    if len(packs) == 1:
        big = Box(body.x, body.y, w.px(92), w.px(52))
        w.text(thousands(totals[0].sum()), big, "text", "big")
        part = (body.w - w.px(96)) // 3
        for i, place in enumerate(PLACES):
            cell = Box(body.x + w.px(96) + i * part, body.y, part, w.px(52))
            w.two_lines(cell, place, thousands(totals[0][i]), "quiet", "text", "head")
    else:
        _compare(w, body, totals)
    cans_in, cans_out = session.pack.source.flow
    row = Box(body.x, body.bottom - w.px(38), body.w, w.px(18))
    came, went, here = (thousands(n) for n in (cans_in, cans_out, cans_in - cans_out))
    w.text(f"in {came} · out {went} · on the mat {here}", row, "quiet")
    _per_million(w, session, Box(body.x, row.bottom, body.w, w.px(18)))
    return w.drawing


def _per_million(w: Writer, session: Session, row: Box) -> None:
    source = session.pack.source
    if source.jammed_mm > 0.2:
        w.text(f"jammed: cans overlap by {source.jammed_mm:.1f} mm", row, "alarm")
        return
    tipped, fed = int(source.tips.sum()), source.flow[0]
    if fed:
        w.text(f"{per_million(1e6 * tipped / fed)} tipped per million so far", row, "quiet")


def _compare(w: Writer, body: Box, totals: list[np.ndarray]) -> None:
    """One row per pack and one for the difference; a column for the total and each place."""
    column = (body.w - w.px(70)) // 4
    titles = ("all", "left", "centre", "right")
    rows = [("upper", totals[0]), ("lower", totals[1]), ("difference", totals[1] - totals[0])]
    height = w.px(16)
    for j, title in enumerate(titles):
        cell = Box(body.x + w.px(70) + j * column, body.y - w.px(2), column, height)
        w.text(title, cell, "quiet", "small", "right")
    for i, (name, counts) in enumerate(rows):
        y = body.y + w.px(14) + i * w.px(17)
        w.text(name, Box(body.x, y, w.px(70), w.px(17)), "quiet" if i < 2 else "text", "small")
        for j, value in enumerate([int(counts.sum()), *counts.tolist()]):
            cell = Box(body.x + w.px(70) + j * column, y, column, w.px(17))
            shown = signed(value, 0, plus=i == 2)
            w.text(shown, cell, "text", "body", "right")


def roles_panel(session: Session) -> Drawing:
    """Show each role with its mark, its meaning, and how many cans have it."""
    layout = session.layout
    w = Writer(layout.scale)
    body = w.panel(layout.roles, "Cans by how far they can lean")
    frame, line_map = session.pack.source.frame, session.pack.source.line_map
    here = (frame.x_mm >= 0.0) & (frame.x_mm <= line_map.length_mm)
    counts = np.bincount(frame.role[here], minlength=len(CAN_STYLES))
    height = w.px(20)
    for i, look in enumerate(CAN_STYLES):
        row = Box(body.x, body.y + i * height, body.w, height)
        sample = np.array([row.x + w.px(9)], dtype=np.float64)
        w.add(
            Cans(
                sample,
                np.array([row.y + height / 2.0]),
                np.array([w.px(8) * 1.0]),
                np.array([i], dtype=np.uint8),
                np.array([-0.7]),
                row,
            )
        )
        w.text(look.role, Box(row.x + w.px(24), row.y, w.px(96), height))
        w.text(
            look.meaning, Box(row.x + w.px(122), row.y, row.w - w.px(168), height), "quiet", "small"
        )
        w.text(thousands(counts[i]), Box(row.right - w.px(46), row.y, w.px(46), height), "text",
               "body", "right")  # fmt: skip
    return w.drawing


def adjust_panel(session: Session) -> Drawing:
    """Show the dials, with the one chosen, and what the changes act on."""
    layout = session.layout
    w = Writer(layout.scale)
    body = w.panel(layout.adjust, "Change while it runs")
    loaded = session.pack.source.loaded
    scope = "all stages" if session.all_stages else loaded.scenario.stages[session.stage].name
    top = Box(body.x, body.y, body.w, w.px(24))
    w.text(f"acts on: {scope}", Box(top.x, top.y, top.w - w.px(90), top.h), "quiet")
    w.button(Box(top.right - w.px(84), top.y + w.px(1), w.px(84), w.px(21)), "One / all", "scope")
    rows = Box(body.x, top.bottom + w.px(4), body.w, 0)
    room = body.bottom - rows.y - w.px(62)
    height = min(w.px(27), room // len(DIALS))
    for i in range(len(DIALS)):
        _dial_row(w, session, i, Box(rows.x, rows.y + i * height, rows.w, height))
    foot = Box(body.x, body.bottom - w.px(56), body.w, w.px(54))
    _keep_buttons(w, foot, filming=session.filmed_s is not None)
    return w.drawing


def _dial_row(w: Writer, session: Session, i: int, row: Box) -> None:
    dial = DIALS[i]
    chosen = i == session.dial
    if chosen:
        w.fill(Box(row.x - w.px(4), row.y, row.w + w.px(8), row.h - w.px(1)), "chosen")
    value = dial.shown(session.pack.source.loaded, session.stage, session.wire)
    key = w.px(20)
    w.text(dial.key.upper(), Box(row.x, row.y, key, row.h), "quiet", "small")
    w.text(dial.name, Box(row.x + key, row.y, w.px(100), row.h))
    button = min(w.px(22), row.h - 1)
    right = row.right if not chosen else row.right - 2 * button - w.px(8)
    left = row.x + key + w.px(100)
    w.text(value, Box(left, row.y, right - left, row.h), "text", "body", "right")
    w.hit(row, "pick dial", i)
    if chosen:
        y = row.y + (row.h - button) // 2
        w.button(Box(row.right - 2 * button - w.px(3), y, button, button), "−", "turn", -1)
        w.button(Box(row.right - button, y, button, button), "+", "turn", 1)


def _keep_buttons(w: Writer, box: Box, *, filming: bool) -> None:
    names = (
        ("Undo", "undo"),
        ("Redo", "redo"),
        ("Reset", "reset"),
        ("Restart", "restart"),
        ("2 packs", "beside"),
        ("Save", "save"),
        ("Picture", "picture"),
        ("End clip" if filming else "Clip", "clip"),
    )
    gap = w.px(6)
    wide, tall = (box.w - 3 * gap) // 4, (box.h - gap) // 2
    for i, (name, action) in enumerate(names):
        x = box.x + (i % 4) * (wide + gap)
        w.button(Box(x, box.y + (i // 4) * (tall + gap), wide, tall), name, action)


def cards_panel(session: Session) -> Drawing:
    """One card per stage: name, slack, tipped cans; the chosen one stands out."""
    layout, source = session.layout, session.pack.source
    w = Writer(layout.scale)
    box = layout.cards
    w.fill(box, "page")
    stages = source.line_map.stages
    fits = max(1, min(len(stages), box.w // w.px(104)))
    first = min(max(0, session.stage - fits // 2), len(stages) - fits)
    wide = box.w // fits
    tips = source.tips.sum(axis=1)
    for place, i in enumerate(range(first, first + fits)):
        card = Box(box.x + place * wide, box.y, wide, box.h).inset(w.px(3), w.px(4))
        w.fill(card, "chosen" if i == session.stage else "card", outline="rule")
        found = source.answers[i]
        slack, verdict = "no answer", ""
        if isinstance(found, Answer):
            now = float(source.slack_now[0][i])
            slack = f"slack {_SHOW.length(now if math.isfinite(now) else found.slack_mm)}"
            crushed = found.hold_down is not None and found.hold_down.state == "crushes"
            verdict = "crushed" if crushed else found.tipping.verdict
        inner = card.inset(w.px(7), w.px(3))
        line = inner.h // 3
        w.text(stages[i], Box(inner.x, inner.y, inner.w, line))
        w.text(slack, Box(inner.x, inner.y + line, inner.w, line), "quiet", "small")
        bad = verdict in ("can tip", "tight", "crushed")
        role = "alarm" if bad else "quiet"
        half = inner.w * 3 // 5
        w.text(verdict, Box(inner.x, inner.y + 2 * line, half, line), role, "small")
        tipped = Box(inner.x + half, inner.y + 2 * line, inner.w - half, line)
        # the sign is the mark of a tipped can; the word would not fit beside a hundred of them
        count = f"× {thousands(tips[i])}"
        w.text(count, tipped, "alarm" if tips[i] else "quiet", "small", "right")
        w.hit(card, "card", i)
    return w.drawing


def footer(session: Session) -> Drawing:
    """Show the cautions, always in sight."""
    w = Writer(session.layout.scale)
    box = session.layout.footer
    w.fill(box, "caution")
    help_box = Box(box.right - w.px(92), box.y, w.px(84), box.h)
    w.text(f"{key_label('help')}: help", help_box, "caution text", "small", "right")
    line = Box(box.x + w.px(12), box.y, box.w - w.px(116), box.h)
    w.text(CAUTION_LINE, line, "caution text", "small")
    return w.drawing
