"""Size changes worked out by hand, and what any of them must keep to."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from packsim.errors import InputError
from packsim.headers import check_headers
from packsim.line import Bracket, Header, KnownSetting, Nozzle, Scenario, Stage
from packsim.scenario import load_scenario
from packsim.size_change import SizeChange, apply_change, plan_change

NOZZLE = Nozzle("cone", math.radians(60.0), 3e4, 0.2)

PACK_13 = 52.0 * (1.0 + 12.0 * math.sqrt(3.0) / 2.0)
"""13 lanes of the small can: 592.400 mm. The big can's 590 mm is 2.4 mm too narrow for them, and
12 lanes would leave 42.6 mm, so 13 are meant."""


def faces(change: SizeChange) -> set[tuple[str, float, float, str]]:
    return {(m.side, m.now_mm, m.new_mm, m.direction) for m in change.moves}


def words(change: SizeChange, level: str) -> str:
    return " | ".join(a.what for a in change.alerts if a.level == level)


def test_moves_by_hand(line: Callable[..., Scenario], stage: Callable[..., Stage]) -> None:
    # Balance: tan α = 26/72. The upper wire at 90 mm is below H cos α = 120 · 72/76.55 = 112.9 mm,
    # so the safe slack is 90 · 26/72 = 32.5 mm; over the factor of 2: 16.25 mm. The setting step
    # takes 0.5 mm at either end: the window is 592.400 + (0.5 … 15.75), its middle 600.525 mm.
    # (1000 − 600.525)/2 = 199.74 mm from either edge, 199.5 mm on the nearest half millimetre.
    change = plan_change(line(stage()), "big", "small")
    window = change.stages[0].after.window
    assert window.low_mm == pytest.approx(PACK_13 + 0.5, abs=1e-6)
    assert window.high_mm == pytest.approx(PACK_13 + 15.75, abs=1e-6)
    assert faces(change) == {("left", 205.0, 199.5, "out"), ("right", 205.0, 199.5, "out")}
    assert {m.move_mm for m in change.moves} == {5.5}
    assert [m.station_mm for m in change.moves] == [0.0, 0.0, 2000.0, 2000.0]
    assert change.stages[0].setting.source == "window"
    assert not change.alerts or {a.level for a in change.alerts} == {"note"}


def test_an_inch_rule_by_hand(line: Callable[..., Scenario], stage: Callable[..., Stage]) -> None:
    # 199.7375 mm is 251.64 thirty-seconds of an inch of 0.79375 mm: 252 of them, 200.025 mm
    change = plan_change(line(stage()), "big", "small", step_mm=25.4 / 32.0)
    assert [m.new_mm for m in change.moves] == pytest.approx([200.025] * 4, abs=1e-9)


def test_speed_and_dwell_by_hand(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    # 10 lanes of 66 mm are 10000/66 cans per metre, 13 of 52 mm are 250
    case = line(stage())
    rate, dwell = (plan_change(case, "big", "small", keep) for keep in ("rate", "dwell"))
    assert rate.setting.cans_per_min == (pytest.approx(10000.0 / 66.0 * 6.0),) * 2
    assert rate.setting.speed_mm_per_s == (100.0, pytest.approx(100.0 * 10000.0 / 66.0 / 250.0))
    assert rate.stages[0].after.dwell_s == pytest.approx(20.0 * 250.0 * 66.0 / 10000.0)
    assert dwell.setting.speed_mm_per_s == (100.0, 100.0)
    assert dwell.setting.cans_per_min[1] == pytest.approx(250.0 * 6.0)
    assert dwell.stages[0].after.dwell_s == dwell.stages[0].before.dwell_s == 20.0
    ratio = dwell.setting.cans_per_min[1] / dwell.setting.cans_per_min[0]
    assert rate.setting.speed_mm_per_s[0] / rate.setting.speed_mm_per_s[1] == pytest.approx(ratio)


def headed(stage: Stage, first_mm: float, pitch_mm: float, count: int) -> Stage:
    """Nozzles with no pressure: they aim, and push nothing."""
    header = Header("above", 1000.0, 250.0, first_mm, pitch_mm, count, 0.0, NOZZLE)
    return replace(stage, headers=(header,))


def test_the_pack_is_shifted_onto_its_nozzles(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    # Nozzles at the lane pitch 52 √3/2, their middle 503 mm: 3 mm right of the pass. So the left
    # face is 503 − 300.26 = 202.74 mm from its edge, 202.5 on the rule, the right 196.74, 196.5.
    pitch = 52.0 * math.sqrt(3.0) / 2.0
    case = line(headed(stage(), 503.0 - 6.0 * pitch, pitch, 13))
    change = plan_change(case, "big", "small")
    assert faces(change) == {("left", 205.0, 202.5, "out"), ("right", 205.0, 196.5, "out")}
    assert change.stages[0].setting.shift_mm == 3.0
    found = change.stages[0].after.alignment
    assert found is not None
    assert found.now.worst_mm == pytest.approx(0.0, abs=1e-6)


def test_stages_in_line_are_shifted_together(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    # the drain has no nozzles of its own, and must not be left 3 mm aside of the wash
    pitch = 52.0 * math.sqrt(3.0) / 2.0
    wash = headed(stage(), 503.0 - 6.0 * pitch, pitch, 13)
    change = plan_change(line(wash, stage("drain")), "big", "small")
    assert [part.setting.shift_mm for part in change.stages] == [3.0, 3.0]
    # two stages whose nozzles want +3 and −3 are best left between: each 3 mm off
    other = headed(stage("rinse"), 497.0 - 6.0 * pitch, pitch, 13)
    change = plan_change(line(wash, other), "big", "small")
    assert [part.setting.shift_mm for part in change.stages] == [0.0, 0.0]


def test_what_fits_stays(line: Callable[..., Scenario], stage: Callable[..., Stage]) -> None:
    case = line(stage(left=199.0, right=801.0))  # 602 mm, inside the window of the small can
    change = plan_change(case, "big", "small")
    assert {m.direction for m in change.moves} == {"stay"}
    assert change.stages[0].setting.source == "stays"


def test_set_right_for_the_size_it_runs(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    case = line(stage())
    after = apply_change(case, plan_change(case, "big", "small"))
    again = plan_change(after, "small", "small")
    assert {m.direction for m in again.moves} == {"stay"}
    assert again.setting.speed_mm_per_s[0] == pytest.approx(again.setting.speed_mm_per_s[1])


def test_an_empty_window_gives_its_low_end_and_says_so(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    # A 10 mm step takes 10 mm off either end of 16.25: 3.75 mm are missing. 12 lanes need 557.4 mm,
    # so 220 mm from either edge; 13 need 602.4, and the next mark, 610, leaves them more slack.
    change = plan_change(line(stage(setting_step_mm=10.0)), "big", "small")
    part = change.stages[0]
    assert part.setting.source == "low end"
    assert part.after.pack.clear_width_mm == 560.0
    assert "no guide setting is safe" in words(change, "change")


def test_travel_limits_choose_the_lanes_or_stop(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    # no nearer than 205 mm to the edge: 590 mm at most, so 12 lanes, 547.37 + 8.125 mm wide
    change = plan_change(line(stage(travel_mm=(205.0, 400.0))), "big", "small")
    assert change.stages[0].after.pack.lanes == 12
    assert {m.direction for m in change.moves} == {"in"}
    assert not words(change, "stop")
    # between 215 and 216 mm: 568 to 570 mm; 12 lanes want 563.1 at most, 13 want 592.9 at least
    change = plan_change(line(stage(travel_mm=(215.0, 216.0))), "big", "small")
    assert "travel of the brackets ends at a clear width of 568.0 mm" in words(change, "stop")
    assert all(215.0 <= m.new_mm <= 216.0 for m in change.moves)


def test_a_shift_stops_at_the_travel(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    pitch = 52.0 * math.sqrt(3.0) / 2.0
    wash = headed(stage(travel_mm=(198.0, 400.0)), 503.0 - 6.0 * pitch, pitch, 13)
    change = plan_change(line(wash), "big", "small")
    assert min(m.new_mm for m in change.moves) == 198.0  # 196.5 is out of reach


def test_a_setting_on_record_is_taken_and_judged(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    good = tuple(Bracket(x, 199.3, 800.1) for x in (0.0, 2000.0))
    case = line(replace(stage(), settings=(KnownSetting("small", good),)))
    change = plan_change(case, "big", "small")
    assert change.stages[0].setting.source == "record"
    assert change.stages[0].setting.brackets == good
    assert not words(change, "change")
    # 13 lanes take 608.15 mm at most
    loose = tuple(Bracket(x, 194.0, 806.0) for x in (0.0, 2000.0))
    case = line(replace(stage(), settings=(KnownSetting("small", loose),)))
    change = plan_change(case, "big", "small")
    assert change.stages[0].setting.brackets == loose
    assert "on record, 612.0 mm, is too loose" in words(change, "change")


def test_the_hold_down_keeps_its_clearance(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    case = line(stage(hold_down_mm=124.0))  # 4 mm over 120 mm, so 144 mm over 140 mm
    hold = plan_change(case, "big", "tall").stages[0].setting.hold_down
    assert hold is not None
    assert (hold.new_mm, hold.direction) == (144.0, "up")
    # 30 mm over the tops holds nothing: the limit for the tall can, balance at tan α = 26/80, is
    # 52 sin α + 140 cos α − 140 = 9.22 mm; half of it is 4.61, on the rule 144.5 mm
    case = line(stage(hold_down_mm=150.0))
    hold = plan_change(case, "big", "tall").stages[0].setting.hold_down
    assert hold is not None
    assert hold.new_mm == 144.5


def test_wires_are_moved_once_for_both_sizes(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    # the tall can's upper wire belongs 5 mm above its centre of gravity at 80 mm, the big can's
    # below 112 mm: the wire at 90 mm serves both
    part = plan_change(line(stage()), "big", "tall").stages[0].setting.wires
    assert [m.direction for m in part.moves] == ["stay", "stay"]
    # 118 mm serves the tall can alone. The big one's upper band ends at H cos α = 120 · 72/79.20 =
    # 109.09 mm: that wire comes down to 109.0, the last half millimetre inside. 60 mm serves
    # neither: above 0.35 of either height, below 77 mm.
    high = stage()
    wires = replace(high.guides.wires, heights_mm=(30.0, 60.0, 118.0))
    high = replace(high, guides=replace(high.guides, wires=wires))
    part = plan_change(line(high), "big", "tall").stages[0].setting.wires
    assert [(m.now_mm, m.new_mm, m.direction, m.idle) for m in part.moves] == [
        (30.0, 30.0, "stay", False),
        (60.0, 60.0, "stay", True),
        (118.0, 109.0, "down", False),
    ]
    assert not part.unserved
    assert part.keeps_old


def test_a_wire_is_added_where_none_can_serve_both(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    # one wire cannot be below 42 mm and above 77 mm
    low = stage()
    wires = replace(low.guides.wires, heights_mm=(30.0,))
    low = replace(low, guides=replace(low.guides, wires=wires))
    case = line(low)
    change = plan_change(case, "big", "tall")
    assert [m.direction for m in change.stages[0].setting.wires.moves] == ["stay", "add"]
    assert "one wire more" in words(change, "change")
    after = apply_change(case, change)
    assert after.stages[0].guides.wires.heights_mm == (30.0, 109.0)


def test_wire_heights_on_record_are_put_back_only_where_they_must(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    stood = stage().guides.brackets
    known = KnownSetting("tall", stood, wire_heights_mm=(20.0, 125.0))
    case = line(replace(stage(), settings=(known,)))
    out = apply_change(case, plan_change(case, "big", "tall"))
    assert out.stages[0].guides.wires.heights_mm == (20.0, 125.0)
    # 125 mm is above the big can: its own heights must go on record and come back
    assert out.stages[0].setting_for("big") == KnownSetting("big", stood, (30.0, 90.0))
    back = apply_change(out, plan_change(out, "tall", "big"))
    assert back.stages[0].guides.wires.heights_mm == (30.0, 90.0)


def test_a_wire_that_serves_no_size_is_named(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    odd = stage()
    wires = replace(odd.guides.wires, heights_mm=(30.0, 60.0, 90.0))
    odd = replace(odd, guides=replace(odd.guides, wires=wires))
    change = plan_change(line(odd), "big", "small")
    assert "the wire at 60.0 mm serves neither size" in words(change, "watch")


def test_a_header_in_the_way_stops_it(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    low = Header("above", 1000.0, 130.0, 300.0, 50.0, 9, 0.0, NOZZLE)
    change = plan_change(line(replace(stage(), headers=(low,))), "big", "tall")
    assert "10.0 mm below the can tops" in words(change, "stop")


def test_the_headers_are_checked_for_the_new_size(root: Path) -> None:
    line = load_scenario(root / "scenarios" / "swing_line.toml")
    change = plan_change(line, "211 body", "sleek body")
    after = apply_change(line, change)
    shares = {}
    for case, size in ((line, "211 body"), (after, "sleek body")):
        for check in check_headers(case, ["wash"], [size]):
            for dose in check.doses:
                shares[size, dose.place] = dose.even
    for place, where in (("inside", "inside"), ("top", "on top")):
        alerts = [a for a in change.alerts if f"of the mean dose {where}" in a.what]
        (values,) = (
            v
            for alert in alerts
            for stage, v in zip(alert.stages, alert.values, strict=True)
            if stage == "wash"
        )
        now = shares["sleek body", place]
        assert values["least_share"] == pytest.approx(now.least_share)
        assert values["was_share"] == pytest.approx(shares["211 body", place].least_share)
        assert int(values["few"]) == len(now.under)
    assert "58 %, before the change 76 %" in words(change, "watch")
    assert "the can tops come 33.2 mm nearer to the nozzles above" in words(change, "note")


def test_dry_stripes_on_taller_cans_are_told(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    # 30 mm over the tall can's top a cone of 60 deg is 2 · 30 tan 30 deg = 34.6 mm wide
    header = Header("above", 500.0, 170.0, 200.0, 50.0, 14, 0.02, NOZZLE)
    change = plan_change(line(stage(headers=(header,))), "big", "tall")
    assert "dry stripes 15.4 mm wide" in words(change, "watch")


def test_lanes_misses_and_the_size_set_for_are_told(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    case = line(headed(stage(), 200.0, 100.0, 7))  # 100 mm apart: some lane is far off
    change = plan_change(case, "small", "tall")
    assert "away from its nearest nozzle" in words(change, "watch")
    assert "set for big, not small" in words(change, "watch")


def test_a_corner_between_stages_is_told(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    # the first stage on record at 150 mm from either edge, the second planned at 199.5 mm
    wide = tuple(Bracket(x, 150.0, 850.0) for x in (0.0, 2000.0))
    first = replace(stage("a"), settings=(KnownSetting("small", wide),))
    change = plan_change(line(first, stage("b")), "big", "small")
    told = words(change, "watch")
    assert "the left guide of b stands 49.5 mm farther in than a" in told
    assert "the right guide of b stands 49.5 mm farther in than a" in told
    assert "15 lanes in a, 13 in b" in told


def test_guides_with_no_room_at_all_are_answered(
    line: Callable[..., Scenario], stage: Callable[..., Stage]
) -> None:
    # nearest 600 mm from either edge of a 1000 mm mat: no bracket can stand anywhere
    change = plan_change(line(stage(travel_mm=(600.0, 700.0))), "big", "small")
    assert "beyond its travel" in words(change, "stop")
    # and a pass the big can does not even fit has no rate to keep
    change = plan_change(line(stage(left=470.0, right=530.0)), "big", "small")
    assert change.setting.speed_mm_per_s == (100.0, 100.0)
    assert "no rate to keep" in words(change, "change")


def test_bad_words_are_refused(line: Callable[..., Scenario], stage: Callable[..., Stage]) -> None:
    case = line(stage())
    with pytest.raises(InputError, match="one of big, small, tall"):
        plan_change(case, "big", "smal")
    with pytest.raises(InputError, match="keep"):
        plan_change(case, "big", "small", "both")
    with pytest.raises(InputError, match="step_mm"):
        plan_change(case, "big", "small", step_mm=0.0)
    change = plan_change(case, "big", "small")
    with pytest.raises(InputError, match="change"):
        apply_change(line(stage("other")), change)
