"""What can be changed while the pack runs: one table of knobs, each a pure step on the scenario."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from packsim.assumption import Assumption
from packsim.errors import InputError
from packsim.line import LAYOUTS, Bracket, Header, Scenario, Stage
from packsim.report.words.display import Display

__all__ = ["KNOBS", "Knob", "Setting", "pitched", "shift_brackets", "turned"]


@dataclass(frozen=True, slots=True)
class Setting:
    """What the viewer runs: a scenario and one of its can sizes.

    Parameters
    ----------
    scenario : Scenario
        The line as it is set.
    size : str
        Name of the can size on it.
    """

    scenario: Scenario
    size: str

    def __post_init__(self) -> None:
        self.scenario.size(self.size)


@dataclass(frozen=True, slots=True)
class Knob:
    """One thing to change.

    Parameters
    ----------
    name : str
        Name in the panel.
    key : str
        Key that picks it.
    shown : callable
        (setting, stage index, wire index) to the value as a text.
    step : callable
        (stage, steps, wire index) to a changed stage, for knobs of a stage.
    wide : bool
        True when it always acts on the whole line.
    restarts : bool
        True when the passage begins anew with it.
    covers : str
        End of the key in the record of assumptions that a hand-set value takes the place of.
    """

    name: str
    key: str
    shown: Callable[[Setting, int, int], str]
    step: Callable[[Stage, int, int], Stage]
    wide: bool = False
    restarts: bool = False
    covers: str = ""


_SHOW = Display("metric")

BY_HAND = "set by hand in the viewer; nobody has measured it"

STEP_MM = 0.5
"""Guides and wires move by half a millimetre, the step a careful fitter sets."""

SPEED_STEP_MM_PER_S = 100.0 / 60.0
"""0.1 m/min."""


def turned(
    setting: Setting, knob: Knob, steps: int, stages: tuple[int, ...], wire: int = 0
) -> Setting:
    """Return a setting with one knob turned.

    Parameters
    ----------
    setting : Setting
        As it is.
    knob : Knob
        What to change.
    steps : int
        How many steps, down when negative.
    stages : tuple of int
        Stages it acts on.
    wire : int
        Which wire, lowest 0, for the wire height.

    Returns
    -------
    Setting
        The changed copy; a value set by hand replaces its entry in the record of assumptions.

    Raises
    ------
    InputError
        If the value would leave its range.
    """
    scenario = setting.scenario
    if knob.name == "can size":
        names = [can.name for can in scenario.sizes]
        return replace(setting, size=names[(names.index(setting.size) + steps) % len(names)])
    if knob.name == "mat speed":
        speed = scenario.mat.speed_mm_per_s + steps * SPEED_STEP_MM_PER_S
        return replace(
            setting,
            scenario=replace(scenario, mat=replace(scenario.mat, speed_mm_per_s=round(speed, 9))),
        )
    changed = list(scenario.stages)
    stages = tuple(range(len(changed))) if knob.wide else stages
    for i in stages:
        changed[i] = knob.step(changed[i], steps, wire)
        _check_on_mat(scenario, changed[i])
    scenario = replace(
        scenario,
        stages=tuple(changed),
        assumed=_recorded(scenario.assumed, tuple(changed), stages, knob),
    )
    return replace(setting, scenario=scenario)


def shift_brackets(stage: Stage, left_mm: float, right_mm: float) -> Stage:
    """Return a stage with every left and right face moved to the right by some lengths [mm]."""
    moved = tuple(
        Bracket(b.station_mm, b.left_mm + left_mm, b.right_mm + right_mm)
        for b in stage.guides.brackets
    )
    return replace(stage, guides=replace(stage.guides, brackets=moved))


def pitched(header: Header, pitch_mm: float) -> Header:
    """Return a header with another nozzle pitch [mm]; its middle stays where it is."""
    first = header.first_mm - (pitch_mm - header.pitch_mm) * (header.count - 1) / 2.0
    return replace(header, pitch_mm=pitch_mm, first_mm=round(first, 9))


def _check_on_mat(scenario: Scenario, stage: Stage) -> None:
    width = scenario.mat.width_mm
    for bracket in stage.guides.brackets:
        if bracket.left_mm < 0.0 or bracket.right_mm > width:
            reach = f"{bracket.left_mm:.1f} to {bracket.right_mm:.1f} mm"
            raise InputError("guides", reach, f"faces on the mat, 0 to {width:g} mm")


def _recorded(
    assumed: tuple[Assumption, ...], changed: tuple[Stage, ...], stages: tuple[int, ...], knob: Knob
) -> tuple[Assumption, ...]:
    """Drop what a hand-set value replaces; a kick energy stays assumed, with its new value."""
    if not knob.covers:
        return assumed
    covered = {f"stages[{i}]{knob.covers}": changed[i] for i in stages}
    kept = []
    for entry in assumed:
        stage = covered.get(entry.key)
        if stage is None:
            kept.append(entry)
        elif knob.name == "kick energy":
            kept.append(replace(entry, value=f"{stage.kicks.energy_mJ:g} mJ", why=BY_HAND))
    return tuple(kept)


def _width(stage: Stage, steps: int, _wire: int) -> Stage:
    half = steps * STEP_MM / 2.0
    return shift_brackets(stage, -half, half)


def _shift(stage: Stage, steps: int, _wire: int) -> Stage:
    return shift_brackets(stage, steps * STEP_MM, steps * STEP_MM)


def _wire_height(stage: Stage, steps: int, wire: int) -> Stage:
    wires = stage.guides.wires
    heights = list(wires.heights_mm)
    heights[min(wire, len(heights) - 1)] += steps * STEP_MM
    return replace(
        stage, guides=replace(stage.guides, wires=replace(wires, heights_mm=tuple(heights)))
    )


def _layout(stage: Stage, steps: int, _wire: int) -> Stage:
    at = (LAYOUTS.index(stage.layout) + steps) % len(LAYOUTS)
    return replace(stage, layout=LAYOUTS[at])


def _fill(stage: Stage, steps: int, _wire: int) -> Stage:
    return replace(stage, fill=round(min(1.0, stage.fill + 0.005 * steps), 9))


def _kick(stage: Stage, steps: int, _wire: int) -> Stage:
    kicks = stage.kicks
    energy = max(kicks.energy_mJ, 0.001) * 1.25**steps
    # three figures, so that a saved file reads like one written by hand
    return replace(stage, kicks=replace(kicks, energy_mJ=float(f"{min(energy, 1e5):.3g}")))


def _pitch(stage: Stage, steps: int, _wire: int) -> Stage:
    headers = tuple(pitched(h, round(h.pitch_mm + 0.1 * steps, 9)) for h in stage.headers)
    return replace(stage, headers=headers)


def _size(stage: Stage, _steps: int, _wire: int) -> Stage:
    return stage


def _show_width(setting: Setting, stage: int, _wire: int) -> str:
    return _SHOW.length(setting.scenario.stages[stage].guides.narrowest_mm)


def _show_shift(setting: Setting, stage: int, _wire: int) -> str:
    middle = setting.scenario.stages[stage].guides.centre_mm
    off = middle - setting.scenario.mat.width_mm / 2.0
    side = " right" if off > 0.05 else " left" if off < -0.05 else ""
    return _SHOW.length(abs(off)) + side


def _show_wire(setting: Setting, stage: int, wire: int) -> str:
    heights = setting.scenario.stages[stage].guides.wires.heights_mm
    wire = min(wire, len(heights) - 1)
    return f"no. {wire + 1}: {_SHOW.length(heights[wire])}"


def _show_pitch(setting: Setting, stage: int, _wire: int) -> str:
    headers = setting.scenario.stages[stage].headers
    return _SHOW.length(headers[0].pitch_mm) if headers else "no nozzles"


def _show_fill(setting: Setting, stage: int, _wire: int) -> str:
    return f"{setting.scenario.stages[stage].fill:.1%}"


def _show_kick(setting: Setting, stage: int, _wire: int) -> str:
    return f"{setting.scenario.stages[stage].kicks.energy_mJ:.3g} mJ"


KNOBS: tuple[Knob, ...] = (
    Knob("clear width", "w", _show_width, _width),
    Knob("shift", "s", _show_shift, _shift),
    Knob("wire height", "h", _show_wire, _wire_height),
    Knob("can size", "c", lambda s, _i, _w: s.size, _size, wide=True, restarts=True),
    Knob(
        "layout",
        "l",
        lambda s, i, _w: s.scenario.stages[i].layout,
        _layout,
        wide=True,
        restarts=True,
    ),
    Knob("fill", "f", _show_fill, _fill, wide=True, covers=".fill"),
    Knob("kick energy", "k", _show_kick, _kick, covers=".kicks.energy"),
    Knob(
        "mat speed",
        "m",
        lambda s, _i, _w: _SHOW.speed(s.scenario.mat.speed_mm_per_s),
        _size,
        wide=True,
    ),
    Knob("nozzle pitch", "n", _show_pitch, _pitch),
)
"""Every knob, in the order of the panel."""
