"""The line as one can size meets it, loaded by the sprays as the static answers say."""

from __future__ import annotations

from collections.abc import Sequence

from packsim.answers import Answer, answer_line
from packsim.line import Scenario
from packsim.passage.track import Track, build_track

LEAST_SUPPORT = 0.01
"""Share of its weight a lifted can keeps on the mat in a passage: no hold to speak of, and still a
force to divide by."""


def loaded_track(scenario: Scenario, size: str, can_friction: float = 0.0) -> Track:
    """Return the track of a scenario for one size, every stage under its sprays.

    Parameters
    ----------
    scenario : Scenario
        The case.
    size : str
        Which of its sizes.
    can_friction : float
        Coefficient of friction between cans [-].

    Returns
    -------
    Track
        See `track_under`.
    """
    return track_under(scenario, size, answer_line(scenario, size), can_friction)


def track_under(
    scenario: Scenario, size: str, answers: Sequence[Answer | None], can_friction: float = 0.0
) -> Track:
    """Return the track of a scenario for one size under loads already known.

    Parameters
    ----------
    scenario, size
        As for `loaded_track`.
    answers : sequence of Answer or None
        The answers of every stage for this size; None where a stage could not be answered, which
        is then taken without its sprays.
    can_friction : float
        As for `loaded_track` [-].

    Returns
    -------
    Track
        Each stage with the balance angle and the force on the mat of its worst lane at its worst
        moment, for as long as a can is in the stage. That errs on the side of tipping; a kick
        energy fitted to a trial takes it up.
    """
    can = scenario.size(size)
    stances = [can.stance(stage.pool_fraction) for stage in scenario.stages]
    pairs = list(zip(answers, stances, strict=True))
    balance = [
        stance.balance_angle_rad if answer is None else answer.tipping.balance_angle_rad
        for answer, stance in pairs
    ]
    support = [
        stance.weight_N if answer is None else _support_N(answer) for answer, stance in pairs
    ]
    return build_track(
        scenario, can, balance_rad=balance, support_N=support, can_friction=can_friction
    )


def _support_N(answer: Answer) -> float:
    weight = answer.stance.weight_N
    if answer.spray is None:
        return weight
    return max(LEAST_SUPPORT * weight, float(answer.spray.normal_N.min()))
