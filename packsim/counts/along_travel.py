"""Room along travel: what a slice of pack keeps, and what kicks open in a line full of cans."""

import math
from dataclasses import dataclass
from typing import Final

from packsim.answers import answer_line, stage_packs
from packsim.can import Can
from packsim.line import Scenario

LEAST_SLICE_MM: Final = 600.0
"""Least length of a slice, so that no can is pushed by its own copies [mm]."""

_CLOSES_UP: Final = 10.0
"""A step of the guides this many times the room kept closes the pack up before it [-]."""

_PUSH: Final = math.sqrt(2.0) / 3.0 * 2.0**0.75 * math.gamma(1.25) / math.sqrt(math.pi)
"""√2/3 · E|n|^1.5 for n normal, of mean square 1 [-]."""


@dataclass(frozen=True, slots=True)
class RoomAlong:
    """Room between cans one behind the other, a can.

    Parameters
    ----------
    kept_mm : float
        What fill and differing diameters leave in a slice, which keeps it to the end [mm].
    opened_mm : float
        What kicks open in a line full of cans that leave it freely, the mean of all stages [mm].
    can_tip : bool
        Whether the worst slack of some stage tips a can.
    pushed_mm : float
        Most that guides push the pack sideways where a stage begins [mm].
    pushed_at : str
        Name of that stage, empty where they push nowhere.
    """

    kept_mm: float
    opened_mm: float
    can_tip: bool
    pushed_mm: float
    pushed_at: str

    @property
    def slices_hold(self) -> bool:
        """Whether a slice holds cans that the whole line lets tip.

        Cans that touch along travel bar each other's way across but for a narrow angle, which
        widens with the root of the room.
        """
        return self.can_tip and self.kept_mm < self.opened_mm

    @property
    def cans_close_up(self) -> bool:
        """Whether guides that step in close the pack up before them, which a slice cannot.

        Cans pushed aside push those behind back. Measured on two stages: where the step is 6 and 9
        times the room kept counts agree, at 15 and 27 times 0.7 and 0.5 of the tips are left.
        """
        return self.can_tip and self.pushed_mm > _CLOSES_UP * self.kept_mm


def room_along(scenario: Scenario, size: str) -> RoomAlong:
    """Return the room along travel of a size on a line.

    Parameters
    ----------
    scenario : Scenario
        The line.
    size : str
        Which of its sizes.

    Returns
    -------
    RoomAlong
        From fill, kicks, speed and lengths; nothing is run.
    """
    can = scenario.size(size)
    fill = stage_packs(scenario.stages[0], can).judged.fill
    can_tip = any(one.tipping.verdict == "can tip" for one in answer_line(scenario, can.name))
    return RoomAlong(kept_mm(can, fill), opened_mm(scenario, can), can_tip, *pushed(scenario, can))


def kept_mm(can: Can, fill: float) -> float:
    """Return the room along travel that a slice has for each can, the mean of its lanes [mm].

    Parameters
    ----------
    can : Can
        The can size.
    fill : float
        Share of the perfect pack's cans, above 0 up to 1 [-].

    Returns
    -------
    float
        D (1/fill − 1), and what the lanes gain whose n cans are by chance narrower than nominal in
        a slice of least length: σ/√(2πn), diameters even over ± √3 σ [mm].
    """
    cans = fill * LEAST_SLICE_MM / can.diameter_mm
    narrower = can.diameter_tol_mm / math.sqrt(3.0) / math.sqrt(2.0 * math.pi * cans)
    return (1.0 / fill - 1.0) * can.diameter_mm + narrower


def opened_mm(scenario: Scenario, can: Can) -> float:
    """Return the room that kicks open along a lane of touching cans, the mean of the line [mm].

    Parameters
    ----------
    scenario : Scenario
        The line. Stages without kicks open nothing, and are taken to hold nobody back.
    can : Can
        The can size.

    Returns
    -------
    float
        Without drift within a factor of two of what a line full of cans opens; a drift that presses
        the pack against a guide opens more (measured) [mm].

    Notes
    -----
    A kick s along travel is shared by the k = √(2 s/g) cans whose gaps g it closes, which moves
    them apart by s D k/3 in all. Kicks at rate ν of root mean square s so push at
    W = a/√e with a = √2/3 · E|n|^1.5 · ν s^1.5 √D, where e = g/D is the stretch. Where a push falls
    along the line cans go forward at −dW/dx, and a steady feed has them go at e v there. With free
    cans at the end e = J^(−2/3), J = ∫ 3 v/a dx from x to the end. For kicks shorter than the gaps
    it would be a Tonks gas, W = ν s²/2e. Derived here.
    """
    speed, far, opened, length = scenario.mat.speed_mm_per_s, 0.0, 0.0, 0.0
    for stage in reversed(scenario.stages):
        kicks = stage.kicks
        push = _PUSH * kicks.rate_per_s * kicks.step_mm**1.5 * math.sqrt(can.diameter_mm)
        length += stage.length_mm
        if push > 0.0:
            near, far = far, far + 3.0 * speed * stage.length_mm / push
            opened += push / speed * (far ** (1.0 / 3.0) - near ** (1.0 / 3.0))
    return can.diameter_mm * opened / length


def pushed(scenario: Scenario, can: Can) -> tuple[float, str]:
    """Return how far guides push the pack sideways where a stage begins, at most, and which does.

    Parameters
    ----------
    scenario : Scenario
        The line.
    can : Can
        The can size.

    Returns
    -------
    pushed_mm : float
        For a pack of its own width that enters where the mat says and drifts from guide to guide;
        lanes squeezed or lost are not looked at [mm].
    stage : str
        Name of the stage, empty where none pushes.
    """
    wide, at, most = stage_packs(scenario.stages[0], can).judged.pack_width_mm, math.nan, (0.0, "")
    for stage in scenario.stages:
        left, right = stage.guides.faces_mm([0.0, stage.length_mm])
        low, high = left, (right - wide).clip(left)
        if math.isnan(at):
            at = low[0] + scenario.mat.pack_enters * (high[0] - low[0])
        beside = min(max(at, low[0]), high[0])
        most = max(most, (float(abs(beside - at)), stage.name), key=lambda one: one[0])
        drifted = stage.kicks.drift_mm_per_s * stage.length_mm / scenario.mat.speed_mm_per_s
        at = min(max(beside + drifted, low[1]), high[1])
    return most
