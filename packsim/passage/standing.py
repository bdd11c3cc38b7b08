"""What each stage does to a can, and what it takes to tip it there."""

import math
from dataclasses import dataclass, fields
from functools import cached_property, lru_cache
from itertools import accumulate
from typing import Any

import numpy as np

from packsim.answers.stage_pack import clear_headers
from packsim.arrays import Floats, Ints
from packsim.can import Can, Stance
from packsim.line import Scenario, Stage
from packsim.spray.grids import Stretch, grid_under, line_load
from packsim.spray.in_place import LineLoad
from packsim.spray.least_energy import LeastEnergy, least_energy
from packsim.spray.spray_load import stretches_under
from packsim.spray.under_headers import most_balance_rad, worst_water
from packsim.tipping.stops import meeting_lean_rad


@dataclass(frozen=True, slots=True, eq=False)
class Shaking:
    """What each of the k stages does to a can, arrays of shape (k,).

    Parameters
    ----------
    energy_mJ : ndarray
        Mean energy of a kick [mJ].
    under_per_s, between_per_s : ndarray
        Kicks a can gets each second under a header, and between them [1/s].
    step_mm : ndarray
        Root-mean-square step per kick and axis [mm].
    drift_mm_per_s : ndarray
        Steady drift to the right [mm/s].
    joint_mJ : ndarray
        Mean energy of the one kick a can gets as it enters, 0 for none [mJ].
    headers_mm : ndarray, shape (2 h,)
        Where along the line a can comes under a header and leaves it, in turns [mm].
    """

    energy_mJ: Floats
    under_per_s: Floats
    between_per_s: Floats
    step_mm: Floats
    drift_mm_per_s: Floats
    joint_mJ: Floats
    headers_mm: Floats

    def rate_per_s(self, stage: Ints, x_mm: Floats) -> Floats:
        """Return the kicks each can gets each second where it is.

        Parameters
        ----------
        stage : ndarray of int64, shape (n,)
            Stage of each can, −1 outside, where there are no kicks.
        x_mm : ndarray, shape (n,)
            Its place along the line [mm].

        Returns
        -------
        ndarray, shape (n,)
            Rates [1/s].
        """
        under = np.searchsorted(self.headers_mm, x_mm, side="right") % 2 == 1
        rates = np.where(under, self.under_per_s.take(stage), self.between_per_s.take(stage))
        return np.where(stage >= 0, rates, 0.0)


@dataclass(frozen=True, eq=False)
class Standing:
    """How a can stands in each of the k stages.

    Parameters
    ----------
    height_mm : float
        Can height [mm].
    water_in_dome : tuple of float
        Share of dome water in each stage, see `worst_water` [-].
    stretches : tuple of Stretch
        Under headers and between, along the line.
    rest_energy_mJ : ndarray, shape (k,)
        Energy that tips a can alone where nothing sprays [mJ].
    meeting_rad : ndarray, shape (k,)
        Lean at which a can meets the hold-down, infinite where there is none. One that hangs below
        the can tops would crush them; it has to be lifted, and then holds nothing [rad].
    wires_mm : tuple of tuple of float
        Guide wire heights of each stage [mm].
    factor : float
        Safety factor that parts cans with some room from those with much [-].
    """

    height_mm: float
    water_in_dome: tuple[float, ...]
    stretches: tuple[Stretch, ...]
    rest_energy_mJ: Floats
    meeting_rad: Floats
    wires_mm: tuple[tuple[float, ...], ...]
    factor: float

    def __getstate__(self) -> dict[str, Any]:
        """Say what it is to another process, without what was worked out: thousands of numbers."""
        return {one.name: getattr(self, one.name) for one in fields(self)}

    @cached_property
    def load(self) -> LineLoad:
        """Balance angle and energy to it, by place and direction, worked out where it is asked."""
        return line_load(self.stretches)

    @cached_property
    def least(self) -> LeastEnergy:
        """Energy below which no kick tips a can, by place and direction.

        Worked out when the first kick comes: a picture of cans that stand still does not ask.
        """
        return least_energy(self.stretches)

    def wire_rows(self) -> Floats:
        """Return the wire heights of each stage in a row, infinite beyond its last [mm]."""
        return _wire_rows(self.wires_mm)


