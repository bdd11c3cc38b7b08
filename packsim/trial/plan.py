"""Which settings are worth a trial, and how many cans it takes to learn something."""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np

from packsim.answers import Answer, answer_line
from packsim.answers.misfit import misfits, told
from packsim.counts.intervals import zero_count_limit
from packsim.errors import between, non_negative
from packsim.line import Scenario
from packsim.setting import LineSetting, recommend
from packsim.setting.moves import step_of
from packsim.trial.chances import Progress, chance_at, line_at
from packsim.trial.trial_plan import Comparison, Setting, StageRoom, TrialPlan
from packsim.trial.two_rates import cans_to_tell_apart
from packsim.width.guide_window import guide_window

LIMITS_PER_MILLION: Final = (100.0, 10.0, 1.0)
"""Rates a run without a tip can be asked to rule out."""

FEW_PER_MILLION: Final = 0.01
"""So few tips that no trial counts them: as good as none for a plan."""

RATIOS: Final = (0.5, 0.2, 0.0)
"""What a setting may bring the tips down to, for sizing a trial on the rate seen now."""


def plan_trial(
    scenario: Scenario,
    size: str | None = None,
    *,
    now_per_million: float | None = None,
    power: float = 0.9,
    alpha: float = 0.05,
    progress: Progress | None = None,
) -> TrialPlan:
    """Plan a trial.

    Parameters
    ----------
    scenario : Scenario
        The line.
    size : str, optional
        Name of the can size; the one the guides are set for by default.
    now_per_million : float, optional
        Tips per million as the line runs now, where somebody counted.
    power, alpha : float
        For the comparison of two settings.
    progress : callable, optional
        Told of every passage.

    Returns
    -------
    TrialPlan
        No recommended setting lets the loosest case of any stage past its safe slack. Each is one
        passage.
    """
    between("power", power, 0.5, 0.999)
    between("alpha", alpha, 1e-6, 0.5)
    name = scenario.set_for if size is None else size
    answers = answer_line(scenario, name)
    setting = recommend(scenario, name)
    rooms = tuple(map(_room, answers, setting.answers))
    settings = _settings(setting, rooms, progress)
    now = settings[0].tips_per_million
    if now_per_million is not None:
        now = non_negative("now_per_million", now_per_million)
    comparisons = _comparisons(settings, now, now_per_million is not None, power, alpha)
    quiet = tuple((rate, zero_count_limit() * 1e6 / rate) for rate in LIMITS_PER_MILLION)
    return TrialPlan(
        scenario=scenario,
        size=name,
        stages=rooms,
        settings=settings,
        comparisons=comparisons,
        quiet=quiet,
        cans_per_min=answers[0].flow.cans_per_min,
        power=power,
        alpha=alpha,
        notes=(*_too_narrow(scenario, name), *_notes(scenario, rooms, settings, now)),
    )


def stage_rooms(scenario: Scenario, size: str) -> tuple[StageRoom, ...]:
    """Return what may be tried at every stage with one size."""
    answers = answer_line(scenario, size)
    return tuple(map(_room, answers, answers))


def _room(found: Answer, answer: Answer) -> StageRoom:
    """Return the room about an answer, for a stage found as in another."""
    now = found.pack.clear_width_mm
    return StageRoom(
        stage=answer.stage,
        now_mm=now,
        window=answer.window,
        last_safe_mm=_last_safe_mm(answer),
        now_past_safe=now > _last_safe_mm(found),
    )


def _last_safe_mm(answer: Answer) -> float:
    return guide_window(answer.budget, answer.tipping.safe.slack_mm, 1.0).high_mm


def _settings(
    recommended: LineSetting, rooms: Sequence[StageRoom], progress: Progress | None
) -> tuple[Setting, ...]:
    """Return the line as found, as recommended, and at the ends of the recommended windows."""
    scenario, size = recommended.scenario, recommended.size
    parts = recommended.stages
    steps = [step_of(part.stage, scenario.rule_step_mm) for part in parts]
    best = tuple(part.clear_width_mm for part in parts)
    plans = [_widths(*each) for each in zip(rooms, best, steps, strict=True)]
    whys = (
        "as found",
        "recommended: what packsim change sets",
        "tight end of the window",
        "loose end of the window",
        "loose: outside the window but just within the safe slack",
    )
    now = tuple(room.now_mm for room in rooms)
    tight, loose, outside = zip(*plans, strict=True)
    rows = zip(whys, (now, best, tight, loose, outside), strict=True)

    def fits(widths: tuple[float, ...]) -> bool:
        return not misfits(line_at(scenario, widths), size)

    kept: list[tuple[str, tuple[float, ...]]] = []
    for why, widths in rows:
        # nothing is sent through guides too narrow for it; as found it is told that it does not fit
        known = any(np.allclose(widths, seen, rtol=0.0, atol=1e-6) for _, seen in kept)
        if not known and (not kept or fits(widths)):
            kept.append((why, widths))
    as_found = fits(kept[0][1])
    found = as_found and not any(room.now_past_safe for room in rooms)
    safe = not any(room.none_safe for room in rooms)
    settings = []
    for letter, (why, widths) in zip("ABCDE", kept, strict=False):
        first = letter == "A"
        rate, ends = math.nan, (math.nan, math.nan)
        if as_found or not first:
            # but for the line as found, wires and middles are as recommended too
            chance = chance_at(scenario if first else recommended.line, size, widths, progress)
            rate, ends = chance.tips_per_million, chance.tips_per_million_interval
        allowed = found if first else safe
        settings.append(Setting(letter, why, widths, rate, ends, recommended=allowed))
    return tuple(settings)


