"""A size change as plain data, ready for JSON: schema 1."""

from __future__ import annotations

from typing import Any

from packsim.findings import Finding
from packsim.plain import number
from packsim.size_change.moves import BracketMove
from packsim.size_change.size_change import SizeChange, StageChange

__all__ = ["change_json"]


def change_json(change: SizeChange) -> dict[str, Any]:
    """Return a size change as nested dicts and lists of plain values.

    Parameters
    ----------
    change : SizeChange
        The change.

    Returns
    -------
    dict
        Keys ``schema`` (1), ``scenario``, ``from``, ``to``, ``keep``, ``mat``, ``cans_per_minute``,
        ``stages``, ``alerts`` and ``assumed``. Lengths in mm, places of faces from the mat edge of
        their own side, times in s. None stands for what does not exist.
    """
    speed, rate = change.speed_mm_per_s, change.cans_per_min
    return {
        "schema": 1,
        "scenario": change.scenario,
        "from": change.from_size,
        "to": change.to_size,
        "keep": change.keep,
        "step_mm": change.step_mm,
        "mat": {
            "width_mm": change.mat_width_mm,
            "speed_now_mm_per_s": speed[0],
            "speed_new_mm_per_s": speed[1],
        },
        "cans_per_minute": {"now": rate[0], "new": rate[1]},
        "stages": [_stage(stage) for stage in change.stages],
        "alerts": [_alert(one) for one in change.alerts],
        "assumed": [{"key": a.key, "value": a.value, "why": a.why} for a in change.assumed],
    }


def _stage(stage: StageChange) -> dict[str, Any]:
    before, after, window = stage.before, stage.after, stage.after.window
    return {
        "stage": stage.stage,
        "brackets": [_bracket(move) for move in stage.moves],
        "setting_from": stage.source,
        "clear_width_mm": {
            "now": before.pack.clear_width_mm,
            "new": after.pack.clear_width_mm,
        },
        "shift_mm": stage.shift_mm,
        "lanes": {"now": before.pack.lanes, "new": after.pack.lanes},
        "window": {
            "low_mm": None if window.empty else window.low_mm,
            "high_mm": None if window.empty else number(window.high_mm),
            "empty_because": window.empty_because or None,
        },
        "wires": {
            "moves": [
                {
                    "now_mm": move.now_mm,
                    "new_mm": move.new_mm,
                    "move_mm": move.move_mm,
                    "direction": move.direction,
                    "serves_no_size": move.idle,
                }
                for move in stage.wires.moves
            ],
            "why": stage.wires.why,
            "not_served": list(stage.wires.unserved),
        },
        "hold_down": _hold_down(stage),
        "worst_nozzle_miss_mm": {
            "now": None if before.alignment is None else before.alignment.now.worst_mm,
            "new": None if after.alignment is None else after.alignment.now.worst_mm,
        },
        "dwell_s": {"now": before.dwell_s, "new": after.dwell_s},
        "tips_per_million": {
            "now": before.chance.per_million,
            "new": after.chance.per_million,
            "gathered_now": before.chance_gathered.per_million,
            "gathered_new": after.chance_gathered.per_million,
            "kicks_from": stage.kicks_from or None,
        },
        "verdict": {"now": before.tipping.verdict, "new": after.tipping.verdict},
    }


def _bracket(move: BracketMove) -> dict[str, Any]:
    return {
        "station_mm": move.station_mm,
        "side": move.side,
        "now_mm": move.now_mm,
        "new_mm": move.new_mm,
        "move_mm": move.move_mm,
        "direction": move.direction,
    }


def _hold_down(stage: StageChange) -> dict[str, Any] | None:
    move, found = stage.hold_down, stage.after.hold_down
    if move is None or found is None:
        return None
    return {
        "now_mm": move.now_mm,
        "new_mm": move.new_mm,
        "direction": move.direction,
        "clearance_mm": move.clearance_mm,
        "limit_mm": found.limit_mm,
        "state": found.state,
        "why": move.why,
    }


def _alert(one: Finding) -> dict[str, Any]:
    return {
        "level": one.level,
        "stages": list(one.stages),
        "what": one.what,
        "do": one.do,
    }
