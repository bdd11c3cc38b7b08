"""Beside a plan: what each lane of the chosen stage gets; under it: the headers it gets it from."""

from collections import Counter

from packsim.answers import Answer
from packsim.answers.quantities import quantity
from packsim.line import SIDES, medium_of
from packsim.report.words.display import Display
from packsim.report.words.numbers import figures
from packsim.spray.jets import flow_L_per_min
from viewer.screen.camera import Camera
from viewer.screen.drawing import Polygon, Polyline, Writer
from viewer.screen.layout import DOSE_PX, Box
from viewer.session.session import Session

PLACES = {"inside": "inside", "top": "on top"}
"""Where doses land, as columns."""


def doses_panel(session: Session, w: Writer) -> None:
    """Show doses and headers of the chosen stage at every plan, its lanes where the plan has them.

    Bars of two packs have one scale.
    """
    if not session.doses:
        return
    answers = [pack.source.answers[session.stage] for pack in session.packs]
    given = [found.doses if isinstance(found, Answer) else {} for found in answers]
    for box, view, found in zip(session.boxes, session.views, answers, strict=True):
        foot = Box(box.x, view.view.bottom, box.w, box.bottom - view.view.bottom)
        w.fill(foot, "panel")
        strip = Box(view.view.right, box.y, w.px(DOSE_PX[0]), box.h)
        w.fill(strip, "panel")
        edge = ((strip.x, strip.y), (strip.x, strip.bottom))
        w.add(Polyline(edge, "rule", max(1, w.px(1))))
        if not isinstance(found, Answer):
            continue
        words = foot._replace(x=foot.x + w.px(12), w=view.view.w - w.px(20))
        for i, line in enumerate(header_lines(found, session.display)):
            w.text(line, words.row(i, foot.h // 2), "text", "small")
        half = (strip.w - w.px(8)) // 2
        for i, place in enumerate(PLACES):
            column = strip.cut(w.px(6) + i * half, half - w.px(6))
            most = max((float(each[place].max()) for each in given if place in each), default=0.0)
            if place in found.doses and most > 0.0:
                _column(w, column, view, found, place, most, session.display)
            else:
                w.text(
                    f"none {PLACES[place]}", column.row(0, view.view.y - box.y), "quiet", "small"
                )


def header_lines(found: Answer, display: Display) -> list[str]:
    """Return a line for each side that sprays: headers alike with the flow of all of them."""
    headers, passed = found.set_stage.headers, found.headers
    lines = []
    for side in SIDES:
        alike = Counter(
            (h.count, h.pitch_mm, medium_of(h), flow_L_per_min(h)) for h in passed if h.side == side
        )
        told = []
        for (count, pitch, medium, flow), number in alike.items():
            taken, unit = display.flow_value(number * flow)
            of = " of gas" * (medium == "gas")
            row = f"{number} × {count} nozzles, pitch {display.length(pitch)}"
            told.append(f"{row}, {figures(taken)} {unit}{of}")
        low = sum(h.side == side for h in headers) - sum(h.side == side for h in passed)
        told += [f"{low} in the way of the cans"] * (low > 0)
        if told:
            lines.append(f"{found.stage}, {side}: {'  ·  '.join(told)}")
    return lines or [f"{found.stage}: no header"]


def _column(
    w: Writer, column: Box, view: Camera, found: Answer, place: str, most: float, display: Display
) -> None:
    """Draw a bar for each lane, those of the worst lanes with a mark, and a line at the mean."""
    doses, plan = found.doses[place], view.view
    room = plan._replace(x=column.x, w=column.w)
    per_mL = (column.w - w.px(8)) / most
    least, share = (
        quantity(name).of(found) for name in (f"least_dose_{place}_mL", f"least_share_{place}")
    )
    ys = view.to_px(0.0, found.lines_mm)[1]
    apart = (ys[-1] - ys[0]) / max(1, len(ys) - 1)
    # bars too near each other for gaps of one width have none
    thick = max(1.0, (0.35 if apart >= 3.0 else 0.5) * apart)
    for y, dose in zip(ys.tolist(), doses.tolist(), strict=True):
        top, low = max(room.y, round(y - thick)), min(room.bottom, round(y + thick))
        worst = dose <= least * (1.0 + 1e-6)
        if low > top:
            bar = Box(room.x, top, max(1, round(dose * per_mL)), low - top)
            w.fill(bar, "alarm" if worst else "pool")
            if worst:
                x, r = bar.right + w.px(1), w.px(4)
                points = ((x, y), (x + 1.5 * r, y - r), (x + 1.5 * r, y + r))
                w.add(Polygon(points, "alarm", clip=room))
    amount, unit = display.show("dose", least).split()
    w.text(f"{PLACES[place]}, {unit}", column.row(0, plan.y - column.y), "quiet", "small")
    end, line = column._replace(y=plan.bottom), (column.bottom - plan.bottom) // 2
    if share:  # where a lane gets nothing the mean cannot be told from it
        x = room.x + least / share * per_mL
        w.add(Polyline(((x, ys[0]), (x, ys[-1])), "text", max(1, w.px(1)), w.px(3), room))
    if share is not None:
        w.text(f"{share:.2f} of mean", end.row(1, line), "quiet", "small")
    w.text(f"least {amount}", end.row(0, line), "alarm", "small")