def _widths(room: StageRoom, best_mm: float, step: float) -> tuple[float, float, float]:
    """Tight, loose and just outside for one stage, on whole setting steps."""
    if room.none_safe:
        return (best_mm,) * 3  # as near to safe as it gets
    low, high = _up(room.window.low_mm, step), _down(room.window.high_mm, step)
    if low > high:  # no whole step inside: what is recommended there takes a gauge
        low = high = best_mm
    return low, high, max(high, _down(room.last_safe_mm, step))


def _up(width: float, step: float) -> float:
    return math.ceil(width / step - 1e-9) * step if step > 0.0 else width


def _down(width: float, step: float) -> float:
    return math.floor(width / step + 1e-9) * step if step > 0.0 else width


def _comparisons(
    settings: Sequence[Setting], now: float, counted: bool, power: float, alpha: float
) -> tuple[Comparison, ...]:
    """Compare the line as found with what may become of it; by the rate counted, if one was."""
    if not now > FEW_PER_MILLION:
        return ()
    rows: list[tuple[str, float]] = []
    if counted:
        for ratio in RATIOS:
            what = "no tips at all" if ratio == 0.0 else f"{ratio:g} of the tips"
            rows.append((f"as found against {what}", now * ratio))
    else:
        alike: dict[float, list[str]] = {}
        for other in settings[1:]:
            alike.setdefault(other.tips_per_million, []).append(other.name)
        rows += [(f"A against {', '.join(names)}", rate) for rate, names in alike.items()]
    return tuple(
        Comparison(what, now, rate, cans_to_tell_apart(now, rate, power, alpha))
        for what, rate in rows
    )


def _too_narrow(scenario: Scenario, size: str) -> tuple[str, ...]:
    found = misfits(scenario, size)
    if not found:
        return ()
    return (f"as found, the guides are too narrow for {size}, do not run it so: {told(found)}",)


def _notes(
    scenario: Scenario, rooms: Sequence[StageRoom], settings: Sequence[Setting], now: float
) -> tuple[str, ...]:
    notes = []
    past = ", ".join(room.stage for room in rooms if room.now_past_safe)
    if past:
        notes.append(
            f"as found, the guides are past the safe slack at {past}: count tips there if the line "
            "runs so already, but do not set it so for a trial"
        )
    stuck = ", ".join(room.stage for room in rooms if room.none_safe)
    if stuck:
        notes.append(
            f"no setting at {stuck} fits and stays within the safe slack: remove the cause first "
            "(run packsim study), then plan the trial"
        )
    if len(settings) > 1:
        notes.append(
            f"for all settings but {settings[0].name}, wires, hold-downs and middles stand as "
            "packsim change sets them"
        )
    if len(settings) == 1:
        notes.append("there is no other setting to try than the line as found")
    elif all(setting.tips_per_million < FEW_PER_MILLION for setting in settings[1:]):
        notes.append(
            "the model expects next to no tips at any recommended setting: if you count some "
            "there, the model or a setting is wrong"
            + (
                "; only the line as found can tell kick energies"
                if settings[0].tips_per_million > FEW_PER_MILLION
                else ""
            )
        )
    if now <= FEW_PER_MILLION:
        notes.append(
            "the model expects next to no tips as found, so it cannot say how many cans tell two "
            "settings apart: count the tips per million as the line runs now, give them with "
            "--per-million"
        )
    assumed = dict.fromkeys(s.duty for s in scenario.stages if not s.kicks.trial)
    if assumed and settings[0].tips_per_million:
        notes.append(
            f"tips per million of the model rest on assumed kicks ({', '.join(assumed)}): use them "
            "to put settings in order, not as a forecast"
        )
    return tuple(notes)
