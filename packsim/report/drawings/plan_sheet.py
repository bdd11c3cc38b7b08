"""Where things stand on a plan, its dimensions and its notes."""

from dataclasses import dataclass

from packsim.answers import Answer
from packsim.line import Stage
from packsim.report.drawings.drawing import Dimension, Label, Primitive
from packsim.report.drawings.pack_drawing import STRIP_REACH, has_wide_voids
from packsim.report.drawings.sheet_tools import TEXT_MM, fits
from packsim.report.words.display import Display
from packsim.report.words.numbers import pack_words


@dataclass(frozen=True, slots=True)
class PlanSheet:
    """Where things stand on a plan: across from the mat's left edge, up from the pack's start.

    The pack starts at ``start_mm`` along the stage; ``scale`` is real millimetres per millimetre of
    paper.
    """

    answer: Answer
    stage: Stage
    mat_mm: float
    start_mm: float
    scale: float
    display: Display

    @property
    def left_mm(self) -> float:
        """Left guide face [mm]."""
        guides = self.stage.guides
        return guides.centre_mm - guides.narrowest_mm / 2.0

    @property
    def right_mm(self) -> float:
        """Right guide face [mm]."""
        return self.left_mm + self.stage.guides.narrowest_mm

    @property
    def foot_mm(self) -> float:
        """Lower end of the drawn strip [mm]."""
        return -STRIP_REACH * self.answer.pack.diameter_mm

    @property
    def head_mm(self) -> float:
        """Upper end of the drawn strip [mm]."""
        return self.answer.pack.length_mm + STRIP_REACH * self.answer.pack.diameter_mm


def plan_dimensions(sheet: PlanSheet) -> tuple[Primitive, ...]:
    """Below: mat edge, faces, mat edge. Above: pack width and the slack beside it."""
    scale, size = sheet.scale, TEXT_MM * sheet.scale
    left, right, foot = sheet.left_mm, sheet.right_mm, sheet.foot_mm
    below = foot - 6.0 * scale
    parts: list[Primitive] = []
    for x0, x1, name in (
        (0.0, left, ""),
        (left, right, "clear width "),
        (right, sheet.mat_mm, ""),
    ):
        text = name + sheet.display.bare(x1 - x0)
        # a text wider than its space stands outside, on the free side
        outside = {left: "start", sheet.mat_mm: "end"}.get(x1, "middle")
        where = "middle" if fits(text, size, abs(x1 - x0)) else outside
        parts.append(Dimension((x0, foot), (x1, foot), below - foot, text, size, text_at=where))
    whole = f"mat {sheet.display.bare(sheet.mat_mm)}"
    off = below - foot - 6.0 * scale
    parts.append(Dimension((0.0, foot), (sheet.mat_mm, foot), off, whole, size))
    return (*parts, *_slack(sheet))


def _slack(sheet: PlanSheet) -> tuple[Primitive, ...]:
    pack = sheet.answer.pack
    if not pack.fits:
        at = ((sheet.left_mm + sheet.right_mm) / 2.0, (sheet.foot_mm + sheet.head_mm) / 2.0)
        return (
            Label(at, f"does not fit: {pack.reason}", TEXT_MM * sheet.scale, "limit", "middle"),
        )
    across = pack.centres_mm[:, 1]
    radius, size = pack.diameter_mm / 2.0, TEXT_MM * sheet.scale
    low = sheet.left_mm + float(across.min()) - radius
    high = sheet.left_mm + float(across.max()) + radius
    head, off = sheet.head_mm, 8.0 * sheet.scale
    text = f"over the cans {sheet.display.bare(high - low)}"
    parts: list[Primitive] = [Dimension((low, head), (high, head), off, text, size)]
    for x0, x1, where in ((sheet.left_mm, low, "start"), (high, sheet.right_mm, "end")):
        gap = x1 - x0
        if gap > 0.005 * pack.diameter_mm:
            text = sheet.display.bare(gap)
            parts.append(Dimension((x0, head), (x1, head), off, text, size, text_at=where))
    return tuple(parts)


def plan_notes(sheet: PlanSheet) -> str:
    """Say what the plan shows, in a few sentences."""
    pack, display, guides = sheet.answer.pack, sheet.display, sheet.stage.guides
    said = [
        f"{pack_words(sheet.answer, display.length)}; {pack.layout}; "
        f"slack {display.length(sheet.answer.slack_mm)} in all. Stage from "
        f"{display.length(sheet.start_mm)} to {display.length(sheet.start_mm + pack.length_mm)}; "
        f"{display.lengths_in}, cold, nominal."
    ]
    if has_wide_voids(pack):
        said.append("Shaded: voids wider than the gaps between touching cans.")
    if guides.widest_mm != guides.narrowest_mm:
        ends = display.bare(guides.narrowest_mm), display.length(guides.widest_mm)
        said.append(f"Brackets stand from {' to '.join(ends)}; drawn at the narrowest.")
    sides = {header.side for header in sheet.stage.headers}
    if "above" in sides:
        end = ";" if "below" in sides else "."
        said.append(f"Filled dots and solid outlines: nozzles above and what they cover{end}")
    if "below" in sides:
        said.append("rings and dashed outlines: below.")
    return " ".join(said)
