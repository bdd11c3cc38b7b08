"""What if: plugged nozzles against the sum without them, the rest against the check itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from packsim.headers import Faults, HeaderCheck, WhatIf, check_headers
from packsim.line import Header, Scenario
from packsim.spray.dose import dose
from packsim.spray.plugged import margins_plugged
from packsim.spray.spray_load import spray_load


def without_nozzle(header: Header, nozzle: int) -> tuple[Header, ...]:
    """A header without one of its nozzles, counted from 0: what is left and right of it."""
    after = header.positions_mm[nozzle] + header.pitch_mm
    parts = [(header.first_mm, nozzle), (float(after), header.count - nozzle - 1)]
    return tuple(replace(header, first_mm=at, count=n) for at, n in parts if n)


@pytest.fixture(scope="module")
def checks(swing: Scenario) -> tuple[HeaderCheck, ...]:
    return check_headers(swing, ["rinse"], faults=Faults(wander_mm=6.0))


def row(check: HeaderCheck, what: str, more: float = 0.0) -> WhatIf:
    return next(one for one in check.what_if if one.what == what and one.amount * more >= 0.0)


def least(swing: Scenario, check: HeaderCheck, move: float = 0.0, **change: float) -> list[float]:
    """Least dose inside and on top, and least margin, of changed headers, from scratch."""
    at = check.at
    headers = [replace(h, **change) for h in at.stage.headers]  # type: ignore[arg-type]
    got = dose(at.lines_mm + move, at.cans_per_mm, at.stance, headers, swing.mat)
    load = spray_load(at.lines_mm + move, at.stance, headers, swing.mat.open_fraction)
    return [got.inside_mL.min(), got.top_mL.min(), load.hold_margin.min()]


def told(one: WhatIf) -> list[float]:
    return [*(d.worst_mL for d in one.doses), one.hold_margin]


def test_as_it_is_is_the_check(swing: Scenario, checks: tuple[HeaderCheck, ...]) -> None:
    for check in checks:
        one = check.what_if[0]
        assert told(one) == pytest.approx(least(swing, check))
        for worst in one.doses:
            lanes = next(d.by_lane_mL for d in check.doses if d.place == worst.place)
            assert worst.worst_mL == pytest.approx(lanes.min())
            assert lanes[worst.lane - 1] == pytest.approx(lanes.min())


def test_the_worst_nozzle_is_found_by_leaving_out_each(
    swing: Scenario, checks: tuple[HeaderCheck, ...]
) -> None:
    for check in checks:
        at = check.at
        found = [one for one in check.what_if if one.what == "plugged"]
        assert len(found) == len(at.stage.headers)
        for one in found:
            header = next(
                h for h in at.stage.headers if (h.side, h.station_mm) == (one.side, one.station_mm)
            )
            others = [h for h in at.stage.headers if h is not header]
            place = {"below": 0, "above": 1}[header.side]
            doses, margins = [], []
            for k in range(header.count):
                left = [*others, *without_nozzle(header, k)]
                got = dose(at.lines_mm, at.cans_per_mm, at.stance, left, swing.mat)
                doses.append((got.inside_mL, got.top_mL)[place].min())
            for k in (0, 1, 11, one.hold_nozzle - 1):
                left = [*others, *without_nozzle(header, k)]
                load = spray_load(at.lines_mm, at.stance, left, swing.mat.open_fraction)
                margins.append(float(load.hold_margin.min()))
            assert one.doses[place].worst_mL == pytest.approx(min(doses), rel=1e-9)
            assert doses[one.nozzle - 1] == pytest.approx(min(doses), rel=1e-6)
            assert one.doses[1 - place].change_share == pytest.approx(0.0, abs=1e-12)
            # parts of a header are looked at in other places along travel
            assert one.hold_margin == pytest.approx(margins[-1], abs=1e-3)
            assert one.hold_margin <= min(margins) + 1e-3


def test_margins_without_each_nozzle_are_those_of_the_parts(
    swing: Scenario, checks: tuple[HeaderCheck, ...]
) -> None:
    at, share = checks[0].at, swing.mat.open_fraction
    found = margins_plugged(at.lines_mm, at.stance, at.stage.headers, share)
    assert set(found) == set(at.stage.headers)
    for header, margins in found.items():
        assert len(margins) == header.count
        others = [h for h in at.stage.headers if h is not header]
        for k in (0, 5, 23):
            left = [*others, *without_nozzle(header, k)]
            want = spray_load(at.lines_mm, at.stance, left, share).hold_margin.min()
            assert margins[k] == pytest.approx(want, abs=1e-3)


def test_wander_pressure_and_height_are_those_of_the_changed_headers(
    swing: Scenario, checks: tuple[HeaderCheck, ...]
) -> None:
    for check in checks:
        assert told(row(check, "left")) == pytest.approx(least(swing, check, -6.0))
        assert told(row(check, "right")) == pytest.approx(least(swing, check, 6.0))
        pressures = [h.pressure_MPa for h in check.at.stage.headers]
        for more in (-0.1, 0.1):
            one = row(check, "pressure", more)
            as_is = told(check.what_if[0])
            # flow goes with the root of the pressure
            assert told(one)[:2] == pytest.approx(np.array(as_is[:2]) * np.sqrt(1.0 + more))
            stage = check.at.stage
            turned = tuple(
                replace(h, pressure_MPa=p * (1.0 + more))
                for h, p in zip(stage.headers, pressures, strict=True)
            )
            load = spray_load(check.at.lines_mm, check.at.stance, turned, swing.mat.open_fraction)
            assert one.hold_margin == pytest.approx(load.hold_margin.min())
        height = row(check, "stand-off", 0.0)
        other = next(can for can in swing.sizes if can.name != check.at.can.name)
        assert height.size == other.name
        assert height.amount == pytest.approx(check.at.can.height_mm - other.height_mm)
        moved = [
            replace(h, mat_distance_mm=h.mat_distance_mm + height.amount)
            if h.side == "above"
            else h
            for h in check.at.stage.headers
        ]
        at = check.at
        got = dose(at.lines_mm, at.cans_per_mm, at.stance, moved, swing.mat)
        assert told(height)[:2] == pytest.approx([got.inside_mL.min(), got.top_mL.min()])


def test_no_holes_within_their_tolerance_give_less(
    swing: Scenario, checks: tuple[HeaderCheck, ...]
) -> None:
    rng = np.random.default_rng(9)
    for check in checks:
        at, one = check.at, row(check, "holes")
        assert one.amount == 0.5
        for _ in range(5):
            headers = []
            for header in at.stage.headers:
                holes = header.positions_mm + rng.choice([-0.5, 0.5], header.count)
                headers += [replace(header, first_mm=float(x), count=1) for x in holes]
            got = dose(at.lines_mm, at.cans_per_mm, at.stance, headers, swing.mat)
            assert one.doses[0].worst_mL <= got.inside_mL.min() * (1.0 + 1e-4)
            assert one.doses[1].worst_mL <= got.top_mL.min() * (1.0 + 1e-4)
        assert -0.03 < one.doses[0].change_share < 0.0


def test_only_what_is_asked_is_looked_at(swing: Scenario) -> None:
    (check,) = check_headers(swing, ["rinse"], ["sleek body"])
    assert check.what_if == ()
    asked = Faults(wanders=False, tolerance_mm=0.0, pressure_share=0.0, next_height=False)
    (check,) = check_headers(swing, ["rinse"], ["sleek body"], asked)
    assert {one.what for one in check.what_if} == {"as it is", "plugged"}
    (air,) = check_headers(swing, ["blow-off"], ["sleek body"], asked)
    assert [d.place for d in air.what_if[0].doses] == ["top"]
