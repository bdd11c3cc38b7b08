"""A small live graph: tips and slack against time, tips against the width they were counted under.

It takes the place of the facts of a can while it is wanted.
"""

from collections.abc import Sequence

from packsim.counts.intervals import per_million_interval
from packsim.report.words.display import Display
from packsim.report.words.numbers import per_million, thousands
from viewer.line import LoadedLine
from viewer.screen.drawing import Fill, Polyline, Writer
from viewer.screen.layout import Box
from viewer.session.counted import Run, other_guides_only
from viewer.session.session import Session
from viewer.session.source import Live
from viewer.views.answers import dock_panel

FEW_CANS = 100
"""Fewer cans than this say nothing of a width."""

ROW_PX = 15


def graph_panel(session: Session, w: Writer) -> None:
    """Show both graphs of the chosen stage, and what was counted under the line that is set."""
    pack, stage = session.watched, session.stage
    source = pack.source
    name = source.line_map.stages[stage] + session.name_of(pack)
    body = dock_panel(session, w, session.layout.facts, f"Tips and slack: {name}")
    if not isinstance(source, Live):
        w.text("a recording has no graph", body.row(0, w.px(ROW_PX)), "quiet", "small")
        return
    count, runs = source.counted.under(source.loaded)
    width = session.display.length(source.loaded.scenario.stages[stage].guides.narrowest_mm)
    row, half = w.px(ROW_PX), (body.h - 2 * w.px(ROW_PX)) // 2
    _over_time(w, body._replace(h=half), source.run, stage, session.display)
    _over_width(w, body._replace(y=body.y + half, h=half), source, session)
    tips = int(count.tips[stage])
    said = (
        f"{width}: {thousands(tips)} tip{'s' if tips != 1 else ''} of {thousands(count.cans)} cans"
    )
    w.text(said, Box(body.x, body.bottom - 2 * row, body.w, row), "text", "small")
    under = f"as set now, {source.loaded.size}, {runs} run{'s' if runs != 1 else ''}"
    w.text(under, Box(body.x, body.bottom - row, body.w, row), "quiet", "small")


def _over_time(w: Writer, box: Box, run: Run, stage: int, display: Display) -> None:
    """Draw tips so far and slack against time, and a line for each change."""
    inner = _frame(w, box)
    samples = run.samples
    if len(samples) < 2:
        w.text("after a second of running", inner, "quiet", "small", "centre")
        return
    samples = samples[:: 1 + len(samples) // max(2, inner.w)] + samples[-1:]
    times = [sample.time_s for sample in samples]
    span = times[0], max(times[-1], times[0] + 1.0)
    for mark in run.marks:
        x = _at(mark.time_s, span, inner.x, inner.right)
        w.add(Polyline(((x, inner.y), (x, inner.bottom)), "bound", 1, w.px(3), inner))
    tips = [float(sample.tips[stage]) for sample in samples]
    slack = [float(sample.slack_mm[stage]) for sample in samples]
    seen = [value for value in slack if value == value]
    most = max(1.0, *tips), max(1.0, *seen, 0.0)
    for values, top, role in ((slack, most[1], "lean"), (tips, most[0], "alarm")):
        points = tuple(
            (
                _at(t, span, inner.x, inner.right),
                _at(max(0.0, v), (0.0, top), inner.bottom, inner.y),
            )
            for t, v in zip(times, values, strict=True)
            if v == v
        )
        if len(points) > 1:
            w.add(Polyline(points, role, max(1, w.px(1.5)), 0, inner))
    _keys(
        w,
        box,
        f"tips {tips[-1]:.0f}",
        f"slack {display.length(slack[-1])}" if slack[-1] == slack[-1] else "slack",
    )


def _keys(w: Writer, box: Box, tips: str, slack: str) -> None:
    """Name both lines over the graph, with their last values, in their colours."""
    row = Box(box.x, box.y, box.w, w.px(ROW_PX))
    w.text(tips, row.cut(0, row.w // 3), "alarm", "small")
    w.text(slack, row.cut(row.w // 3, row.w // 3), "lean", "small")
    w.text("¦ change", row.cut(2 * row.w // 3, row.w // 3), "quiet", "small", "right")


def _over_width(w: Writer, box: Box, source: Live, session: Session) -> None:
    """Draw tips per million with their 95 % interval against the clear width of the stage."""
    inner, stage, now = _frame(w, box), session.stage, source.loaded
    row = Box(box.x, box.y, box.w, w.px(ROW_PX))
    lines = [line for line in source.counted.lines() if other_guides_only(line, now)]
    counts = [(_width(line, stage), source.counted.under(line)[0]) for line in lines]
    seen = [(width, c) for width, c in counts if c.cans >= FEW_CANS]
    w.text("tips per million, by clear width", row, "quiet", "small")
    if not seen:
        w.text(f"after {FEW_CANS} cans under one setting", inner, "quiet", "small", "centre")
        return
    at = [width for width, _ in seen]
    span = min(at) - 1.0, max(at) + 1.0
    bars = [per_million_interval(int(c.tips[stage]), c.cans) for _, c in seen]
    top = max(high for _, high in bars)
    for (width, count), (low, high) in zip(seen, bars, strict=True):
        x = _at(width, span, inner.x, inner.right)
        ys = [_at(v, (0.0, top), inner.bottom, inner.y) for v in (low, high)]
        mine = abs(width - _width(now, stage)) < 1e-6
        w.add(Polyline(((x, ys[0]), (x, ys[1])), "quiet", w.px(2 if mine else 1) or 1, 0, inner))
        y = _at(1e6 * count.tips[stage] / count.cans, (0.0, top), inner.bottom, inner.y)
        side = w.px(7 if mine else 5)
        w.add(Fill(Box(round(x) - side // 2, round(y) - side // 2, side, side), "alarm"))
    ends = session.display.length(min(at), unit=False), session.display.length(max(at))
    if len(seen) > 1:
        w.text(f"{ends[0]} to {ends[1]}", row, "quiet", "small", "right")
    corner = Box(inner.x + w.px(4), inner.y, inner.w, w.px(ROW_PX))
    w.text(per_million(top), corner, "quiet", "small")


def _width(line: LoadedLine, stage: int) -> float:
    return line.scenario.stages[stage].guides.narrowest_mm


def _frame(w: Writer, box: Box) -> Box:
    """Draw the axes under a line of words; return what is inside them."""
    inner = Box(box.x + w.px(2), box.y + w.px(ROW_PX), box.w - w.px(4), box.h - w.px(ROW_PX + 5))
    corner = ((inner.x, inner.y), (inner.x, inner.bottom), (inner.right, inner.bottom))
    w.add(Polyline(corner, "rule", 1))
    return inner


def _at(value: float, span: Sequence[float], low_px: float, high_px: float) -> float:
    return low_px + (value - span[0]) / (span[1] - span[0]) * (high_px - low_px)
