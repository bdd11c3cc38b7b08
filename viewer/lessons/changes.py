"""What a scene of a lesson changes on the line."""

from dataclasses import replace

from packsim.line import Stage
from packsim.line.knobs import knob, with_kick_energy
from packsim.scenario.lesson_tables import ChangesRow
from packsim.width.lane_rule import packs_at
from viewer.line.loaded import LoadedLine

_KNOBS = {
    "clear_width": knob("clear-width"),
    "shift": knob("shift"),
    "pack_fill": knob("fill"),
    "nozzle_pitch": knob("nozzle-pitch"),
}


def changed(loaded: LoadedLine, changes: ChangesRow, stage: int) -> LoadedLine:
    """Return a line with a scene's changes; what is None in them stays.

    Raises `InputError` if the line cannot be so.
    """
    scenario = loaded.scenario
    size = changes.size or loaded.size
    diameter = scenario.size(size).diameter_mm
    which = [stage] if changes.only_stage else range(len(scenario.stages))
    stages = list(scenario.stages)
    for i in which:
        stages[i] = _stage(stages[i], changes, diameter)
    mat = scenario.mat
    if changes.mat_speed is not None:
        mat = replace(mat, speed_mm_per_s=changes.mat_speed)
    return LoadedLine(replace(scenario, stages=tuple(stages), mat=mat), size)


def _stage(stage: Stage, changes: ChangesRow, diameter: float) -> Stage:
    stage = replace(stage, layout=changes.rows or stage.layout)
    for key, each in _KNOBS.items():
        value = getattr(changes, key)
        if value is not None:
            stage = each.turn(stage, value)
    if changes.slack is not None:
        packs = packs_at(stage.guides.narrowest_mm, diameter, stage.layout, stage.fill)
        stage = stage.with_clear_width(packs.judged.pack_width_mm + changes.slack)
    if changes.wire_heights is not None:
        wires = replace(stage.guides.wires, heights_mm=tuple(changes.wire_heights))
        stage = replace(stage, guides=replace(stage.guides, wires=wires))
    if changes.kick_energy is not None:
        stage = with_kick_energy(stage, changes.kick_energy)
    return stage
