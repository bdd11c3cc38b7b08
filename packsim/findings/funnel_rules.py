"""Rules about a funnel: how steep it is, whether it turns back, its corners, its wide end."""

import math

from packsim.answers import Answer
from packsim.findings.finding import Finding, tell
from packsim.line import Bracket, Scenario
from packsim.width.funnel import GUIDE_FRICTION, farthest_step_mm, steepest_rad, turns_in_rad


def steep(scenario: Scenario, answer: Answer) -> Finding | None:
    """Find a face that turns in more than a can can follow."""
    stage = scenario.stage(answer.stage)
    if stage.guides.shape != "funnel" or not answer.pack.fits:
        return None
    turns = turns_in_rad(stage.guides)
    limit = steepest_rad(stage.layout)
    at = max(range(len(turns)), key=lambda i: max(turns[i]), default=None)
    if at is None or max(turns[at]) <= limit:
        return None
    one, other = stage.guides.brackets[at : at + 2]
    return tell(
        answer,
        "change",
        "the funnel turns in by {turn}° a side between its brackets at {from_mm} and {to_mm}; a "
        "can follows {most}° at most (friction at the guides taken as {friction}) and wedges "
        "between guide and pack past that",
        "let the guide face move in by at most {in_mm} between these two brackets",
        turn=f"{math.degrees(max(turns[at])):.1f}",
        most=f"{math.degrees(limit):.1f}",
        friction=f"{GUIDE_FRICTION:g}",
        from_mm=one.station_mm,
        to_mm=other.station_mm,
        in_mm=(other.station_mm - one.station_mm) * math.tan(limit),
    )


def turns_back(scenario: Scenario, answer: Answer) -> Finding | None:
    """Find a funnel that narrows and widens again."""
    guides = scenario.stage(answer.stage).guides
    turns = [turn for pair in turns_in_rad(guides) for turn in pair]
    if guides.shape != "funnel" or min(turns, default=0.0) >= 0.0 or max(turns) <= 0.0:
        return None
    return tell(
        answer,
        "change",
        "the guides are called a funnel, but they narrow and widen again",
        "set every bracket in line with its neighbours; if they should stand alike, write "
        'shape = "straight" under the guides of the stage',
    )


def corner(scenario: Scenario, answer: Answer) -> Finding | None:
    """Find a guide that steps in where cans enter or leave a funnel."""
    names = [stage.name for stage in scenario.stages]
    at = names.index(answer.stage)
    stage = scenario.stages[at]
    if stage.guides.shape != "funnel" or not answer.pack.fits:
        return None
    most = farthest_step_mm(stage.layout, answer.pack.diameter_mm)
    faces = [one.guides.brackets for one in scenario.stages]
    joints = [(i - 1, i) for i in (at, at + 1) if 0 < i < len(names)]
    found = [(_steps_in(faces[i][-1], faces[j][0]), j) for i, j in joints]
    step, where = max(found, default=(0.0, at))
    if step <= most:
        return None
    return tell(
        answer,
        "change",
        "where {after} begins a guide stands {step_mm} farther in than the one before: a can "
        "catches on the corner past {most_mm}",
        "set the last bracket before it and the first of {after} in line",
        after=names[where],
        step_mm=step,
        most_mm=most,
    )


def wide_end(scenario: Scenario, answer: Answer) -> Finding | None:
    """Say that a funnel is judged at its narrow end, and what slack its wide end has."""
    stage = scenario.stage(answer.stage)
    mat = answer.hold_down
    if stage.guides.shape != "funnel" or not answer.pack.fits or (mat and mat.blocks):
        return None
    slack = answer.tipping.loosest_slack_mm + stage.guides.widest_mm - stage.guides.narrowest_mm
    if slack <= answer.tipping.safe.slack_mm:
        return None
    return tell(
        answer,
        "watch",
        "a funnel, judged at its narrowest bracket; at its wide end slack can reach {wide_mm}, "
        "and a can tips if it finds more than {safe_mm}",
        "keep sprays and kicks away from the wide end, or hold the cans down there",
        wide_mm=slack,
        safe_mm=answer.tipping.safe.slack_mm,
    )


def _steps_in(last: Bracket, first: Bracket) -> float:
    return max(first.left_mm - last.left_mm, last.right_mm - first.right_mm)