@lru_cache(maxsize=16)
def _wire_rows(wires_mm: tuple[tuple[float, ...], ...]) -> Floats:
    rows = np.full((len(wires_mm), max(map(len, wires_mm))), math.inf)
    for row, heights in zip(rows, wires_mm, strict=True):
        row[: len(heights)] = heights
    return rows


def shaking_of(scenario: Scenario, can: Can) -> Shaking:
    """Return what the stages of a line do to a can size."""
    rates, spans, start = [], [], 0.0
    for stage in scenario.stages:
        rate, length, share = stage.kicks.rate_per_s, stage.length_mm, stage.kicks.under_headers
        under = np.clip(
            [
                (stretch.start_mm, stretch.stop_mm)
                for stretch in stretches_under(clear_headers(stage, can.height_mm), can.stance())
            ],
            0.0,
            length,
        ).ravel()
        wet = float(under[1::2].sum() - under[::2].sum())
        if share is None or not 0.0 < wet < length:
            rates.append((rate, rate))
        else:
            rates.append(
                (rate * share * length / wet, rate * (1 - share) * length / (length - wet))
            )
        spans.append(under + start)
        start += length
    kicks = [stage.kicks for stage in scenario.stages]
    return Shaking(
        energy_mJ=np.array([kick.energy_mJ for kick in kicks]),
        under_per_s=np.array([under for under, _ in rates]),
        between_per_s=np.array([between for _, between in rates]),
        step_mm=np.array([kick.step_mm for kick in kicks]),
        drift_mm_per_s=np.array([kick.drift_mm_per_s for kick in kicks]),
        joint_mJ=np.array([stage.joint_kick_mJ for stage in scenario.stages]),
        headers_mm=np.concatenate(spans),
    )


def stretches_of(
    stage: Stage, can: Can, stance: Stance, open_fraction: float, start_mm: float
) -> list[Stretch]:
    """Return the stretches of a stage, under its headers and between, see `Stretch`.

    A spray that reaches past the stage's end is left out there.
    """
    body, most = can.stance(), most_balance_rad(can)
    rest = stance.balance_angle_rad, stance.balance_energy_mJ
    found = []
    for under in stretches_under(clear_headers(stage, can.height_mm), body, most):
        grid = grid_under(under.headers, stance, body, open_fraction, most)
        stop = start_mm + min(under.stop_mm, stage.length_mm)
        found.append(Stretch(start_mm, start_mm + max(under.start_mm, 0.0), *rest))
        found.append(Stretch(start_mm + under.start_mm, stop, *rest, grid))
    return [*found, Stretch(start_mm, start_mm + stage.length_mm, *rest)]


def standing_of(scenario: Scenario, can: Can) -> Standing:
    """Return how a can size stands in the stages of a line, under the sprays of every place."""
    stages, open_fraction = scenario.stages, scenario.mat.open_fraction
    water = tuple(
        worst_water(clear_headers(s, can.height_mm), s.water_in_dome, can, open_fraction)
        for s in stages
    )
    starts = accumulate((stage.length_mm for stage in stages), initial=0.0)
    stretches, rests, meeting = [], [], []
    for stage, share, start in zip(stages, water, starts, strict=False):
        stance = can.stance(share)
        here = stretches_of(stage, can, stance, open_fraction, start)
        meets = math.inf
        if stage.hold_down_mm is not None:
            meets = meeting_lean_rad(stance, stage.hold_down_mm)
        rests.append(here[-1].energy_mJ)
        meeting.append(meets)
        stretches += here
    return Standing(
        height_mm=can.height_mm,
        water_in_dome=water,
        stretches=tuple(stretches),
        rest_energy_mJ=np.array(rests),
        meeting_rad=np.array(meeting),
        wires_mm=tuple(stage.guides.wires.heights_mm for stage in stages),
        factor=scenario.factor,
    )
