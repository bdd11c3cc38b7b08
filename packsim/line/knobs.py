"""What can be changed on a stage: each knob sets one thing and leaves the rest alone.

A sweep, the viewer and its lessons all turn these.
"""

import math
from dataclasses import replace
from operator import attrgetter
from typing import Final

from packsim.errors import InputError
from packsim.line.guides import Bracket
from packsim.line.header_knobs import ROW_KNOBS, SIDE_KNOBS
from packsim.line.knob import Knob, with_field
from packsim.line.stage import Stage

MAX_STEPS: Final = 2_000
"""Most values of a sweep: more points than any chart can show."""


def knob(name: str) -> Knob:
    """Return the knob called ``name``; raise `InputError` naming all if there is none."""
    for each in KNOBS:
        if each.name == name:
            return each
    raise InputError("over", repr(name), "one of " + ", ".join(each.name for each in KNOBS))


def with_faces_moved(stage: Stage, left_mm: float, right_mm: float) -> Stage:
    """Return a stage with every left and right face moved to the right by some lengths [mm]."""
    moved = tuple(
        Bracket(b.station_mm, b.left_mm + left_mm, b.right_mm + right_mm)
        for b in stage.guides.brackets
    )
    found: Stage = with_field(stage, "guides.brackets", moved)
    return found


def with_wire_height(stage: Stage, height_mm: float, wire: int = -1) -> Stage:
    """Return a stage with one wire, lowest 0, at another height [mm]; the others stay.

    Raises `InputError` if the wire would not stay between its neighbours.
    """
    heights = list(stage.guides.wires.heights_mm)
    at = wire % len(heights)
    low = heights[at - 1] if at else 0.0
    high = heights[at + 1] if at + 1 < len(heights) else math.inf
    if not low < height_mm < high:
        allowed = f"more than {low:g} mm" + (f", less than {high:g} mm" if high < math.inf else "")
        raise InputError("height", f"{height_mm:g} mm", f"{allowed}: the other wires stay")
    heights[at] = height_mm
    found: Stage = with_field(stage, "guides.wires.heights_mm", tuple(heights))
    return found


def with_kick_energy(stage: Stage, energy_mJ: float) -> Stage:
    """Return a stage with another mean energy of a kick [mJ], which then is from no trial."""
    if energy_mJ == stage.kicks.energy_mJ:
        return stage
    return replace(stage, kicks=replace(stage.kicks, energy_mJ=energy_mJ, trial=""))


def _all_pressures(stage: Stage, share: float) -> Stage:
    if not stage.headers:
        raise InputError("header", "none", "a stage with a header")
    headers = tuple(replace(h, pressure_MPa=h.pressure_MPa * share) for h in stage.headers)
    return replace(stage, headers=headers)


def _number(name: str, kind: str, what: str, path: str) -> Knob:
    """Return the knob of what is one number of a stage, or of a part of it."""

    def now(stage: Stage) -> float:
        value = attrgetter(path)(stage)
        return math.nan if value is None else float(value)

    return Knob(name, kind, what, lambda stage, value: with_field(stage, path, value), now)


def _water_now(stage: Stage) -> float:
    low, high = stage.water_in_dome
    return low if low == high else math.nan


KNOBS: Final = (
    Knob(
        "clear-width",
        "length",
        "clear width at every bracket",
        Stage.with_clear_width,
        lambda stage: stage.guides.narrowest_mm,
    ),
    Knob(
        "wire-height",
        "length",
        "height of the highest guide wire",
        with_wire_height,
        lambda stage: stage.guides.wires.heights_mm[-1],
    ),
    _number("tension", "force", "tension of the guide wires", "guides.wires.tension_N"),
    Knob(
        "shift",
        "place",
        "sideways move of both guides, positive to the right",
        lambda stage, value: with_faces_moved(stage, value, value),
        lambda stage: 0.0,
    ),
    _number("fill", "share", "share of the perfect pack the infeed delivers", "fill"),
    Knob(
        "water-in-dome",
        "share",
        "how full the dome recesses are",
        lambda stage, value: replace(stage, water_in_dome=(value, value)),
        _water_now,
    ),
    Knob(
        "pressure",
        "ratio",
        "all spray pressures, as a multiple of the present ones",
        _all_pressures,
        lambda stage: 1.0,
    ),
    *SIDE_KNOBS,
    _number("hold-down", "length", "height of the hold-down mat's underside", "hold_down_mm"),
    _number(
        "pack-pressure",
        "line force",
        "sideways push of the pack on each guide",
        "pack_pressure_N_per_m",
    ),
    _number("temperature", "temperature", "temperature of the stage", "temperature_C"),
    *ROW_KNOBS,
)
"""Every knob, the most asked for first."""
