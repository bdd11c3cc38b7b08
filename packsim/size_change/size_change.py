"""A size change as data: what moves where, what to know first, and the line after it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from packsim.answers import Answer
from packsim.errors import Assumption, InputError
from packsim.findings import Finding
from packsim.line import KnownSetting, Scenario, Stage
from packsim.setting import LineSetting, StageSetting
from packsim.setting.moves import BracketMove


@dataclass(frozen=True, slots=True)
class StageChange:
    """What changes in one stage.

    Parameters
    ----------
    found : Stage
        The stage as it stands.
    setting : StageSetting
        What it shall be set to.
    moves : tuple of BracketMove
        Every bracket, left and right.
    before, after : Answer
        Every answer for the size that leaves as the stage stands, and for the one that comes as it
        shall stand.
    """

    found: Stage
    setting: StageSetting
    moves: tuple[BracketMove, ...]
    before: Answer
    after: Answer


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another lane count for the line, and what it costs.

    Parameters
    ----------
    lanes : int
        The lanes.
    safe : bool
        Whether every stage is safe with them.
    tip_index : float
        Largest of any stage, loosest case [-].
    nozzle_offset_mm : float
        Distance of the worst lane from its nozzle; nan without nozzles [mm].
    cans_per_min, speed_mm_per_s : float
        Cans per minute [1/min] and mat speed [mm/s].
    move_mm : float
        Farthest any guide face moves [mm].
    """

    lanes: int
    safe: bool
    tip_index: float
    nozzle_offset_mm: float
    cans_per_min: float
    speed_mm_per_s: float
    move_mm: float


@dataclass(frozen=True, slots=True)
class SizeChange:
    """A whole size change.

    Parameters
    ----------
    setting : LineSetting
        What the line shall be set to.
    stages : tuple of StageChange
        In order along travel.
    alternatives : tuple of Alternative
        One lane fewer and one more.
    alerts : tuple of Finding
        What to know, most urgent first.
    assumed : tuple of Assumption
        What all of it rests on without a measurement.
    """

    setting: LineSetting
    stages: tuple[StageChange, ...]
    alternatives: tuple[Alternative, ...]
    alerts: tuple[Finding, ...]
    assumed: tuple[Assumption, ...]

    @property
    def moves(self) -> tuple[BracketMove, ...]:
        """Every bracket move of the line."""
        return tuple(move for stage in self.stages for move in stage.moves)


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
    planned = [[b.station_mm for b in part.setting.brackets] for part in change.stages]
    names = [stage.name for stage in scenario.stages]
    if planned != stations or names != [part.found.name for part in change.stages]:
        planned_for = change.setting.scenario.name
        raise InputError("change", f"one for {planned_for}", f"one for {scenario.name}")
    pairs = list(zip(scenario.stages, change.setting.stages, strict=True))
    to_size = change.setting.size
    centres = {f"stages[{i}].pack_centre_from_left" for i, (_, s) in enumerate(pairs) if s.shift_mm}
    return replace(
        scenario,
        mat=change.setting.line.mat,
        stages=tuple(_stage(stage, part, scenario.set_for, to_size) for stage, part in pairs),
        set_for=to_size,
        assumed=tuple(entry for entry in scenario.assumed if entry.key not in centres),
    )


def _stage(stage: Stage, part: StageSetting, was_for: str, to_size: str) -> Stage:
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
