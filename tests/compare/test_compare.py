"""Lines side by side: the same, turned round, added up, drawn from the same unknowns."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from packsim.answers.quantities import quantity
from packsim.arrays import Floats
from packsim.chance import chance_of
from packsim.compare import Comparison, compare_lines, tip_draws
from packsim.compare import tips as tips_room
from packsim.compare.by_slack import by_slack
from packsim.compare.common_draws import common_values
from packsim.compare.compare import DRAWN, SHOWN
from packsim.compare.differing import differing
from packsim.compare.tips import stage_draws
from packsim.errors import InputError
from packsim.line import Scenario, Stage
from packsim.line.input_range import range_of, with_value
from packsim.scenario import load_scenario
from tests.compare.lines import rough
from tests.small_line import small_line, small_stage

SIZE = "211 body"


@cache
def compared(*widths: tuple[float, ...]) -> Comparison:
    return compare_lines({str(k): rough(*each) for k, each in enumerate(widths)})


def drawn_by_stage(found: Comparison, seed: int, draws: int) -> tuple[Floats, ...]:
    return stage_draws(found, SIZE, common_values(found.lines, seed, draws), seed, draws)


def test_a_line_beside_itself_differs_in_nothing() -> None:
    found = compare_lines({"before": rough(606.0, 612.0), "after": rough(606.0, 612.0)})
    (size,) = found.sizes
    changes = [*size.changes, *(one for stage in size.stages for one in stage.changes[0])]
    assert found.machine == ()
    assert len(changes) > 2 * len(DRAWN)
    for one in changes:
        assert one.by == 0.0, one
        assert one.interval in (None, (0.0, 0.0)), one
        assert not one.settled, one
    assert size.changes[0].ratio_interval == (1.0, 1.0)


def test_turned_round_every_difference_changes_its_sign() -> None:
    forth, back = compared((612.0,), (606.0,)), compared((606.0,), (612.0,))
    for one, other in zip(
        forth.sizes[0].stages[0].changes[0], back.sizes[0].stages[0].changes[0], strict=True
    ):
        assert (one.key, one.by) == (other.key, pytest.approx(-other.by))
        assert one.settled == other.settled
        if one.interval is not None and other.interval is not None:
            assert one.interval == pytest.approx(tuple(-end for end in other.interval[::-1]))
        if one.ratio is not None and other.ratio is not None:
            assert one.ratio == pytest.approx(1.0 / other.ratio)


def test_tips_of_the_line_are_those_of_its_stages_added_up() -> None:
    found = compared((612.0, 606.0), (606.0, 606.0))
    each = drawn_by_stage(found, 5, 64)
    whole = tip_draws(found, SIZE, np.random.default_rng(3), 64)
    seed = int(np.random.default_rng(3).integers(2**63))
    assert [one.shape for one in each] == [(64, 2), (64, 2)]
    again = [one.sum(axis=1) for one in drawn_by_stage(found, seed, 64)]
    assert np.array_equal(whole, np.stack(again, axis=1))
    for k, chance in enumerate(found.sizes[0].chances):
        parts = sum(stage.chances[k].tips_per_million for stage in found.sizes[0].stages)
        assert chance.tips_per_million == pytest.approx(parts)
    difference = sum(stage.changes[0][-1].by for stage in found.sizes[0].stages)
    assert found.sizes[0].changes[0].by == pytest.approx(difference)


def test_the_draws_hang_on_no_last_digit_of_a_line() -> None:
    """Else another version of Python or of a library gave other intervals of a difference."""
    line = rough(612.0)
    found = compare_lines({"a": line, "b": line})
    nearly = replace(found, lines=(rough(612.0 + 1e-10), line))
    one, other = drawn_by_stage(nearly, 5, 64)
    assert one == pytest.approx(other, rel=0.01)  # passages beside it are run anew


def test_drawn_tips_are_those_the_passages_give_at_the_kicks_drawn(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The chance room works out each draw anew; here they are read off a table of energies."""
    line = _known_but_for("kicks", rough(612.0, 606.0))
    found = compare_lines({"a": line, "b": line})
    chance = found.sizes[0].chances[0]
    monkeypatch.setattr(tips_room, "log_interval", lambda each: (0.0 * each.mean(axis=0),) * 4)
    (drawn, _) = drawn_by_stage(found, 11, 40)
    (values, _) = common_values(found.lines, 11, 40)
    names = [stage.name for stage in line.stages]
    rate = [values[f"stages[{i}].kicks.kicks_per_second"] for i in range(2)]
    for k in range(40):
        kicks = {n: values[f"stages[{i}].kicks.energy"][k] for i, n in enumerate(names)}
        times = [rate[i][k] / line.stages[i].kicks.rate_per_s for i in range(2)]
        tips = [chance.spectrum.expected(n, kicks[n], times[i]) for i, n in enumerate(names)]
        # shape (repeats, lanes, places, 1): the mean of the repeats, all places of a lane
        first, then = (each.mean(axis=0).sum(axis=1)[:, 0] for each in tips)
        share = chance.spectrum.share
        assert drawn[k, 0] == pytest.approx(1e6 * share @ -np.expm1(-first), rel=0.01)
        later = share @ (np.exp(-first) * -np.expm1(-then))
        assert drawn[k, 1] == pytest.approx(1e6 * later, rel=0.01)


