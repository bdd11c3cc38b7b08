"""What every command says of a line, by stage, size and quantity, to be laid side by side.

Read from the JSON each command writes, made by the functions the commands call.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from packsim.answers.quantities import QUANTITIES
from packsim.compare import compare_lines
from packsim.headers.check import check_headers
from packsim.headers.shift import find_shifts
from packsim.line import Scenario
from packsim.report.files.as_json import as_json
from packsim.scenario.values.ranges import settings
from packsim.setting import recommend
from packsim.size_change import plan_change
from packsim.study import study_line
from packsim.sweep import sweep
from packsim.trial.plan import plan_trial
from packsim.why import reasons

KEYS: Final = frozenset(one.key for one in QUANTITIES)

OFFSETS: Final = {"nozzle_offset_mm", "nozzle_offset_rms_mm"}
"""What a side of the mat is told for as set; the best shift is one for both."""

Place = tuple[str, str]
"""A stage and a size."""


class Voices:
    """Values by place and quantity, each with the commands that gave it."""

    def __init__(self) -> None:
        self.heard: dict[tuple[Place, str], dict[str, Any]] = {}

    def hear(self, who: str, place: Place, values: Mapping[str, Any]) -> None:
        """Note what a command says of a place; keys that are no quantity are left out."""
        for key in KEYS & values.keys():
            self.heard.setdefault((place, key), {})[who] = values[key]

    def contradictions(self) -> list[str]:
        """Return every quantity of which two commands say different things, in words."""
        return [
            f"{' / '.join(place)}: {key}: {said}"
            for (place, key), said in self.heard.items()
            if not all(same(next(iter(said.values())), value) for value in said.values())
        ]

    @property
    def laid_side_by_side(self) -> int:
        """How many values were laid beside another command's."""
        return sum(len(said) - 1 for said in self.heard.values())


def same(one: Any, other: Any) -> bool:
    """Whether two values of JSON agree to rounding."""
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        return math.isclose(one, other, rel_tol=1e-6, abs_tol=1e-6)
    return bool(one == other)


def widths_mm(scenario: Scenario) -> list[float]:
    """Clear width of every stage [mm]."""
    return [stage.guides.narrowest_mm for stage in scenario.stages]


def hear_study(voices: Voices, scenario: Scenario) -> None:
    for answer in as_json("study", scenario, study_line(scenario))["answers"]:
        voices.hear("study", (answer["stage"], answer["size"]), answer)


def hear_why(voices: Voices, scenario: Scenario) -> None:
    for stage in scenario.stages:
        for can in scenario.sizes:
            told = as_json("why", scenario, reasons(scenario, stage.name, can.name))
            voices.hear("why", (stage.name, can.name), told["answer"])
            spray = told["spray"] or {}
            voices.hear("why, sprays", (stage.name, can.name), spray)


def hear_sweep(voices: Voices, scenario: Scenario) -> None:
    """One value each: the width as set, and the shift of nothing."""
    for stage in scenario.stages:
        for can in scenario.sizes:
            now = stage.guides.narrowest_mm
            for knob, value in (("clear-width", now), ("shift", 0.0)):
                if knob == "clear-width" and stage.guides.shape == "straight" and _uneven(stage):
                    continue  # a sweep sets every bracket alike
                found = sweep(scenario, knob, [value], stage.name, can.name)
                row = as_json("sweep", scenario, found)["rows"][0]
                voices.hear(f"sweep over {knob}", (stage.name, can.name), row)


def _uneven(stage: Any) -> bool:
    return len({bracket.clear_width_mm for bracket in stage.guides.brackets}) > 1


def hear_change(voices: Voices, scenario: Scenario) -> None:
    """What a change from each size says of the line as found."""
    for can in scenario.sizes:
        change = plan_change(scenario, can.name, scenario.set_for)
        for stage in as_json("change", scenario, change)["stages"]:
            voices.hear("change", (stage["stage"], can.name), stage["before"])


