"""The size-change sheet of the study page: what to set, with room for what was found and left."""

from __future__ import annotations

from typing import Any

from packsim.report.display import Display
from packsim.size_change import BracketMove, HoldDownMove, SizeChange, StageChange, WireMove

__all__ = ["change_sheet"]

SOURCE_WORDS = {
    "window": "middle of the guide window",
    "stays": "present setting lies inside the guide window",
    "low end": "low end of an empty window: set, then watch",
    "reach": "end of the brackets' travel",
    "record": "setting on record",
}


def change_sheet(change: SizeChange, display: Display) -> dict[str, Any]:
    """Return one size change as texts for the page.

    Parameters
    ----------
    change : SizeChange
        The plan.
    display : Display
        Unit system.

    Returns
    -------
    dict
        Sizes, flow before and after, alerts, and a block per stage with its bracket rows, wire
        and hold-down texts.
    """
    return {
        "from_size": change.from_size,
        "to_size": change.to_size,
        "keep": "cans per minute" if change.keep == "rate" else "mat speed and dwell",
        "speed": " → ".join(display.speed(speed) for speed in change.speed_mm_per_s),
        "rate": " → ".join(f"{rate:,.0f}" for rate in change.cans_per_min),
        "alerts": [
            {
                "level": alert.level,
                "stages": ", ".join(alert.stages) or "whole line",
                "what": alert.say(alert.what_text, display.length),
                "do": alert.say(alert.do_text, display.length),
            }
            for alert in change.alerts
        ],
        "stages": [_stage(stage, display) for stage in change.stages],
    }


def _stage(stage: StageChange, display: Display) -> dict[str, Any]:
    after = stage.after
    shift = display.length(stage.shift_mm, signed=True).replace("-", "−")
    return {
        "name": stage.stage,
        "width": display.length(after.pack.clear_width_mm),
        "source": SOURCE_WORDS[stage.source],
        "verdict": after.tipping.verdict,
        "shift": "" if abs(stage.shift_mm) < 1e-9 else shift,
        "brackets": _brackets(stage.moves, display),
        "wires": [_wire(move, display) for move in stage.wires.moves],
        "unserved": "; ".join(stage.wires.unserved),
        "hold_down": None if stage.hold_down is None else _hold_down(stage.hold_down, display),
    }


def _brackets(moves: tuple[BracketMove, ...], display: Display) -> list[dict[str, Any]]:
    """One row per station, its two sides beside each other."""
    rows: dict[float, dict[str, Any]] = {}
    for move in moves:
        row = rows.setdefault(move.station_mm, {"station": display.length(move.station_mm)})
        row[move.side] = {
            "now": display.length(move.now_mm, unit=False),
            "new": display.length(move.new_mm, unit=False),
            "move": _words(move.direction, move.move_mm, display),
        }
    return list(rows.values())


def _wire(move: WireMove, display: Display) -> dict[str, str]:
    now = "none" if move.now_mm is None else display.length(move.now_mm, unit=False)
    words = _words(move.direction, move.move_mm, display)
    return {
        "now": now,
        "new": display.length(move.new_mm, unit=False),
        "move": words + (", idle" if move.idle else ""),
    }


def _hold_down(move: HoldDownMove, display: Display) -> dict[str, str]:
    return {
        "now": display.length(move.now_mm, unit=False),
        "new": display.length(move.new_mm, unit=False),
        "move": _words(move.direction, abs(move.new_mm - move.now_mm), display),
        "clearance": display.length(move.clearance_mm),
    }


def _words(direction: str, by_mm: float, display: Display) -> str:
    if direction in ("stay", "add"):
        return direction
    return f"{direction} {display.length(by_mm, unit=False)}"