def _known_but_for(what: str, line: Scenario) -> Scenario:
    return replace(line, ranges=tuple(one for one in line.ranges if what in one.key))


def test_drawn_slack_tips_as_many_as_a_line_that_has_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A draw's clear width is set and carried down the line anew; lines are straight in between.

    Between 604 and 608 mm tips grow a thousandfold. Straight lines of their logarithm stay within a
    factor of two and a bit of that in between, and meet it at the ends but for the passages' error.
    """
    line = _known_but_for("clear_width", rough(606.0))
    (known,) = line.ranges
    wide = replace(line, ranges=(replace(known, low=604.0, high=608.0),))
    found = compare_lines({"a": wide, "b": wide})
    monkeypatch.setattr(tips_room, "log_interval", lambda each: (0.0 * each.mean(axis=0),) * 4)
    (drawn, _) = drawn_by_stage(found, 1, 400)
    (values, _) = common_values(found.lines, 1, 400)
    widths = values["stages[0].clear_width"]
    order = np.argsort(widths)
    assert np.all(np.diff(drawn[order, 0]) >= 0.0)
    for k in (order[5], order[100], order[200], order[300], order[-5]):
        there = chance_of(_with(line, line.stages[0].with_clear_width(float(widths[k]))), SIZE)
        within = 0.8 if 20 < np.flatnonzero(order == k)[0] < 380 else 0.25
        assert math.log(drawn[k, 0] / there.tips_per_million) == pytest.approx(0.0, abs=within)


def test_without_ranges_the_error_of_the_passages_is_what_is_left() -> None:
    line = replace(rough(612.0), ranges=())
    tight = replace(rough(606.0), ranges=())
    found = compare_lines({"a": line, "b": tight})
    draws = tip_draws(found, SIZE, np.random.default_rng(0), 4000)
    for k, chance in enumerate(found.sizes[0].chances):
        low, high = np.quantile(draws[:, k], (0.025, 0.975))
        assert math.log(high / chance.tips_per_million) == pytest.approx(
            math.log(chance.line.interval[1] / chance.tips_per_million), rel=0.1
        )
        assert low < chance.tips_per_million < high
    assert all(one.interval is None for one in found.sizes[0].stages[0].changes[0][:-1])


def test_a_looser_pack_tips_more_and_no_doubt_about_the_kicks_turns_that() -> None:
    lines = {f"{width}": rough(width, energy=0.15) for width in (606.0, 609.0, 612.0)}
    found = compare_lines(lines, rng=np.random.default_rng(4))
    once, twice = found.sizes[0].changes
    assert 0.0 < once.by < twice.by
    assert once.settled
    assert twice.settled
    for change in (once, twice):
        assert change.interval is not None
        assert change.ratio_interval is not None
        assert change.interval[0] <= change.by <= change.interval[1]
        assert 1.0 < change.ratio_interval[0] <= (change.ratio or 0.0) <= change.ratio_interval[1]


def test_one_unknown_is_drawn_once_for_all_lines_and_what_was_changed_for_itself() -> None:
    first, other = rough(606.0, 606.0), rough(606.0, 612.0)
    one, two = common_values((first, other), 7, 50)
    assert np.array_equal(one["sizes[0].diameter"], two["sizes[0].diameter"])
    assert np.array_equal(one["stages[0].clear_width"], two["stages[0].clear_width"])
    moved = two["stages[1].clear_width"] - one["stages[1].clear_width"]
    assert np.ptp(moved) > 0.5
    # the same unknown under another number: the stages stand the other way round
    turned = rough(606.0, 612.0, stages=("rinse", "wash"))
    (_, three) = common_values((first, turned), 7, 50)
    assert np.array_equal(one["stages[1].kicks.energy"], three["stages[0].kicks.energy"])


def test_a_common_unknown_blurs_no_difference() -> None:
    """Two widths, each known to a millimetre and set by itself: their difference is a triangle.

    Whatever else is not known moves both slacks alike: the diameter alone by millimetres.
    """
    found = compared((606.0,), (607.0,))
    slack = next(c for c in found.sizes[0].stages[0].changes[0] if c.key == "loosest_slack_mm")
    (values, _) = common_values(found.lines, found.seed, 1000)
    swing = 9.0 * np.ptp(values["sizes[0].diameter"])
    assert swing > 2.0
    assert slack.by == pytest.approx(1.0)
    assert slack.interval is not None
    most = 2.0 * (1.0 - math.sqrt(0.05))
    assert slack.interval == pytest.approx((1.0 - most, 1.0 + most), abs=0.15)
    assert not slack.settled


@pytest.mark.parametrize("step", [7, pytest.param(1, marks=pytest.mark.all)])
def test_whatever_is_changed_in_a_line_is_said(root: Path, step: int) -> None:
    """Every input in turn: one number of the machine is another, and it is named with both."""
    line = load_scenario(root / "scenarios" / "swing_line.toml")
    stages, sizes = [s.name for s in line.stages], [c.name for c in line.sizes]
    changed = [one for one in line.ranges if not one.exact][::step]
    assert len(changed) > 40
    for one in changed:
        end = one.high if one.high != one.value else one.low
        other = with_value(line, one.key, end)
        if other == line:  # as many brackets with a little more room between them
            continue
        found = differing((line, other), stages, sizes)
        assert found, one.key
        assert all(each.values[0] != each.values[1] for each in found)
    assert differing((line, line), stages, sizes) == ()


def test_guides_are_moved_as_far_as_the_least_known_stage_may_be_off() -> None:
    """By hand: of even values within 4 mm, 95 % lie within 3.8, which is 4 in whole halves."""
    line = rough(610.0, 610.0)
    own = [one for one in line.ranges if one.key.endswith("clear_width")]
    off = (0.5 * np.linspace(-1.0, 1.0, 401), 4.0 * np.linspace(-1.0, 1.0, 401))
    values = {one.key: one.value + by_mm for one, by_mm in zip(own, off, strict=True)}
    moved = by_slack(line, SIZE, values, 401)
    assert moved.slack_mm == pytest.approx(np.array(off))
    assert (moved.low_mm, moved.high_mm) == (4.0, 4.0)


def test_a_header_more_or_other_brackets_are_said(root: Path) -> None:
    line = load_scenario(root / "scenarios" / "swing_line.toml")
    wash = line.stage("wash")
    fewer = replace(wash, headers=wash.headers[1:])
    (found,) = differing((line, _with(line, fewer)), ["wash"], [])
    side = wash.headers[0].side
    count = sum(header.side == side for header in wash.headers)
    assert (found.field, found.values) == (f"headers.{side}.count", (count, count - 1))
    spaced = with_value(line, "guides.bracket_spacing", 1500.0)
    (found,) = differing((line, spaced), ["wash"], [])
    assert found.field == "guides.stations_mm"


def _with(line: Scenario, stage: Stage) -> Scenario:
    return line.with_stages(tuple(stage if one.name == stage.name else one for one in line.stages))


@pytest.mark.all
def test_what_only_some_lines_have_is_named_and_the_rest_compared() -> None:
    one, other = rough(606.0, 606.0), rough(606.0, 606.0, stages=("wash", "drain"))
    found = compare_lines({"a": one, "b": other})
    assert [stage.stage for stage in found.sizes[0].stages] == ["wash"]
    left = [(out.what, out.name, out.lines) for out in found.left_out]
    assert left == [("stage", "rinse", ("a",)), ("stage", "drain", ("b",))]


def test_a_line_in_which_nothing_fits_has_no_tips_to_compare() -> None:
    narrow = replace(rough(606.0), ranges=())
    stage = narrow.stages[0].with_clear_width(50.0)
    found = compare_lines({"a": narrow, "b": _with(narrow, stage)})
    (change,) = found.sizes[0].changes
    assert math.isnan(change.by)
    assert (change.interval, change.settled) == (None, None)
    assert found.sizes[0].chances[1].reason


def test_lines_that_have_nothing_in_common_are_refused() -> None:
    small = small_line(small_stage())
    with pytest.raises(InputError, match="size: got"):
        compare_lines({"a": small, "b": rough(606.0)})
    with pytest.raises(InputError, match="two or more"):
        compare_lines({"a": small})
    with pytest.raises(InputError, match="stage: got"):
        compare_lines({"a": rough(606.0), "b": rough(606.0, stages=("oven",))})
    with pytest.raises(InputError, match="size: got 'tin'"):
        compare_lines({"a": rough(606.0), "b": rough(606.0)}, ["tin"])


def test_every_difference_is_that_of_the_answers() -> None:
    found = compared((606.0,), (612.0,))
    (stage,) = found.sizes[0].stages
    told = {one.key: one.by for one in stage.changes[0][:-1]}
    for key in SHOWN:
        values = [quantity(key).plain(answer) for answer in stage.answers]
        if None in values:
            assert key not in told
        else:
            assert told[key] == pytest.approx(values[1] - values[0]), key
    assert stage.chances[0].tips_per_million == chance_of(found.lines[0], SIZE).tips_per_million
    assert range_of(found.lines[0], "stages[0].kicks.energy").value == 0.3
