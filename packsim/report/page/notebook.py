"""What a notebook shows of a result.

Tables take the colours of the page around them. Drawings are made for paper: a dark page inverts
their lightness and keeps their hues.
"""

from typing import Final

import numpy as np
from markupsafe import escape

from packsim.doubt.doubt import Doubt
from packsim.pack.state import Pack
from packsim.pack.void_places import PLACES
from packsim.pack.voids import Voids
from packsim.report.charts.chart_frame import chart_svg
from packsim.report.charts.doubt_chart import doubt_chart
from packsim.report.drawings.drawing import Circle, Drawing, Primitive, Stroke
from packsim.report.drawings.drawing_files import drawing_svg
from packsim.report.drawings.pack_drawing import pack_drawing, strip_sheet
from packsim.report.drawings.sheet_tools import PAPER_WIDTH_MM, box
from packsim.report.files.as_json import plain
from packsim.report.page.page_parts import findings, rendered, summary
from packsim.report.words.display import Display
from packsim.report.words.doubt_words import (
    MOST_MEASURES,
    measure_words,
    most_doubtful,
    sure_words,
)
from packsim.report.words.numbers import percent
from packsim.study import Study, summarize

MOST_ROWS: Final = 20
"""Rows of a list that are shown."""

_DARK = (
    "<style>@media (prefers-color-scheme: dark) "
    "{ svg.packsim { filter: invert(1) hue-rotate(180deg) } }</style>"
)


def svg_of(thing: Pack | Voids | Drawing) -> str:
    """Return a pack, the voids of one or a drawing as SVG, legible in light and in dark."""
    if isinstance(thing, Drawing):
        drawing = thing
    else:
        drawing = pack_drawing(thing) if isinstance(thing, Pack) else _voids_drawing(thing)
    head, _, body = drawing_svg(drawing).partition(">")
    return f'{head} class="packsim">{_DARK}{body}'


def html_of(thing: object) -> str:
    """Return a result as an HTML fragment of tables."""
    if isinstance(thing, Study):
        return _study_html(thing)
    if isinstance(thing, Voids):
        return _voids_html(thing)
    if isinstance(thing, Doubt):
        return _doubt_html(thing)
    return _table(plain(thing))


def _doubt_html(found: Doubt) -> str:
    """Return verdicts with their shares, what to measure, and what swings the most doubtful."""
    verdicts = [
        {"stage": one.stage, "size": one.size, "verdict": sure_words(one.confidence)}
        for one in found.places
    ]
    first = [measure_words(one) for one in found.measures[:MOST_MEASURES]]
    told = _table({"verdicts": verdicts, "measure first": [{"": line} for line in first]})
    chart = doubt_chart(most_doubtful(found), Display(), found.scenario)
    return told + chart_svg(chart, "doubt")


def _table(value: object) -> str:
    """Plain data as nested tables; of long lists the first rows."""
    if isinstance(value, dict):
        rows = [(f"<th>{escape(key)}</th>", one) for key, one in value.items()]
    elif isinstance(value, list) and any(isinstance(one, (dict, list)) for one in value):
        rows = [("", one) for one in value[:MOST_ROWS]]
        if len(value) > MOST_ROWS:
            rows.append(("", f"… {len(value) - MOST_ROWS} more"))
    elif isinstance(value, list):
        return ", ".join(_table(one) for one in value)
    else:
        shown = f"{value:.6g}" if isinstance(value, float) else "–" if value is None else value
        return str(escape(shown))
    cells = (f"<tr>{head}<td>{_table(one)}</td></tr>" for head, one in rows)
    return f"<table>{''.join(cells)}</table>"


def _voids_drawing(voids: Voids) -> Drawing:
    """Draw the voids of a pack: the largest free circle of each, shaded where it counts.

    Interstices of a nested pack are drawn unshaded; the cans themselves are not known here.
    """
    width, length = voids.clear_width_mm, voids.length_mm
    scale = max(width / (PAPER_WIDTH_MM - 10.0), length / PAPER_WIDTH_MM)
    parts: list[Primitive] = [box(0.0, 0.0, width, length, "strip")]
    for place, (x, y), across in zip(voids.place, voids.centre_mm, voids.circle_mm, strict=True):
        role = "can behind" if place == "interstice" else "void"
        if across > 0.0:
            parts.append(Circle((float(y), float(x)), float(across) / 2.0, role))
    parts += [Stroke((x, 0.0), (x, length), "face") for x in (0.0, width)]
    free = percent(voids.free_area_fraction)
    note = f"largest free circle of each void; {free} of the strip is free"
    return strip_sheet("Voids", note, parts, (0.0, length, width), scale)


def _voids_html(voids: Voids) -> str:
    """Return the voids of a pack as an HTML table, one row per kind of place."""
    rows = []
    for place in PLACES:
        here = voids.place == place
        if not here.any():
            continue
        cells = (
            str(escape(place)),
            f"{int(here.sum())}",
            f"{float(voids.area_mm2[here].sum()):.0f}",
            f"{float(np.max(voids.circle_mm[here])):.1f}",
        )
        rows.append("<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>")
    head = "<tr><th>place</th><th>voids</th><th>free, mm²</th><th>largest circle, mm</th></tr>"
    return f"<table><thead>{head}</thead><tbody>{''.join(rows)}</tbody></table>"


def _study_html(study: Study) -> str:
    """Return a study as an HTML fragment: in short, findings, every stage."""
    display = Display(study.scenario.units)
    sizes = [(can.name, summary(study, can.name, display)) for can in study.scenario.sizes]
    return rendered(
        "fragment.html",
        display,
        name=study.scenario.name,
        in_short=summarize(study),
        findings=findings(study, display),
        sizes=sizes,
    )
