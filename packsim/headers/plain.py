"""The answers about headers as plain data, ready for JSON: schema 1."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from packsim.assumption import Assumption
from packsim.headers.arrangement import Arrangement
from packsim.headers.check import HeaderCheck, PlaceDose, SideCheck
from packsim.headers.pitch_advice import Candidate, PitchAdvice, SizeLines
from packsim.headers.shift import LineShift, StageShift
from packsim.line import Scenario
from packsim.nozzles.alignment import Misalignment
from packsim.nozzles.shift import BestShift
from packsim.plain import number

__all__ = ["check_json", "pitch_json", "shift_json"]


def check_json(scenario: Scenario, checks: Sequence[HeaderCheck]) -> dict[str, Any]:
    """Return the check of headers as nested dicts and lists.

    Parameters
    ----------
    scenario : Scenario
        The case.
    checks : sequence of HeaderCheck
        Its checks.

    Returns
    -------
    dict
        Lengths in mm, doses in mL per can; lanes are counted from 1 at the left guide. None stands
        for a number that does not exist.
    """
    return _head(scenario, "check") | {"answers": [_check(check) for check in checks]}


def shift_json(scenario: Scenario, lines: Sequence[LineShift]) -> dict[str, Any]:
    """Return the best shifts as nested dicts and lists; positive is to the right.

    Parameters
    ----------
    scenario : Scenario
        The case, its guides where the shifts start.
    lines : sequence of LineShift
        One for each size.

    Returns
    -------
    dict
        Lengths in mm; a answer's sides hold the keys the study gives for nozzles.
    """
    answers = [_shift(stage) for line in lines for stage in line.stages]
    whole = [
        {
            "size": line.size,
            "stages": [stage.at.stage.name for stage in line.stages],
            "room_mm": list(line.room_mm),
            "worst_misalignment_mm": number(line.now_mm[0]),
            "rms_misalignment_mm": number(line.now_mm[1]),
            **_best(line.joint),
        }
        for line in lines
    ]
    return _head(scenario, "shift") | {"answers": answers, "line": whole}


def pitch_json(scenario: Scenario, advice: Sequence[PitchAdvice]) -> dict[str, Any]:
    """Return the advice on pitches as nested dicts and lists.

    Parameters
    ----------
    scenario : Scenario
        The case.
    advice : sequence of PitchAdvice
        One for each set of can lines.

    Returns
    -------
    dict
        Lengths in mm.
    """
    return _head(scenario, "pitch") | {"groups": [_advice(one) for one in advice]}


def _head(scenario: Scenario, what: str) -> dict[str, Any]:
    return {"schema": 1, "what": f"nozzles {what}", "scenario": scenario.name}


def _numbers(values: Iterable[float]) -> list[float | None]:
    return [number(float(value)) for value in values]


def _lanes(lanes: Iterable[int]) -> list[int]:
    return [lane + 1 for lane in lanes]


def _assumed(assumed: Iterable[Assumption]) -> list[dict[str, str]]:
    return [{"key": a.key, "value": a.value, "why": a.why} for a in assumed]


def _at(at: Arrangement) -> dict[str, Any]:
    return {
        "stage": at.stage.name,
        "size": at.can.name,
        "state": at.pack.state,
        "reason": at.pack.reason,
        "clear_width_mm": at.pack.clear_width_mm,
        "slack_mm": at.pack.slack_mm,
        "lines_mm": _numbers(at.lines_mm),
        "headers_in_the_cans": len(at.blocked),
    }


def _misalignment(found: Misalignment) -> dict[str, Any]:
    return {
        "worst_misalignment_mm": found.worst_mm,
        "rms_misalignment_mm": found.rms_mm,
        "worst_lane": found.worst_lane + 1,
        "by_lane_mm": _numbers(found.per_lane_mm),
    }


def _check(check: HeaderCheck) -> dict[str, Any]:
    exposed = check.exposed_share
    return _at(check.at) | {
        "sides": [_side(side) for side in check.sides],
        "doses": [_dose(dose) for dose in check.doses],
        "exposed_share_mean": number(float(exposed.mean())) if len(exposed) else None,
        "exposed_share_least": number(float(exposed.min())) if len(exposed) else None,
        "assumed": _assumed(check.assumed),
    }


def _side(side: SideCheck) -> dict[str, Any]:
    return {
        "side": side.side,
        "headers": len(side.headers),
        "nozzles_mm": _numbers(side.nozzles_mm),
        **_misalignment(side.now),
        "coverage": [
            {
                "stand_off_mm": c.stand_off_mm,
                "width_mm": c.width_mm,
                "overlap_mm": c.overlap_mm,
                "layers": c.layers,
                "dry_below_mm": c.dry_below_mm,
            }
            for c in side.coverage
        ],
    }


def _dose(dose: PlaceDose) -> dict[str, Any]:
    even = dose.even
    return {
        "medium": dose.medium,
        "place": dose.place,
        "by_lane_mL": _numbers(dose.by_lane_mL),
        "mean_mL": even.mean,
        "uniformity": number(even.coefficient),
        "least_share": number(even.least_share),
        "most_share": number(even.most_share),
        "lanes_under": _lanes(even.under),
        "lanes_over": _lanes(even.over),
    }


def _best(best: BestShift | None) -> dict[str, Any]:
    return {
        "best_shift_mm": None if best is None else best.shift_for_worst_mm,
        "worst_after_shift_mm": None if best is None else best.worst_mm,
        "rms_shift_mm": None if best is None else best.shift_for_rms_mm,
        "rms_after_shift_mm": None if best is None else best.rms_mm,
        "limited_by_room": None if best is None else best.limited_by_room,
    }


def _shift(stage: StageShift) -> dict[str, Any]:
    return _at(stage.at) | {
        "room_mm": list(stage.at.room_mm),
        "worst_misalignment_mm": number(stage.joint_now_mm[0]),
        "rms_misalignment_mm": number(stage.joint_now_mm[1]),
        **_best(stage.joint),
        "sides": [
            {"side": side.side, **_misalignment(side.now), **_best(side.best)}
            for side in stage.sides
        ],
        "error_mm": stage.error_mm,
        "worst_with_error_mm": number(stage.worst_with_error_mm),
        "cost_per_mm": _numbers(stage.cost_per_mm),
        "hold_margin_before": number(stage.hold_before),
        "hold_margin_after": number(stage.hold_after),
        "other_lane_counts": [
            {"lanes": case.lanes, "clear_width_mm": case.clear_width_mm, **_best(case.best)}
            for case in stage.lanes
        ],
        "assumed": _assumed(stage.assumed),
    }


def _advice(advice: PitchAdvice) -> dict[str, Any]:
    best, row = advice.best, advice.drilling
    return {
        "stages": list(advice.stages),
        "range_mm": [advice.low_mm, advice.high_mm],
        "sizes": [_size(*one) for one in zip(advice.sizes, advice.weights, strict=True)],
        "best": {
            "pitch_mm": best.pitch_mm,
            "weighted_worst_mm": best.worst_mm,
            "worst_by_size_mm": _numbers(best.per_size_worst_mm),
            "rms_by_size_mm": _numbers(best.per_size_rms_mm),
            "band_mm": list(best.band_mm),
            "allowance_mm": advice.allowance_mm,
            "certified_mm": best.certified_mm,
        },
        "candidates": [_candidate(one) for one in advice.candidates],
        "drilling": {
            "pitch_mm": row.pitch_mm,
            "tolerance_mm": row.tolerance_mm,
            "positions_mm": _numbers(row.positions_mm),
            "shift_by_size_mm": _numbers(row.shifts_mm),
            "worst_by_size_mm": _numbers(row.worst_mm),
            "worst_with_tolerance_by_size_mm": _numbers(row.worst_with_tolerance_mm),
        },
    }


def _size(size: SizeLines, weight: float) -> dict[str, Any]:
    return {
        "size": size.can.name,
        "weight": weight,
        "lanes": size.lanes,
        "line_pitch_mm": size.line_pitch_mm,
        "best_alone": {"pitch_mm": size.alone.pitch_mm, "worst_mm": size.alone.worst_mm},
        "exact": [
            {"ratio": f"{e.lines}/{e.pitches}", "pitch_mm": e.pitch_mm, "worst_mm": e.worst_mm}
            for e in size.exact
        ],
    }


def _candidate(one: Candidate) -> dict[str, Any]:
    return {
        "what": one.what,
        "size": one.size or None,
        "pitch_mm": one.pitch_mm,
        "nozzles": one.count,
        "worst_by_size_mm": _numbers(one.worst_mm),
        "rms_by_size_mm": _numbers(one.rms_mm),
        "least_uniformity_by_size": _numbers(one.even),
    }
