"""The size-change sheet on paper: what to set, with room for what was found and what was left."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from packsim.report.page.templates_env import cleaned, environment
from packsim.report.words.assumed import assumed_rows
from packsim.report.words.cautions import CAUTIONS
from packsim.report.words.change_words import (
    KEEP_WORDS,
    SheetRow,
    inch_step,
    move_cells,
    sheet_rows,
    stage_facts,
    tips_text,
)
from packsim.report.words.display import Display
from packsim.report.words.numbers import thousands
from packsim.size_change import SizeChange, StageChange


def change_page(change: SizeChange, display: Display) -> str:
    """Return a size change as one self-contained HTML sheet to print and fill in.

    Returns
    -------
    str
        Cautions, what to know first, brackets, wires and hold-downs with blanks for as found and
        as left, signatures, and what all of it assumes. Nothing is fetched from anywhere.
    """
    texts = {
        "name": change.scenario,
        "change": change_parts(change, display),
        "assumed": assumed_rows(
            change.assumed, [stage.stage for stage in change.stages], display.units
        ),
        "cautions": CAUTIONS,
    }
    page: str = environment().get_template("change.html").render(**cleaned(texts))
    return page


def change_parts(change: SizeChange, display: Display) -> dict[str, Any]:
    """Return one size change as texts for the template of the sheet."""
    step = inch_step(change)
    tips, basis = tips_text(change)
    return {
        "from_size": change.from_size,
        "to_size": change.to_size,
        "keep": KEEP_WORDS[change.keep],
        "speed": " → ".join(display.speed(speed) for speed in change.speed_mm_per_s),
        "rate": " → ".join(thousands(rate) for rate in change.cans_per_min),
        "tips": tips,
        "basis": basis,
        "unit_word": "mm" if display.metric else "inches",
        "other": "inches" if display.metric else "mm",
        "step": f"{step} in",
        "alerts": [
            {
                "level": alert.level,
                "stages": ", ".join(alert.stages) or "whole line",
                "what": alert.what_in(display.length),
                "do": "; ".join(alert.do_in(display.to_set)),
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
    now, new, by, by_other = move_cells(row, display, step)
    return {"now": now, "new": new, "way": row.direction, "by": by, "by_other": by_other}
