"""What can be swept: each knob turns one thing in one stage and leaves the rest alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from packsim.errors import InputError
from packsim.line import Header, Scenario, Stage

__all__ = ["KNOBS", "Knob", "knob"]

Turn = Callable[[Stage, float], Stage]


@dataclass(frozen=True, slots=True)
class Knob:
    """One thing that can be swept.

    Parameters
    ----------
    name : str
        What a person calls it.
    kind : {"length", "place", "share", "ratio", "pressure", "force", "line force", "temperature"}
        What sort of quantity it takes, in the units inside the package.
    what : str
        What it turns, in a few words.
    turn : callable
        Returns a stage with the thing at a value.
    now : callable
        Returns the value it has in a stage.
    """

    name: str
    kind: str
    what: str
    turn: Turn
    now: Callable[[Stage], float]

    def set(self, scenario: Scenario, stage_index: int, value: float) -> Scenario:
        """Return the scenario with this knob at a value in one stage.

        Raises
        ------
        InputError
            If the stage cannot have the value; the key names the knob.
        """
        stages = list(scenario.stages)
        try:
            stages[stage_index] = self.turn(stages[stage_index], value)
        except InputError as error:
            raise error.under(self.name) from error
        return scenario.with_stages(tuple(stages))


def knob(name: str) -> Knob:
    """Return the knob called ``name``; raise `InputError` naming all if there is none."""
    for each in KNOBS:
        if each.name == name:
            return each
    raise InputError("over", repr(name), "one of " + ", ".join(each.name for each in KNOBS))


def _top_wire(stage: Stage, height_mm: float) -> Stage:
    wires = stage.guides.wires
    below = tuple(z for z in wires.heights_mm[:-1] if z < height_mm)
    guides = replace(stage.guides, wires=replace(wires, heights_mm=(*below, height_mm)))
    return replace(stage, guides=guides)


def _tension(stage: Stage, tension_N: float) -> Stage:
    wires = replace(stage.guides.wires, tension_N=tension_N)
    return replace(stage, guides=replace(stage.guides, wires=wires))


def _shift(stage: Stage, shift_mm: float) -> Stage:
    brackets = tuple(
        replace(b, left_mm=b.left_mm + shift_mm, right_mm=b.right_mm + shift_mm)
        for b in stage.guides.brackets
    )
    return replace(stage, guides=replace(stage.guides, brackets=brackets))


def _pressure(side: str) -> Turn:
    def turn(stage: Stage, pressure_MPa: float) -> Stage:
        if all(h.side != side for h in stage.headers):
            raise InputError("header", f"none {side} the mat", f"a stage with a header {side} it")
        headers = tuple(
            replace(h, pressure_MPa=pressure_MPa) if h.side == side else h for h in stage.headers
        )
        return replace(stage, headers=headers)

    return turn


def _pressure_now(side: str) -> Callable[[Stage], float]:
    def now(stage: Stage) -> float:
        return max((h.pressure_MPa for h in stage.headers if h.side == side), default=float("nan"))

    return now


def _all_pressures(stage: Stage, share: float) -> Stage:
    if not stage.headers:
        raise InputError("header", "none", "a stage with a header")
    headers = tuple(_scaled(header, share) for header in stage.headers)
    return replace(stage, headers=headers)


def _scaled(header: Header, share: float) -> Header:
    return replace(header, pressure_MPa=header.pressure_MPa * share)


KNOBS: Final = (
    Knob(
        "clear-width",
        "length",
        "clear width at every bracket",
        lambda stage, value: stage.with_clear_width(value),
        lambda stage: stage.guides.narrowest_mm,
    ),
    Knob(
        "wire-height",
        "length",
        "height of the highest guide wire",
        _top_wire,
        lambda stage: stage.guides.wires.heights_mm[-1],
    ),
    Knob(
        "tension",
        "force",
        "tension of the guide wires",
        _tension,
        lambda stage: stage.guides.wires.tension_N,
    ),
    Knob(
        "shift",
        "place",
        "sideways move of both guides, positive to the right",
        _shift,
        lambda stage: 0.0,
    ),
    Knob(
        "fill",
        "share",
        "share of the perfect pack the infeed delivers",
        lambda stage, value: replace(stage, fill=value),
        lambda stage: stage.fill,
    ),
    Knob(
        "dome-pool",
        "share",
        "how full the dome recesses are",
        lambda stage, value: replace(stage, pool_fraction=value),
        lambda stage: stage.pool_fraction,
    ),
    Knob(
        "pressure",
        "ratio",
        "all spray pressures, as a multiple of the present ones",
        _all_pressures,
        lambda stage: 1.0,
    ),
    Knob(
        "pressure-above",
        "pressure",
        "pressure of every header above the mat",
        _pressure("above"),
        _pressure_now("above"),
    ),
    Knob(
        "pressure-below",
        "pressure",
        "pressure of every header below the mat",
        _pressure("below"),
        _pressure_now("below"),
    ),
    Knob(
        "hold-down",
        "length",
        "height of the hold-down mat's underside",
        lambda stage, value: replace(stage, hold_down_mm=value),
        lambda stage: float("nan") if stage.hold_down_mm is None else stage.hold_down_mm,
    ),
    Knob(
        "pack-pressure",
        "line force",
        "sideways push of the pack on each guide",
        lambda stage, value: replace(stage, pack_pressure_N_per_m=value),
        lambda stage: stage.pack_pressure_N_per_m,
    ),
    Knob(
        "temperature",
        "temperature",
        "temperature of the stage",
        lambda stage, value: replace(stage, temperature_C=value),
        lambda stage: stage.temperature_C,
    ),
)
"""Every knob, the most asked for first."""
