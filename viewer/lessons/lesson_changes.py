"""What a scene of a lesson changes on the line: quantities with units, to a setting."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from packsim.errors import InputError
from packsim.line import LAYOUTS, Stage
from packsim.scenario import kinds
from packsim.scenario.quantities import Kind, Refused, read_quantity
from packsim.width.lane_choice import lanes_for
from viewer.lessons.tables import known, typed
from viewer.session.adjust import Setting, pitched, shift_brackets

__all__ = ["changed"]

_CHANGES: dict[str, Kind] = {
    "clear_width": kinds.LENGTH,
    "slack": kinds.GAP,
    "shift": kinds.PLACE,
    "fill": kinds.FILL,
    "kick_energy": kinds.ENERGY,
    "mat_speed": kinds.SPEED,
    "nozzle_pitch": kinds.LENGTH,
}


def changed(setting: Setting, changes: dict[str, Any], stage: int) -> Setting:
    """Return a setting with a scene's changes.

    Parameters
    ----------
    setting : Setting
        As in the scenario file.
    changes : dict
        ``clear_width`` or ``slack``, ``shift``, ``wire_heights``, ``layout``, ``fill``,
        ``kick_energy``, ``nozzle_pitch`` for all stages, or the chosen one with
        ``only_stage = true``; ``mat_speed`` and ``size``.
    stage : int
        The scene's stage.

    Returns
    -------
    Setting
        A copy.

    Raises
    ------
    InputError
        If a key is unknown or a value refused.
    """
    known("", changes, {*_CHANGES, "wire_heights", "layout", "size", "only_stage"})
    numbers = {key: _quantity(key, changes[key]) for key in _CHANGES if key in changes}
    scenario = setting.scenario
    size = typed(changes, "size", str, setting.size)
    diameter = scenario.size(size).diameter_mm
    which = [stage] if changes.get("only_stage") else range(len(scenario.stages))
    stages = list(scenario.stages)
    for i in which:
        stages[i] = _stage(stages[i], changes, numbers, diameter)
    mat = scenario.mat
    if "mat_speed" in numbers:
        mat = replace(mat, speed_mm_per_s=numbers["mat_speed"])
    return Setting(replace(scenario, stages=tuple(stages), mat=mat), size)


def _stage(
    stage: Stage, changes: dict[str, Any], numbers: dict[str, float], diameter: float
) -> Stage:
    if "layout" in changes:
        if changes["layout"] not in LAYOUTS:
            raise InputError("layout", repr(changes["layout"]), "one of " + ", ".join(LAYOUTS))
        stage = replace(stage, layout=changes["layout"])
    if "clear_width" in numbers:
        stage = stage.with_clear_width(numbers["clear_width"])
    if "slack" in numbers:
        meant = lanes_for(stage.guides.narrowest_mm, diameter, stage.layout)
        stage = stage.with_clear_width(meant.pack_width_mm + numbers["slack"])
    if "shift" in numbers:
        stage = shift_brackets(stage, numbers["shift"], numbers["shift"])
    if "wire_heights" in changes:
        heights = tuple(_quantity("wire_heights", h, kinds.LENGTH) for h in changes["wire_heights"])
        wires = replace(stage.guides.wires, heights_mm=heights)
        stage = replace(stage, guides=replace(stage.guides, wires=wires))
    if "fill" in numbers:
        stage = replace(stage, fill=numbers["fill"])
    if "kick_energy" in numbers:
        stage = replace(stage, kicks=replace(stage.kicks, energy_mJ=numbers["kick_energy"]))
    if "nozzle_pitch" in numbers:
        pitch = numbers["nozzle_pitch"]
        stage = replace(stage, headers=tuple(pitched(header, pitch) for header in stage.headers))
    return stage


def _quantity(key: str, raw: Any, kind: Kind | None = None) -> float:
    try:
        return read_quantity(raw, kind or _CHANGES[key])
    except Refused as problem:
        raise InputError(key, repr(raw), str(problem)) from None
