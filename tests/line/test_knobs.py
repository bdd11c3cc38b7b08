"""What knobs turn, and what they leave alone."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from packsim.errors import InputError
from packsim.line import Header, Stage, knobs
from packsim.line.knobs import with_faces_moved, with_kick_energy, with_wire_height

KNOBS = {knob.name: knob for knob in knobs.KNOBS}


@pytest.fixture
def stage(small: SimpleNamespace) -> Stage:
    """Above at 2500, 500, 1500 and 2000 mm along, below at 1000 and 2800 mm."""
    above = [small.header(station_mm=at) for at in (2500.0, 500.0, 1500.0, 2000.0)]
    below = [small.header("below", station_mm=at, first_mm=266.0) for at in (1000.0, 2800.0)]
    return small.stage(headers=(above[0], below[0], *above[1:], below[1]))  # type: ignore[no-any-return]


def middle_mm(header: Header) -> float:
    return float(np.mean(header.positions_mm))


@pytest.mark.parametrize(("name", "value"), [("nozzle-pitch", 40.0), ("nozzle-count", 8.0)])
def test_a_row_keeps_its_middle(stage: Stage, name: str, value: float) -> None:
    turned = KNOBS[name].turn(stage, value)
    for old, new in zip(stage.headers, turned.headers, strict=True):
        assert middle_mm(new) == pytest.approx(middle_mm(old))
        assert (new.pitch_mm, new.count) == (
            (40.0, old.count) if name == "nozzle-pitch" else (old.pitch_mm, 8)
        )
    assert KNOBS[name].now(turned) == value


@pytest.mark.parametrize("side", ["above", "below"])
@pytest.mark.parametrize(
    ("name", "value", "got"),
    [
        ("pressure", 0.25, lambda h: h.pressure_MPa),
        ("stand-off", 333.0, lambda h: h.mat_distance_mm),
        ("spray-angle", 0.7, lambda h: h.nozzle.angle_rad),
    ],
)
def test_a_side_is_turned_alone(stage: Stage, name: str, value: float, got, side: str) -> None:  # type: ignore[no-untyped-def]
    knob = KNOBS[f"{name}-{side}"]
    turned = knob.turn(stage, value)
    for old, new in zip(stage.headers, turned.headers, strict=True):
        assert new == old if old.side != side else got(new) == value
    assert knob.now(turned) == value
    first = stage.headers[0 if side == "above" else 1]
    assert knob.now(stage) == got(first)


def test_headers_move_along_by_as_much_each(stage: Stage) -> None:
    turned = KNOBS["station-below"].turn(stage, -40.0)
    assert [b.station_mm - a.station_mm for a, b in zip(stage.headers, turned.headers, strict=True)
            ] == [0.0, -40.0, 0.0, 0.0, 0.0, -40.0]  # fmt: skip
    assert KNOBS["station-below"].now(stage) == 0.0


def test_every_second_header_along_travel_is_staggered(stage: Stage) -> None:
    turned = KNOBS["stagger-above"].turn(stage, 13.0)
    pairs = zip(stage.headers, turned.headers, strict=True)
    moved = {a.station_mm: b.first_mm - a.first_mm for a, b in pairs if a.side == "above"}
    assert moved == {500.0: 0.0, 1500.0: 13.0, 2000.0: 0.0, 2500.0: 13.0}
    two = KNOBS["stagger-below"].turn(stage, 13.0).headers
    assert [h.first_mm for h in two if h.side == "below"] == [266.0, 279.0]
    assert KNOBS["stagger-below"].now(stage) == 0.0


def test_what_is_not_there_cannot_be_turned(small: SimpleNamespace) -> None:
    one = small.stage(headers=(small.header(),))
    for name in ("stagger-above", "stagger-below", "pressure-below", "station-below"):
        with pytest.raises(InputError, match="the mat"):
            KNOBS[name].turn(one, 5.0)
    with pytest.raises(InputError, match="whole number"):
        KNOBS["nozzle-count"].turn(one, 5.5)
    with pytest.raises(InputError, match="got none"):
        KNOBS["nozzle-count"].turn(small.stage(), 5.0)
    assert math.isnan(KNOBS["pressure-below"].now(one))


@pytest.mark.parametrize(
    ("name", "value", "was"),
    [
        ("clear-width", 571.0, 590.0),
        ("wire-height", 104.0, 96.0),
        ("tension", 512.0, 600.0),
        ("fill", 0.83, 1.0),
        ("hold-down", 131.0, math.nan),
        ("pack-pressure", 7.0, 0.0),
        ("temperature", 71.0, 20.0),
    ],
)
def test_a_knob_says_what_it_was_set_to(
    small: SimpleNamespace, name: str, value: float, was: float
) -> None:
    line = small.line(small.stage("one"), small.stage("two"))
    turned = KNOBS[name].set(line, 1, value)
    assert KNOBS[name].now(turned.stages[1]) == value
    assert KNOBS[name].now(line.stages[1]) == pytest.approx(was, nan_ok=True)
    assert turned.stages[0] == line.stages[0]
    assert knobs.knob(name) is KNOBS[name]


def test_guides_move_and_wires_hang_between_each_other(small: SimpleNamespace) -> None:
    stage = small.stage()
    (bracket,) = with_faces_moved(stage, -3.0, 5.0).guides.brackets
    assert (bracket.left_mm, bracket.right_mm) == (202.0, 800.0)
    (bracket,) = KNOBS["shift"].turn(stage, 4.0).guides.brackets
    assert (bracket.left_mm, bracket.right_mm) == (209.0, 799.0)
    assert with_wire_height(stage, 60.0, 0).guides.wires.heights_mm == (60.0, 96.0)
    assert with_wire_height(stage, 50.0).guides.wires.heights_mm == (48.0, 50.0)
    assert with_wire_height(stage, 500.0, 1).guides.wires.heights_mm == (48.0, 500.0)
    for height, wire, words in (
        (48.0, 1, "more than 48 mm: "),
        (96.0, 0, "more than 0 mm, less than 96 mm"),
        (0.0, 0, "more than 0 mm, less than 96 mm"),
    ):
        with pytest.raises(InputError, match=words):
            with_wire_height(stage, height, wire)


def test_pressures_kicks_and_water(small: SimpleNamespace) -> None:
    headers = small.header(), small.header("below", first_mm=266.0, pressure_MPa=0.3)
    turned = KNOBS["pressure"].turn(small.stage(headers=headers), 1.5)
    assert [h.pressure_MPa for h in turned.headers] == pytest.approx([0.15, 0.45])
    with pytest.raises(InputError, match="a stage with a header"):
        KNOBS["pressure"].turn(small.stage(), 1.5)
    stage = small.stage()
    assert with_kick_energy(stage, stage.kicks.energy_mJ) is stage
    assert with_kick_energy(stage, 0.2).kicks.energy_mJ == 0.2
    assert math.isnan(KNOBS["water-in-dome"].now(small.stage(water_in_dome=(0.0, 1.0))))
    assert KNOBS["water-in-dome"].now(KNOBS["water-in-dome"].turn(stage, 0.4)) == 0.4
    with pytest.raises(InputError, match="one of clear-width, wire-height"):
        knobs.knob("colour")
