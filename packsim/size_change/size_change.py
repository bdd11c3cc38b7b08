"""A size change as data: what moves where, what to know first, and the line after it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from packsim.answers import Answer
from packsim.errors import Assumption, InputError
from packsim.findings import Finding
from packsim.line import Bracket, KnownSetting, Scenario, Stage
from packsim.setting import LineSetting
from packsim.setting.moves import BracketMove, HoldDownMove, WirePart


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
        Distance of the worst lane from its nozzle [mm].
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

    @classmethod
    def of(cls, setting: LineSetting) -> Alternative:
        """Sum up a setting of the line."""
        return cls(
            setting.lanes,
            setting.safe,
            setting.index,
            setting.offset_mm,
            setting.cans_per_min[1],
            setting.speed_mm_per_s[1],
            setting.move_mm,
        )


@dataclass(frozen=True, slots=True)
class StageChange:
    """What changes in one stage.

    Parameters
    ----------
    stage : str
        Its name.
    moves : tuple of BracketMove
        Every bracket, left and right.
    brackets : tuple of Bracket
        Where they shall stand.
    source : {"window", "stays", "low end", "reach", "record"}
        Where that setting comes from; see `packsim.setting.line_setting.SOURCES`.
    gauge : bool
        Whether no whole step lies in the window, so that it takes a gauge.
    wires : WirePart
        Its wires.
    hold_down : HoldDownMove or None
        Its hold-down mat, where there is one.
    shift_mm : float
        Move of the middle of the pass at the narrowest bracket, positive to the right [mm].
    before, after : Answer
        Every answer for the size that leaves as the stage stands, and for the one that comes as it
        shall stand.
    kicks_from : str
        Trial its kick energy was fitted to; empty where no trial was.
    """

    stage: str
    moves: tuple[BracketMove, ...]
    brackets: tuple[Bracket, ...]
    source: str
    gauge: bool
    wires: WirePart
    hold_down: HoldDownMove | None
    shift_mm: float
    before: Answer
    after: Answer
    kicks_from: str = ""


@dataclass(frozen=True, slots=True)
class SizeChange:
    """A whole size change.

    Parameters
    ----------
    scenario : str
        Name of the scenario.
    from_size, to_size : str
        Size that leaves and size that comes.
    keep : {"rate", "dwell"}
        What is kept: cans per minute, or the mat speed and with it every dwell.
    step_mm : float or None
        Step new settings are whole multiples of; None for each stage's own setting step [mm].
    mat_width_mm : float
        Mat width [mm].
    stages : tuple of StageChange
        In order along travel.
    lanes_because : str
        Why these lanes.
    alternatives : tuple of Alternative
        One lane fewer and one more.
    speed_mm_per_s, cans_per_min : tuple of float
        Mat speed [mm/s] and cans per minute [1/min], before and after.
    alerts : tuple of Finding
        What to know, most urgent first.
    assumed : tuple of Assumption
        What all of it rests on without a measurement.
    """

    scenario: str
    from_size: str
    to_size: str
    keep: str
    step_mm: float | None
    mat_width_mm: float
    stages: tuple[StageChange, ...]
    lanes_because: str
    alternatives: tuple[Alternative, ...]
    speed_mm_per_s: tuple[float, float]
    cans_per_min: tuple[float, float]
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
    planned = [[b.station_mm for b in stage.brackets] for stage in change.stages]
    names = [stage.name for stage in scenario.stages]
    if planned != stations or names != [stage.stage for stage in change.stages]:
        raise InputError("change", f"one for {change.scenario}", f"one for {scenario.name}")
    pairs = zip(scenario.stages, change.stages, strict=True)
    moved = tuple(_stage(stage, part, scenario.set_for, change.to_size) for stage, part in pairs)
    moves = [i for i, part in enumerate(change.stages) if part.shift_mm]
    centres = {f"stages[{i}].pack_centre_from_left" for i in moves}
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
