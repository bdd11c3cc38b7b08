"""Every value a noun of the line refuses, and the few things the nouns work out themselves."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError, fields, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from packsim.errors import Assumption, InputError, PacksimError
from packsim.line import (
    DUTIES,
    LAYOUTS,
    STATES,
    Bracket,
    Guides,
    Header,
    Kicks,
    KnownSetting,
    Mat,
    Nozzle,
    PastCount,
    Scenario,
    Stage,
    Wires,
)
from packsim.line.input_range import InputRange
from packsim.line.spray import layers_of

NAN, INF = math.nan, math.inf
WIRES = Wires((40.0, 90.0), 600.0, 0.05, 1.3e6)
GUIDES = Guides((Bracket(0.0, 100.0, 700.0),), WIRES)
NOZZLE = Nozzle("cone", 1.0, 1e4, 0.2)
HEADER = Header("above", 500.0, 300.0, 100.0, 50.0, 10, 0.1, NOZZLE)
STAGE = Stage("wash", "flood", 2000.0, GUIDES, Kicks(0.05, 2.0))
KNOWN = KnownSetting("can", (Bracket(0.0, 100.0, 700.0),))

NOT_POSITIVE = (0.0, -1.0, NAN, INF, -INF, True, "1", None)
NEGATIVE = (-1e-9, NAN, INF, True, "1")
NOT_FINITE = (NAN, INF, -INF, True, "1", None)

BAD: dict[tuple[Any, str], tuple[Any, ...]] = {
    (Mat(1000.0, 100.0), "width_mm"): NOT_POSITIVE,
    (Mat(1000.0, 100.0), "speed_mm_per_s"): NOT_POSITIVE,
    (Mat(1000.0, 100.0), "open_fraction"): (-0.1, 1.1, NAN),
    (Mat(1000.0, 100.0), "friction"): NEGATIVE,
    (Mat(1000.0, 100.0), "mass_kg_per_m2"): NEGATIVE,
    (Mat(1000.0, 100.0), "specific_heat_J_per_kgK"): NOT_POSITIVE,
    (Bracket(0.0, 1.0, 2.0), "station_mm"): NEGATIVE,
    (Bracket(0.0, 1.0, 2.0), "left_mm"): NOT_FINITE,
    (Bracket(0.0, 1.0, 2.0), "right_mm"): (*NOT_FINITE, 1.0, 0.5),
    (WIRES, "heights_mm"): ((), (90.0, 40.0), (40.0, 40.0)),
    (WIRES, "tension_N"): NOT_POSITIVE,
    (WIRES, "mass_kg_per_m"): NEGATIVE,
    (WIRES, "stiffness_N"): NOT_POSITIVE,
    (WIRES, "expansion_per_K"): NEGATIVE,
    (GUIDES, "brackets"): (
        (),
        (Bracket(1.0, 0.0, 1.0), Bracket(1.0, 0.0, 1.0)),
        (Bracket(2.0, 0.0, 1.0), Bracket(1.0, 0.0, 1.0)),
    ),
    (GUIDES, "setting_temperature_C"): NOT_FINITE,
    (GUIDES, "frame_expansion_per_K"): NEGATIVE,
    (GUIDES, "setting_step_mm"): NEGATIVE,
    (GUIDES, "wear_mm"): NEGATIVE,
    (GUIDES, "travel_mm"): ((50.0, 50.0), (60.0, 50.0), (NAN, 50.0), (50.0, NAN)),
    (NOZZLE, "pattern"): ("hollow", "", "Cone"),
    (NOZZLE, "angle_rad"): (0.0, math.pi, NAN),
    (NOZZLE, "flow_mm3_per_s"): NOT_POSITIVE,
    (NOZZLE, "reference_MPa"): NOT_POSITIVE,
    (NOZZLE, "thin_angle_rad"): (0.0, math.pi, NAN),
    (NOZZLE, "twist_rad"): (-1.6, 1.6, NAN),
    (NOZZLE, "velocity_coefficient"): (0.0, 1.01, NAN),
    (HEADER, "side"): ("left", ""),
    (HEADER, "station_mm"): NEGATIVE,
    (HEADER, "mat_distance_mm"): NOT_POSITIVE,
    (HEADER, "first_mm"): NOT_FINITE,
    (HEADER, "pitch_mm"): NOT_POSITIVE,
    (HEADER, "count"): (0, -1, 2001, 2.5, True),
    (HEADER, "pressure_MPa"): NEGATIVE,
    (HEADER, "liquid_kg_per_mm3"): NOT_POSITIVE,
    (Kicks(0.05, 2.0), "energy_mJ"): NEGATIVE,
    (Kicks(0.05, 2.0), "rate_per_s"): NEGATIVE,
    (Kicks(0.05, 2.0), "step_mm"): NEGATIVE,
    (Kicks(0.05, 2.0), "drift_mm_per_s"): NOT_FINITE,
    (STAGE, "name"): ("", "   "),
    (STAGE, "duty"): ("wash", ""),
    (STAGE, "length_mm"): NOT_POSITIVE,
    (STAGE, "temperature_C"): (-51.0, 601.0, NAN),
    (STAGE, "layout"): ("diagonal",),
    (STAGE, "state"): ("does not fit", "loose"),
    (STAGE, "fill"): (0.0, 0.04, 1.01, NAN),
    (STAGE, "water_in_dome"): ((-0.1, 1.0), (0.5, 1.1), (0.6, 0.4), (NAN, 1.0)),
    (STAGE, "hold_down_mm"): (0.0, -1.0, NAN, INF),
    (STAGE, "pack_pressure_N_per_m"): NEGATIVE,
    (KNOWN, "brackets"): ((),),
    (KNOWN, "wire_heights_mm"): ((), (90.0, 40.0)),
    (KNOWN, "hold_down_mm"): (0.0, -1.0, NAN),
}

CASES = [(noun, key, value) for (noun, key), values in BAD.items() for value in values]


@pytest.mark.parametrize(
    ("noun", "key", "value"),
    CASES,
    ids=[f"{type(noun).__name__}.{key}={value!r}" for noun, key, value in CASES],
)
def test_a_bad_value_is_refused_by_name(noun: Any, key: str, value: Any) -> None:
    with pytest.raises(InputError) as caught:
        replace(noun, **{key: value})
    assert caught.value.key.split("[")[0] in (key, "right_mm")
    assert isinstance(caught.value, PacksimError)
    assert isinstance(caught.value, ValueError)
    assert "needs" in str(caught.value)


@pytest.mark.parametrize(
    ("make", "key"),
    [
        (lambda: Wires((40.0, -1.0), 600.0, 0.05, 1.3e6), "heights_mm[1]"),
        (lambda: Wires((0.0,), 600.0, 0.05, 1.3e6), "heights_mm[0]"),
        (
            lambda: replace(STAGE, guides=Guides((Bracket(2001.0, 0.0, 70.0),), WIRES)),
            "brackets[0].station_mm",
        ),
        (
            lambda: replace(STAGE, headers=(HEADER, replace(HEADER, station_mm=2001.0))),
            "headers[1].station_mm",
        ),
        (lambda: replace(STAGE, settings=(KNOWN, KNOWN)), "settings[1].size"),
        (
            lambda: replace(STAGE, settings=(KnownSetting("can", (Bracket(5.0, 100.0, 700.0),)),)),
            "settings[0].brackets",
        ),
        (lambda: replace(KNOWN, wire_heights_mm=(10.0, 0.0)), "wire_heights_mm[1]"),
    ],
)
def test_a_bad_part_is_named_by_its_place(make: Any, key: str) -> None:
    with pytest.raises(InputError) as caught:
        make()
    assert caught.value.key == key


def test_what_a_scenario_refuses(small: SimpleNamespace) -> None:
    line: Scenario = small.line(small.stage())
    can = line.sizes[0]
    for key, value in (
        ("stages", ()),
        ("stages", (line.stages[0], line.stages[0])),
        ("sizes", ()),
        ("sizes", (can, can)),
        ("set_for", "other"),
        ("factor", 0.99),
        ("factor", NAN),
        ("seed", -1),
        ("seed", 2**63),
        ("seed", 1.5),
        ("seed", True),
    ):
        with pytest.raises(InputError) as caught:
            replace(line, **{key: value})
        assert caught.value.key == key
    assert replace(line, seed=2**63 - 1, factor=1.0).seed == 2**63 - 1
    known = KnownSetting("ghost", line.stages[0].guides.brackets)
    with pytest.raises(InputError, match="one of the sizes: can"):
        line.with_stages((replace(line.stages[0], settings=(known,)),))


def test_names_are_looked_up_and_the_known_ones_listed(small: SimpleNamespace) -> None:
    line = small.line(small.stage("one"), small.stage("two"))
    assert line.stage("two") is line.stages[1]
    assert line.size("can") is line.sizes[0]
    with pytest.raises(InputError, match="one of one, two"):
        line.stage("three")
    with pytest.raises(InputError, match="one of can"):
        line.size("bottle")
    assert line.stages[0].setting_for("can") is None
    known = KnownSetting("can", line.stages[0].guides.brackets)
    assert replace(line.stages[0], settings=(known,)).setting_for("can") is known


def test_assumptions_of_other_stages_do_not_count(small: SimpleNamespace) -> None:
    """Stage 1 and stage 10 are two."""
    keys = ("mat.friction", "stages[1].fill", "stages[10].fill", "stages[11].kicks.rate")
    can = small.can(assumed=(Assumption("sizes[can].mass", "10 g", "a guess"),))
    line = small.line(
        *(small.stage(f"s{i}") for i in range(12)),
        cans=(can,),
        assumed=tuple(Assumption(key, "1", "a guess") for key in keys),
    )
    got = {i: [a.key for a in line.assumed_in(line.stages[i], can)] for i in (0, 1, 10)}
    assert got[0] == ["mat.friction", "sizes[can].mass"]
    assert got[1] == ["mat.friction", "stages[1].fill", "sizes[can].mass"]
    assert got[10] == ["mat.friction", "stages[10].fill", "sizes[can].mass"]


def test_nouns_are_frozen() -> None:
    for noun in (WIRES, GUIDES, NOZZLE, HEADER, STAGE, KNOWN):
        with pytest.raises(FrozenInstanceError):
            setattr(noun, fields(noun)[0].name, 1.0)


def test_guides_widths_centre_and_faces() -> None:
    guides = Guides(
        (Bracket(0.0, 100.0, 700.0), Bracket(800.0, 104.0, 700.0), Bracket(1000.0, 100.0, 704.0)),
        WIRES,
    )
    assert (guides.narrowest_mm, guides.widest_mm) == (596.0, 604.0)
    assert guides.centre_mm == 402.0
    left, right = guides.faces_mm([-5.0, 400.0, 900.0, 2000.0])
    np.testing.assert_allclose(left, [100.0, 102.0, 102.0, 100.0])
    np.testing.assert_allclose(right, [700.0, 700.0, 702.0, 704.0])
    assert GUIDES.brackets[0].centre_mm == 400.0


def test_a_new_clear_width_keeps_each_centre_or_takes_one() -> None:
    guides = Guides((Bracket(0.0, 100.0, 700.0), Bracket(800.0, 104.0, 700.0)), WIRES)
    moved = guides.set_to(500.0)
    assert [b.clear_width_mm for b in moved.brackets] == [500.0, 500.0]
    assert [b.centre_mm for b in moved.brackets] == [400.0, 402.0]
    assert [b.centre_mm for b in guides.set_to(500.0, 350.0).brackets] == [350.0, 350.0]
    assert moved.wires is guides.wires
    with pytest.raises(InputError, match="clear_width_mm"):
        guides.set_to(0.0)
    stage = STAGE.with_clear_width(500.0, 350.0)
    assert (stage.guides.narrowest_mm, stage.guides.centre_mm) == (500.0, 350.0)
    assert stage.name == STAGE.name


def test_what_is_taken_where_nothing_is_said() -> None:
    """Commercial steel, 0.00015 ft by the charts (from memory); kicks by how rough a duty is."""
    assert HEADER.pipe_roughness_mm == pytest.approx(0.00015 * 304.8, rel=0.02)
    assert InputRange("key", 1.0, 0.5, 2.0, "assumed", "a guess").readings == 0
    rough = [DUTIES[name].kick_energy_mJ for name in ("flood", "blow-off", "rinse", "drain")]
    assert rough == sorted(rough, reverse=True)
    assert 0.0 < rough[-1] <= rough[0] < 0.1  # mJ; a can on the mat needs more to tip than that


def test_one_can_that_passed_is_a_count() -> None:
    assert PastCount("can", 1, 1).tips_per_million == 1e6
    assert PastCount("can", 4, 0).tips_per_million == 0.0
    for cans, tipped in ((0, 0), (1, 2), (-1, 0)):
        with pytest.raises(InputError):
            PastCount("can", cans, tipped)


def test_a_spray_has_a_patch_for_each_part_that_was_measured() -> None:
    """Even within 1/2 and 1 of the width: the outer part is the outer disc's, 1 less 0.609."""
    assert layers_of(NOZZLE) == ((1.0, 1.0),)
    half = math.atan(math.tan(0.5) / 2.0)
    nozzle = replace(NOZZLE, measured_rad=(half, 0.5), measured_share=(3.0, 1.0))
    (wide, much), (narrow, rest) = layers_of(nozzle)
    within = 2.0 / math.pi * (0.5 * math.sqrt(0.75) + math.asin(0.5))
    assert (wide, narrow) == pytest.approx((1.0, 0.5))
    assert (much, rest) == pytest.approx((0.25 / (1.0 - within), 1.0 - 0.25 / (1.0 - within)))
    (disc, ring), (hole, less) = layers_of(replace(NOZZLE, pattern="hollow cone", hollow_share=0.5))
    assert (disc, ring, hole, less) == pytest.approx((1.0, 4.0 / 3.0, 0.5, -1.0 / 3.0))


def test_a_table_of_a_spray_that_cannot_be_is_refused() -> None:
    for angles, shares in (
        ((0.2,), (1.0, 1.0)),
        ((0.3, 0.3), (1.0, 1.0)),
        ((0.0, 0.5), (1.0, 1.0)),
        ((0.5, 0.3), (1.0, 1.0)),
        ((0.2, 0.51), (1.0, 1.0)),
        ((0.2, 0.5), (1.0, -0.1)),
        ((0.2, 0.5), (0.0, 0.0)),
    ):
        with pytest.raises(InputError, match="measured"):
            replace(NOZZLE, measured_rad=angles, measured_share=shares)
    assert replace(NOZZLE, measured_rad=(0.2, 0.5005), measured_share=(0.0, 1.0)).measured_rad


def test_nozzle_places() -> None:
    np.testing.assert_allclose(HEADER.positions_mm, 100.0 + 50.0 * np.arange(10))


def test_the_words() -> None:
    for duty in DUTIES:
        assert replace(STAGE, duty=duty).duty == duty
    for layout in LAYOUTS:
        assert replace(STAGE, layout=layout).layout == layout
    for state in STATES:
        assert replace(STAGE, state=state).state == state
