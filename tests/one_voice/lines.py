"""Lines as plants have them, made up from a seed: small, so that hundreds are quick to ask."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from packsim.can import Can
from packsim.catalogue import custom_can
from packsim.line import Bracket, Guides, Header, Kicks, Mat, Nozzle, Scenario, Stage, Wires
from packsim.pack.lattice import lane_pitch_mm, lanes_width_mm

MANY: Final = 200
"""Lines the tests of this folder make up."""

_BODIES: Final = ((52.9, 134.0), (58.0, 157.5), (66.1, 100.0), (66.1, 124.3), (66.1, 171.0))
"""Diameters and heights about those of common drink cans [mm]."""

_ROLES: Final = (("flood", 2), ("rinse", 2), ("blow-off", 1), ("drain", 0), ("oven", 0))
"""Duties, and the most headers such a stage gets here."""


def made_up(number: int) -> Scenario:
    """Line ``number``: one or two stages, one or two sizes, guides from too tight to far too wide.

    Among them are guides no can fits between, wires that miss a size, hold-downs that crush, block
    and never touch, headers on either side, thin infeeds, crosswise packs and funnels.
    """
    rng = np.random.default_rng([20261126, number])
    picks = rng.choice(len(_BODIES), size=1 + (number % 3 == 0), replace=False)
    cans = tuple(_can(rng, f"can {'AB'[i]}", *_BODIES[pick]) for i, pick in enumerate(picks))
    layout = "crosswise" if rng.random() < 0.2 else "lengthwise"
    lanes = int(rng.integers(3, 9))
    fit = lanes_width_mm(lanes, cans[0].diameter_mm, layout)
    pitch = lane_pitch_mm(cans[0].diameter_mm, layout)
    mat = Mat(fit + 4.0 * pitch + 120.0, float(rng.uniform(60.0, 160.0)))
    # half of the lines stand near their window, the others anywhere from too tight to two lanes on
    near = rng.random() < 0.5
    width = fit + float(rng.uniform(0.0, 14.0) if near else rng.uniform(-0.4, 2.0) * pitch)
    if number % 25 == 7:  # narrower than one can of the first size
        width = cans[0].diameter_mm - 3.0
    width = 0.5 * round(2.0 * width)
    stages = tuple(
        _stage(rng, i, mat.width_mm / 2.0, width + i, layout, cans) for i in range(1 + number % 2)
    )
    return Scenario(
        f"made up {number}",
        "Invented.",
        mat,
        stages,
        cans,
        cans[0].name,
        factor=float(rng.choice([1.5, 2.0, 3.0])),
    )


def _can(rng: np.random.Generator, name: str, diameter_mm: float, height_mm: float) -> Can:
    return custom_can(name, diameter_mm, height_mm, diameter_tol_mm=float(rng.choice([0.0, 0.05])))


def _stage(
    rng: np.random.Generator,
    i: int,
    centre_mm: float,
    width_mm: float,
    layout: str,
    cans: tuple[Can, ...],
) -> Stage:
    duty, most = _ROLES[int(rng.integers(len(_ROLES)))]
    length, top = 1500.0, cans[0].height_mm
    centre = centre_mm + float(rng.choice([0.0, 0.0, -7.5, 12.0]))
    half = width_mm / 2.0
    funnel = i == 0 and rng.random() < 0.15
    opens = (24.0, 12.0, 0.0) if funnel else (0.0, 0.0)
    places = np.linspace(0.0, length, len(opens))
    brackets = tuple(
        Bracket(float(at), centre - half - more / 2.0, centre + half + more / 2.0)
        for at, more in zip(places, opens, strict=True)
    )
    shares = sorted(rng.choice([0.2, 0.35, 0.55, 0.75, 0.9, 1.2], int(rng.integers(1, 4)), False))
    guides = Guides(
        brackets,
        Wires(tuple(float(s) * top for s in shares), float(rng.choice([300.0, 800.0])), 0.05, 1e6),
        setting_step_mm=float(rng.choice([0.5, 1.0, 25.4 / 32.0])),
        wear_mm=float(rng.choice([0.0, 0.3])),
        shape="funnel" if funnel else "straight",
    )
    hold = None
    if rng.random() < 0.3:
        hold = top + float(rng.choice([-2.0, 3.0, 6.0, 10.0, 40.0]))
    headers = tuple(_header(rng, centre, width_mm, top) for _ in range(int(rng.integers(most + 1))))
    return Stage(
        f"{duty} {i + 1}",
        duty,
        length,
        guides,
        Kicks(float(rng.choice([0.03, 0.1])), 2.0),
        temperature_C=float(rng.choice([20.0, 60.0])),
        layout=layout,
        fill=float(rng.choice([1.0, 1.0, 0.99, 0.96, 0.9, 0.8])),
        water_in_dome=((0.0, 1.0), (0.0, 0.0), (1.0, 1.0))[int(rng.integers(3))],
        headers=headers,
        hold_down_mm=hold,
    )


def _header(rng: np.random.Generator, centre_mm: float, width_mm: float, top_mm: float) -> Header:
    side, pitch = str(rng.choice(["above", "below"])), float(rng.uniform(40.0, 80.0))
    count = max(1, int(width_mm / pitch))
    distance = top_mm + float(rng.uniform(60.0, 200.0)) if side == "above" else 120.0
    fan = rng.random() < 0.3
    return Header(
        side=side,
        station_mm=float(rng.uniform(200.0, 1200.0)),
        mat_distance_mm=distance,
        first_mm=centre_mm - pitch * (count - 1) / 2.0 + float(rng.uniform(-10.0, 10.0)),
        pitch_mm=pitch,
        count=count,
        pressure_MPa=float(rng.choice([0.05, 0.15])),
        nozzle=Nozzle(
            "fan" if fan else "cone", math.radians(60.0), float(rng.uniform(3e3, 3e4)), 0.1
        ),
    )
