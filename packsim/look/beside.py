"""A seen pack on its line: how near its very cans are to tipping, beside what the line predicts."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from packsim.answers import Answer, answer_stage
from packsim.arrays import Floats
from packsim.chance import StageChance, chance_of
from packsim.chance.line_chance import Progress
from packsim.chance.now import chance_as_seen
from packsim.line import Scenario
from packsim.look.known import Known
from packsim.look.measure import Looked
from packsim.passage import ROLES
from packsim.passage.frames import roles_of
from packsim.passage.record import NOT_ASKED
from packsim.tipping.lean import own_lean
from packsim.tipping.overturning import row_energies_mJ

_LOOKED_ROUND = 1.5
"""Diameters from the end of the cans that are seen within which one may stand unseen."""

SHOULDER_MM = 9.0
"""How far below its top a body has its full diameter, where its rim is seen (common practice, no
source) [mm]."""

HEIGHT_ERROR_MM = 4.0
"""How far off that and the height of a wire's edge may be, half of a range: taken, no source
[mm]."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Beside:
    """A seen pack beside the one its scenario predicts.

    Parameters
    ----------
    predicted : Answer
        Of the stage as the scenario has it.
    as_seen : Answer
        Of the very cans that were seen, the stage with layout, fill and clear width as measured.
    tip_index_interval : tuple of float
        Tip index of the worst-case slack where the slack is as small and as large as the picture
        leaves open, 95 % [-].
    least_energy_mJ : float or None
        Least energy that tips one of those cans towards a guide, those in its way leaning too;
        infinite where none has the room, None where no row is whole [mJ].
    can_tip : int
        Cans of whole rows that have the room to tip towards a guide.
    role : ndarray of uint8, shape (n,)
        Index into `packsim.passage.ROLES` of every can that was seen, by its own lean;
        `packsim.passage.record.NOT_ASKED` for those whose neighbours may stand outside the picture.
    direction_rad : ndarray, shape (n,)
        Direction of that lean, from travel to the right [rad].
    predicted_chance, chance : StageChance or None
        Chance of a tip in the stage: of the pack that moves as the scenario says, and of cans that
        stand all along it as they were seen; None where nobody asked.
    """

    predicted: Answer
    as_seen: Answer
    tip_index_interval: tuple[float, float]
    least_energy_mJ: float | None = None
    can_tip: int = 0
    role: NDArray[np.uint8]
    direction_rad: Floats
    predicted_chance: StageChance | None = None
    chance: StageChance | None = None


def guides_below_mm(scenario: Scenario, stage: str, size: str) -> Known:
    """Return how far the highest guide wire of a stage lies below the rims of a size [mm].

    Seen from above it is the edge of a guide; rims are seen where bodies have their full diameter.
    """
    highest = max(scenario.stage(stage).guides.wires.heights_mm)
    rims = scenario.size(size).height_mm - SHOULDER_MM
    return Known(rims - highest, HEIGHT_ERROR_MM)


def line_as_seen(
    scenario: Scenario, stage: str, looked: Looked, width_mm: float | None = None
) -> Scenario:
    """Return a line whose stage has the layout, the fill and the clear width that were seen.

    Parameters
    ----------
    scenario : Scenario
        The line.
    stage : str
        Where it was looked at.
    looked : Looked
        What was seen.
    width_mm : float, optional
        A clear width to take in place of the one that was seen [mm].

    Returns
    -------
    Scenario
        Of what was not seen it says the same as before.
    """
    seen = scenario.stage(stage)
    fill = seen.fill if looked.fill is None else looked.fill.value
    seen = replace(seen, layout=looked.layout, fill=fill)
    if width_mm is None and looked.clear_width_mm is not None:
        width_mm = looked.clear_width_mm.value
    seen = seen if width_mm is None else seen.with_clear_width(width_mm)
    return scenario.with_stages(
        tuple(seen if each.name == stage else each for each in scenario.stages)
    )


def beside_line(
    scenario: Scenario,
    stage: str,
    size: str,
    looked: Looked,
    *,
    chance: bool = False,
    progress: Progress | None = None,
) -> Beside | None:
    """Judge the very cans of a photograph on their line, beside what it predicts.

    Parameters
    ----------
    scenario : Scenario
        The line.
    stage, size : str
        Where the photograph was taken, and of which size.
    looked : Looked
        What it says.
    chance : bool
        Work out the chances of a tip too.
    progress : callable, optional
        As for `packsim.chance.chance_of`.

    Returns
    -------
    Beside or None
        None where both guides are not seen or no stretch of pack repeats: then no can's room is
        known.
    """
    if looked.pack is None or looked.clear_width_mm is None or looked.slack_mm is None:
        return None
    # the error of the diameter is in the width, and cancels in the slack that tips
    width, off = looked.clear_width_mm.value, looked.slack_mm.within
    lines = [line_as_seen(scenario, stage, looked, mm) for mm in (width, width - off, width + off)]
    measured, *ends = (answer_stage(line, stage, size) for line in lines)
    energies = _row_energies_mJ(measured, looked)
    indices = [one.tipping.loosest.worst for one in (measured, *ends)]  # more lanes may fit an end
    found = Beside(
        predicted=answer_stage(scenario, stage, size),
        as_seen=measured.of_pack(looked.pack),
        tip_index_interval=(min(indices), max(indices)),
        least_energy_mJ=None if energies is None else float(energies.min()),
        can_tip=0 if energies is None else int(np.isfinite(energies).sum()),
        **_roles(measured, looked),
    )
    if not chance:
        return found
    moving = chance_of(scenario, size, progress=progress)
    return replace(
        found,
        predicted_chance=next(one for one in moving.stages if one.stage == stage),
        chance=chance_as_seen(lines[0], size, stage, looked.pack),
    )


def _row_energies_mJ(answer: Answer, looked: Looked) -> Floats | None:
    """Least energy that tips each can of the whole rows seen, to one guide or the other [mJ].

    The domes are as full as is worst under the sprays, whose strongest moment acts all the time.
    """
    heights = answer.wire_heights_mm
    if looked.gaps is None or not heights:
        return None
    worst = answer.worst
    gaps = np.maximum(looked.gaps.gaps_mm, 0.0)
    left, right = row_energies_mJ(gaps, worst.sprayed, heights, worst.balance_rad)
    return np.minimum(left, right)


def _roles(answer: Answer, looked: Looked) -> dict[str, Any]:
    """Role and direction of every can by its own lean, among all cans of the picture.

    Cans within a diameter and a half of where the cans of the picture end are not asked.
    """
    seen, worst = looked.seen, answer.worst
    up = np.flatnonzero(~seen.are("down"))
    left, right = seen.guides_mm
    found = own_lean(
        seen.centres_mm[up],
        worst.sprayed,
        left_mm=left,
        right_mm=right,
        wire_heights_mm=answer.wire_heights_mm,
        balance_rad=worst.weakest_rad,
    )
    role = np.full(len(seen), NOT_ASKED, np.uint8)
    direction = np.zeros(len(seen))
    roles = roles_of(found.worst_rad, worst.weakest_rad, answer.can.height_mm, answer.factor)
    x = seen.centres_mm[up, 0]
    room = _LOOKED_ROUND * seen.diameter_mm
    inner = (x >= x.min() + room) & (x <= x.max() - room)
    role[up[inner]] = roles[inner]
    role[seen.are("down")] = ROLES.index("tipped")
    direction[up] = found.worst_direction_rad
    return {"role": role, "direction_rad": direction}
