"""The line after a size change, with the setting that was left put on record."""

from __future__ import annotations

from dataclasses import replace

from packsim.errors import InputError
from packsim.line import KnownSetting, Scenario, Stage
from packsim.size_change.size_change import SizeChange, StageChange

__all__ = ["apply_change"]


def apply_change(scenario: Scenario, change: SizeChange) -> Scenario:
    """Return the line as it stands after a change.

    Parameters
    ----------
    scenario : Scenario
        The line the change was planned for.
    change : SizeChange
        The change.

    Returns
    -------
    Scenario
        Guides, wires, hold-downs and speed set, ``set_for`` the new size. Each stage has what it
        was set to on record for the size it was set for, so that the way back leads to the very
        same brackets. Wire heights go on record only where the new ones do not serve that size.

    Raises
    ------
    InputError
        If the change was planned for another line.
    """
    stations = [[b.station_mm for b in stage.guides.brackets] for stage in scenario.stages]
    planned = [[b.station_mm for b in stage.brackets] for stage in change.stages]
    names = [stage.name for stage in scenario.stages]
    if planned != stations or names != [stage.stage for stage in change.stages]:
        raise InputError("change", f"one for {change.scenario}", f"one for {scenario.name}")
    pairs = zip(scenario.stages, change.stages, strict=True)
    moved = tuple(_stage(stage, part, scenario.set_for, change.to_size) for stage, part in pairs)
    centres = {f"stages[{i}].centre" for i, part in enumerate(change.stages) if part.shift_mm}
    return replace(
        scenario,
        mat=replace(scenario.mat, speed_mm_per_s=change.speed_mm_per_s[1]),
        stages=moved,
        set_for=change.to_size,
        assumed=tuple(entry for entry in scenario.assumed if entry.key not in centres),
    )


def _stage(stage: Stage, part: StageChange, was_for: str, to_size: str) -> Stage:
    wires = stage.guides.wires
    if part.wires.heights_mm:
        wires = replace(wires, heights_mm=part.wires.heights_mm)
    guides = replace(stage.guides, brackets=part.brackets, wires=wires)
    hold_down = stage.hold_down_mm if part.hold_down is None else part.hold_down.new_mm
    settings = stage.settings
    if was_for != to_size:
        left = KnownSetting(
            was_for,
            stage.guides.brackets,
            None if part.wires.keeps_old else stage.guides.wires.heights_mm,
            stage.hold_down_mm,
        )
        settings = (*(s for s in settings if s.size != was_for), left)
    return replace(stage, guides=guides, hold_down_mm=hold_down, settings=settings)
