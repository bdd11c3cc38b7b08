"""Over two hundred made-up lines: commands say the same, and words agree with numbers."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

from packsim.answers import Answer, answer_line
from packsim.line import Scenario
from packsim.setting import LineSetting, recommend
from tests.one_voice import voices as by
from tests.one_voice.lines import MANY, made_up

TENS = [
    pytest.param(first, marks=pytest.mark.all if first % 50 else ()) for first in range(0, MANY, 10)
]
"""First lines of groups of ten; every fifth group is asked in the usual tests."""


@cache
def line(number: int) -> Scenario:
    return made_up(number)


@cache
def answers(number: int) -> list[Answer]:
    case = line(number)
    return [answer for can in case.sizes for answer in answer_line(case, can.name)]


@cache
def settings(number: int) -> list[LineSetting]:
    return [recommend(line(number), can.name) for can in line(number).sizes]


def ten(first: int) -> range:
    return range(first, first + 10)


@pytest.mark.parametrize("first", TENS)
def test_commands_say_the_same_of_a_line_as_found(first: int) -> None:
    for number in ten(first):
        voices = by.Voices()
        by.hear_study(voices, line(number))
        by.hear_nozzles(voices, line(number))
        by.hear_sweep(voices, line(number))
        if number % 10 == 3:  # these take longest
            by.hear_plan(voices, line(number))
            by.hear_why(voices, line(number))
            by.hear_change(voices, line(number))
        assert voices.laid_side_by_side > 100
        assert not voices.contradictions(), number


@pytest.mark.parametrize("first", TENS)
def test_commands_say_the_same_of_a_line_as_recommended(first: int) -> None:
    for number in ten(first):
        size = line(number).sizes[-1].name
        voices = by.as_set(line(number), size)
        if number % 4 == 1:
            by.hear_plan_as_set(voices, line(number), size)
        assert voices.laid_side_by_side > 0
        assert not voices.contradictions(), number


@pytest.mark.parametrize("first", TENS)
def test_a_verdict_agrees_with_its_numbers(first: int) -> None:
    for found in (answer for number in ten(first) for answer in answers(number)):
        where, tipping = (found.stage, found.size, first), found.tipping
        blocked = found.hold_down is not None and found.hold_down.blocks
        indices = tipping.loosest.worst, tipping.gathered.index, tipping.own.index
        if not found.pack.fits:
            assert tipping.verdict == "tight", where
            continue
        tips = max(indices) >= 1.0
        assert (tipping.verdict == "can tip") == (tips and not blocked), where
        within = tipping.loosest_slack_mm <= tipping.allowed_slack_mm
        assert (tipping.verdict == "held") == (within and not tips), where
        assert (tipping.verdict == "loose") == ((tips and blocked) or not (within or tips)), where


@pytest.mark.parametrize("first", TENS)
def test_inside_is_inside(first: int) -> None:
    for number in ten(first):
        for found in answers(number):
            width, window = found.pack.clear_width_mm, found.window
            if found.pack.fits and found.worst.balance_rad > 0.0:
                least, most = found.budget.tightest_mm, found.tipping.loosest_slack_mm
                inside = least >= -1e-9 and most <= window.allowed_mm + 1e-9
                assert (window.verdict(width) == "inside") == inside
        for part in (part for setting in settings(number) for part in setting.stages):
            inside = part.window.holds(part.clear_width_mm)
            if part.source in ("stays", "window"):
                assert inside or part.hold_down is not None, (number, part.source)
            assert part.jams == (part.clear_width_mm < part.window.low_mm - 1e-9)
            assert part.safe == (not part.prevents)


@pytest.mark.parametrize("first", TENS)
def test_a_safe_setting_lets_no_can_tip(first: int) -> None:
    for setting in (setting for number in ten(first) for setting in settings(number)):
        verdicts = [answer.tipping.verdict for answer in setting.answers]
        if setting.safe:
            assert set(verdicts) <= {"held", "loose"}, (first, verdicts)
        for part, answer in zip(setting.stages, setting.answers, strict=True):
            if part.safe and answer.tipping.verdict != "held":
                # a hold-down holds them, or the infeed leaves gaps no guide closes
                mat, parted = answer.hold_down, answer.tipping.gathered.index >= 1.0
                assert (mat is not None and mat.blocks) or parted, (first, part.stage.name)


@pytest.mark.parametrize("first", TENS)
def test_a_recommended_width_hangs_on_the_present_one_by_the_fewest_moves_alone(first: int) -> None:
    """For given lanes the window is the same wherever the guides stand, and so is the place in it.

    To within two setting steps, as a face that would move by less than half of one stays; with it
    the middle moves a little, and so does the load of the sprays.
    """
    for number in ten(first)[::2]:
        case, found = line(number), []
        size, lanes = case.set_for, settings(number)[0].stages[0].lanes
        for wider_mm in (0.0, 7.3):
            stages = tuple(
                s.with_clear_width(s.guides.narrowest_mm + wider_mm) for s in case.stages
            )
            found.append(recommend(case.with_stages(stages), size, lanes=lanes))
        for one, other in zip(found[0].stages, found[1].stages, strict=True):
            ends = [(part.window.low_mm, part.window.high_mm) for part in (one, other)]
            assert ends[0] == pytest.approx(ends[1], abs=0.05), number
            moved = {one.source, other.source} <= {"window", "low end"}
            if moved and not (one.gauge or other.gauge):
                step = one.stage.guides.setting_step_mm
                apart = abs(one.clear_width_mm - other.clear_width_mm)
                assert apart <= 2.0 * step + 1e-6, number


@pytest.mark.all
def test_the_lines_are_of_every_sort() -> None:
    found = [answer for number in range(MANY) for answer in answers(number)]
    verdicts = Counter(answer.tipping.verdict for answer in found)
    assert min(verdicts[v] for v in ("held", "loose", "can tip", "tight")) >= 5
    mats = Counter(answer.hold_down.state for answer in found if answer.hold_down)
    assert min(mats[s] for s in ("blocks", "crushes", "too high", "never touches")) >= 2
    assert sum(answer.spray is not None for answer in found) >= 50
    assert sum(answer.might_be is not None for answer in found) >= 20
    assert sum(answer.window.empty for answer in found) >= 20
    assert sum(answer.pack.fill < 1.0 for answer in found) >= 50
    sources = Counter(p.source for n in range(MANY) for s in settings(n) for p in s.stages)
    assert min(sources[s] for s in ("window", "stays", "low end")) >= 10
