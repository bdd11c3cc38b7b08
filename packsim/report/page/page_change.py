"""The size-change sheet on paper: what to set, with room for what was found and what was left."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from packsim.report.page.templates_env import cleaned, environment
from packsim.report.words.assumed import assumed_rows
from packsim.report.words.cautions import CAUTIONS
from packsim.report.words.change_rows import (
    SheetRow,
    inch_step,
    length_text,
    move_text,
    sheet_rows,
)
from packsim.report.words.change_words import KEEP_WORDS, stage_facts, tips_text
from packsim.report.words.display import Display
from packsim.size_change import SizeChange, StageChange

__all__ = ["change_page", "change_parts"]


def change_page(change: SizeChange, display: Display) -> str:
    """Return a size change as one self-contained HTML sheet to print and fill in.

    Parameters
    ----------
    change : SizeChange
        The plan.
    display : Display
        Unit system; moves are shown in the other one too.

    Returns
    -------
    str
        Cautions, what to know first, brackets, wires and hold-downs with blanks for as found and
        as left, signatures, and what all of it assumes. Nothing is fetched from anywhere.
    """
    texts = {
        "name": change.scenario,
        "change": change_parts(change, display),
        "assumed": assumed_rows(change.assumed, [stage.stage for stage in change.stages]),
        "cautions": CAUTIONS,
    }
    page: str = environment().get_template("change.html").render(**cleaned(texts))
    return page


def change_parts(change: SizeChange, display: Display) -> dict[str, Any]:
    """Return one size change as texts for the template of the sheet.

    Parameters
    ----------
    change : SizeChange
        The plan.
    display : Display
        Unit system.

    Returns
    -------
    dict
        Sizes, flow before and after, alerts, and a block per stage with its bracket, wire and
        hold-down rows.
    """
    step = inch_step(change)
    tips, basis = tips_text(change, display)
    return {
        "from_size": change.from_size,
        "to_size": change.to_size,
        "keep": KEEP_WORDS[change.keep],
        "speed": " → ".join(display.speed(speed) for speed in change.speed_mm_per_s),
        "rate": " → ".join(f"{rate:,.0f}" for rate in change.cans_per_min),
        "tips": tips,
        "basis": basis,
        "unit_word": "mm" if display.units == "metric" else "inches",
        "other": "inches" if display.units == "metric" else "mm",
        "step": f"{step} in",
        "alerts": [
            {
                "level": alert.level,
                "stages": ", ".join(alert.stages) or "whole line",
                "what": alert.what_in(display.length),
                "do": "; ".join(alert.do_in(display.length)),
            }
            for alert in change.alerts
        ],
        "stages": [_stage(stage, display, step) for stage in change.stages],
    }


def _stage(stage: StageChange, display: Display, step: Fraction) -> dict[str, Any]:
    rows = list(sheet_rows(stage))
    stations: dict[float | None, dict[str, Any]] = {}
    for row in rows:
        if row.item == "bracket":
            station = {"station": display.length(row.station_mm)}
            found = stations.setdefault(row.station_mm, station)
            found[row.side] = _cells(row, display, step)
    return {
        "name": stage.stage,
        "facts": stage_facts(stage, display),
        "brackets": list(stations.values()),
        "heights": [
            {"what": what, **_cells(row, display, step)} for row, what in _heights(stage, rows)
        ],
    }


def _heights(stage: StageChange, rows: list[SheetRow]) -> list[tuple[SheetRow, str]]:
    """Name every wire by its place from the mat up as it hangs now, then the hold-down."""
    wires = [row for row in rows if row.item == "wire"]
    hang = sorted(row.now_mm for row in wires if row.now_mm is not None)
    idle = [move.idle for move in stage.wires.moves]
    named = []
    for row, serves_none in zip(wires, idle, strict=True):
        what = "new wire, both sides"
        if row.now_mm is not None:
            what = f"wire {hang.index(row.now_mm) + 1} from the mat, both sides"
        named.append((row, what + (", serves neither size" if serves_none else "")))
    return named + [(row, "hold-down, underside") for row in rows if row.item == "hold-down"]


def _cells(row: SheetRow, display: Display, step: Fraction) -> Mapping[str, str]:
    second = Display("inch" if display.units == "metric" else "metric")
    moved = row.direction not in ("stay", "add")
    return {
        "now": "none" if row.now_mm is None else length_text(row.now_mm, display, step),
        "new": length_text(row.new_mm, display, step),
        "way": row.direction,
        "by": move_text(row, display, step) if moved else "",
        "by_other": length_text(row.move_mm, second, step) if moved else "",
    }