def hear_nozzles(voices: Voices, scenario: Scenario) -> None:
    """Study tells the worse side of the mat, these commands both."""
    if not any(stage.headers for stage in scenario.stages):
        return
    for check in as_json("nozzles check", scenario, answers=check_headers(scenario))["answers"]:
        place = check["stage"], check["size"]
        voices.hear("nozzles check", place, check)
        voices.hear("nozzles check, sides", place, worse_side(check["sides"]))
    for line in as_json("nozzles shift", scenario, answers=find_shifts(scenario))["answers"]:
        for stage in line["stages"]:
            place = stage["stage"], stage["size"]
            told = {k: v for k, v in stage.items() if k != "nozzle_offset_rms_mm"}
            if stage["hold_margin"] is None:  # the cans pass no header
                del told["hold_margin"]
            voices.hear("nozzles shift", place, told | (stage["best"] or {}))
            side = worse_side(stage["sides"])
            offsets = {key: side[key] for key in OFFSETS & side.keys()}
            voices.hear("nozzles shift, sides", place, offsets)


def worse_side(sides: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the side of the mat whose worst lane is farther off its nozzle."""
    return max(sides, key=lambda side: side["nozzle_offset_mm"], default={})


def hear_compare(voices: Voices, scenario: Scenario) -> None:
    """What a line says beside itself."""
    told = as_json("compare", scenario, compare_lines({"a": scenario, "b": scenario}))
    for size in told["sizes"]:
        for stage in size["stages"]:
            for answer in stage["answers"]:
                voices.hear("compare", (stage["stage"], size["size"]), answer)


def hear_plan(voices: Voices, scenario: Scenario) -> None:
    """Hear the rate and the widths found that a trial is planned from."""
    for can in scenario.sizes:
        plan = as_json("trial plan", scenario, plan_trial(scenario, can.name))
        rows = zip(plan["stages"], plan["settings"][0]["widths_mm"], strict=True)
        for stage, width in rows:
            voices.hear("trial plan", (stage["stage"], can.name), {"clear_width_mm": width})
        first = (scenario.stages[0].name, can.name)
        voices.hear("trial plan", first, {"cans_per_min": plan["cans_per_min"]})


def as_set(scenario: Scenario, size: str) -> Voices:
    """What commands say of a line as it is recommended to be set for a size."""
    voices = Voices()
    setting = recommend(scenario, size)
    change = as_json("change", scenario, plan_change(scenario, scenario.set_for, size))
    study = as_json("study", setting.line, study_line(setting.line, sizes=[size]))
    guides = widths_mm(settings(scenario, size, ("window",))["window"])
    for i, part in enumerate(setting.stages):
        place = part.stage.name, size
        voices.hear("change", place, change["stages"][i]["after"])
        voices.hear("study of the line so set", place, study["answers"][i])
        voices.hear("--guides window", place, {"clear_width_mm": guides[i]})
        told: dict[str, Any] = {"clear_width_mm": part.clear_width_mm, "lanes": part.judged_lanes}
        if part.judged_lanes == part.lanes:
            low, high = part.window_mm or (None, None)
            told |= {
                "tip_index": part.index if math.isfinite(part.index) else None,
                "window_low_mm": low,
                "window_high_mm": high,
                "nozzle_offset_mm": part.offset_mm if math.isfinite(part.offset_mm) else None,
            }
        voices.hear("recommended setting", place, told)
    return voices


def hear_plan_as_set(voices: Voices, scenario: Scenario, size: str) -> None:
    """Hear the windows of a trial plan, and its setting that is the recommended one."""
    plan = as_json("trial plan", scenario, plan_trial(scenario, size))
    best = next((s for s in plan["settings"] if s["why"].startswith("recommended")), None)
    for i, stage in enumerate(plan["stages"]):
        low, high = stage["window_mm"] or (None, None)
        told = {"window_low_mm": low, "window_high_mm": high}
        if best is not None:
            told["clear_width_mm"] = best["widths_mm"][i]
        voices.hear("trial plan", (stage["stage"], size), told)
