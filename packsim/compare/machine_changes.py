"""What a crew can do against tips: turn what is there, move it, or buy something; one at a time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from packsim.answers import answer_stage
from packsim.answers.answer_settings import answer_settings
from packsim.can import Can
from packsim.line import Scenario, Stage
from packsim.line.guides import Reach
from packsim.line.input_range import VERBS
from packsim.setting import recommend
from packsim.setting.moves import hold_down_for
from packsim.tipping.safe_slack import wire_limit_mm

EFFORTS: Final = ("none", "turn", "move", "buy")
"""How much work, least first: nothing; turning what has a thread or a valve; moving what is bolted;
buying what is not there."""

LESS_PRESSURE: Final = 0.8
"""What is left of the pressure of every header where less is tried [-]."""

_FEWER_GAPS: Final = 2.0  # half of what the infeed leaves open
_MOST_STEPS: Final = 10_000  # widths looked at
_WIRE_MM: Final = 2.5  # heights at which one more wire is tried


@dataclass(frozen=True, slots=True)
class MachineChange:
    """One thing to do to a stage.

    Parameters
    ----------
    name : str
        What it is called.
    effort : {"turn", "move", "buy"}
        See `EFFORTS`.
    done : callable
        Returns the stage so changed, from the line, the stage and the size; the stage as it is
        where there is nothing to do.
    everywhere : bool
        Whether it is done for the whole line or not at all.
    """

    name: str
    effort: str
    done: Callable[[Scenario, Stage, Can], Stage]
    everywhere: bool = False


def closest(line: Scenario, stage: Stage, can: Can) -> Stage:
    """Return a stage with its guides as close as they go without a jam in any case.

    Parameters
    ----------
    line : Scenario
        The line it stands in.
    stage : Stage
        The stage.
    can : Can
        The size; its lanes stay.

    Returns
    -------
    Stage
        Closed by whole setting steps from where it stands, within the reach of its brackets; the
        same where it cannot be closed.
    """
    now, step = stage.guides.narrowest_mm, stage.guides.setting_step_mm
    least = max(Reach.of(stage.guides, line.mat.width_mm).widths_mm[0], can.diameter_mm)
    steps = int(min((now - least) / step, _MOST_STEPS)) if step > 0.0 else 0
    if steps < 1:
        return stage
    widths = now - step * np.arange(steps + 1)
    case = with_stage(line, stage)
    found = answer_settings(case, stage.name, can.name, {"clear-width": widths})
    fits = (found.lanes == found.lanes[0]) & (found.least_slack_mm >= 0.0)
    if not fits.any():
        return stage
    width = float(widths[np.flatnonzero(fits)[-1]])
    return stage if width == now else stage.with_clear_width(width)


def _wires_moved(line: Scenario, stage: Stage, can: Can) -> Stage:
    heights = recommend(line, can.name).of_stage(stage.name).stage.guides.wires.heights_mm
    same = len(heights) == len(stage.guides.wires.heights_mm)
    return with_wires(stage, heights) if same else stage


def _wire_added(line: Scenario, stage: Stage, can: Can) -> Stage:
    """One more wire, where it holds a can beside the guide best."""
    heights = stage.guides.wires.heights_mm
    balance = answer_stage(line, stage.name, can.name).worst.balance_rad
    tried = np.arange(_WIRE_MM, can.height_mm, _WIRE_MM)
    best = float(tried[int(np.argmax(wire_limit_mm(can.height_mm, balance, tried)))])
    if not balance > 0.0 or any(abs(z - best) < _WIRE_MM for z in heights):
        return stage
    return with_wires(stage, tuple(sorted((*heights, best))))


def with_wires(stage: Stage, heights_mm: tuple[float, ...]) -> Stage:
    """Return a stage with its wires at other heights [mm]."""
    wires = replace(stage.guides.wires, heights_mm=heights_mm)
    return replace(stage, guides=replace(stage.guides, wires=wires))


def _bracket_added(line: Scenario, stage: Stage, can: Can) -> Stage:
    """One more bracket, all of them even along the stage."""
    return VERBS["bracket_spacing()"](stage, stage.length_mm / len(stage.guides.brackets))


def _held_down(line: Scenario, stage: Stage, can: Can) -> Stage:
    """Return a stage whose hold-down stops a can short of its tip angle; added where none is."""
    worst = answer_stage(line, stage.name, can.name).worst
    above = stage if stage.hold_down_mm else replace(stage, hold_down_mm=3.0 * can.height_mm)
    step = stage.guides.setting_step_mm
    move = hold_down_for(above, can, can, worst.at_rest, worst.weakest_rad, step)
    return stage if move is None else replace(stage, hold_down_mm=move.new_mm)


def _hold_down_lowered(line: Scenario, stage: Stage, can: Can) -> Stage:
    return _held_down(line, stage, can) if stage.hold_down_mm else stage


def _hold_down_added(line: Scenario, stage: Stage, can: Can) -> Stage:
    return stage if stage.hold_down_mm else _held_down(line, stage, can)


def _less_pressure(line: Scenario, stage: Stage, can: Can) -> Stage:
    lower = (replace(h, pressure_MPa=LESS_PRESSURE * h.pressure_MPa) for h in stage.headers)
    return replace(stage, headers=tuple(lower))


def _closer_cans(line: Scenario, stage: Stage, can: Can) -> Stage:
    return replace(stage, fill=1.0 - (1.0 - stage.fill) / _FEWER_GAPS)


def _finer_step(line: Scenario, stage: Stage, can: Can) -> Stage:
    guides = replace(stage.guides, setting_step_mm=stage.guides.setting_step_mm / 2.0)
    return replace(stage, guides=guides)


CHANGES: Final = (
    MachineChange("closer cans, half the gaps", "turn", _closer_cans, True),
    MachineChange(
        f"{100.0 * (1.0 - LESS_PRESSURE):.0f} % less pressure, washes less", "turn", _less_pressure
    ),
    MachineChange("wires moved as recommended", "move", _wires_moved),
    MachineChange("the hold-down lowered", "move", _hold_down_lowered),
    MachineChange("half the setting step", "buy", _finer_step),
    MachineChange("one wire more", "buy", _wire_added),
    MachineChange("one bracket more, all even", "buy", _bracket_added),
    MachineChange("a hold-down", "buy", _hold_down_added),
)
"""What can be done to a machine besides setting its guides, cheapest first."""


def with_stage(line: Scenario, stage: Stage) -> Scenario:
    """Return a line with a stage in place of the one of its name."""
    return line.with_stages(tuple(stage if one.name == stage.name else one for one in line.stages))
