"""A study in short, as words, and the quantities its tables show on screen and page alike."""

from collections.abc import Iterable, Sequence
from typing import Final

from packsim.answers import Answer
from packsim.answers.quantities import quantity
from packsim.report.words.change_words import UNSAFE
from packsim.report.words.display import Display
from packsim.report.words.numbers import span, stage_words, stages_alike, thousands
from packsim.setting import StageSetting
from packsim.study import Finding, SizeSummary, StageSummary

PACK_KEYS: Final = (
    *("clear_width_mm", "lanes", "might_be_lanes", "squeezed_mm", "slack_mm"),
    *("loosest_slack_mm", "safe_slack_mm"),
    *("allowed_slack_mm", "rest_balance_angle_deg", "balance_angle_deg", "index_edge"),
    *("dome_water_sprays_on", "index_centre", "verdict"),
)
"""First table of a size: width, slack, tipping."""

FLOW_KEYS: Final = (
    *("weakest_balance_deg", "balance_angle_splash_deg", "safe_slack_splash_mm"),
    *("nozzle_offset_mm", "best_shift_mm", "nozzle_offset_shifted_mm", "hold_margin"),
    *("hold_down_clearance_mm", "hold_down_state", "cans_per_metre", "cans_per_min"),
    *("open_area_share", "dwell_s"),
)
"""Second table of a size: sprays, nozzles, hold-down, rate."""

PAGE_KEYS: Final = (
    *("clear_width_mm", "lanes", "might_be_lanes", "squeezed_mm", "slack_mm"),
    *("loosest_slack_mm", "safe_slack_mm", "safe_slack_splash_mm"),
    *("balance_angle_deg", "weakest_balance_deg", "tip_index"),
    *("nozzle_offset_mm", "nozzle_offset_shifted_mm", "dwell_s", "verdict"),
)
"""The table of a size on the page."""

FACT_KEYS: Final = (
    *("layout", *PACK_KEYS[:6], "least_slack_mm", *PACK_KEYS[6:], "tips_first"),
    *("window_low_mm", "window_high_mm", "window_missing_mm", "window_ended_by", *FLOW_KEYS),
    *("largest_void_mm", "hold_down_limit_mm"),
)
"""What is told of the stage that is drawn in full."""

_PLAIN: Final = ("clear_width_mm", "lanes", "slack_mm", "dwell_s", "cans_per_min")
"""Words that need no explanation."""


def keys_for(keys: Iterable[str], answers: Iterable[Answer]) -> list[str]:
    """Return the keys of a table; those of a squeezed pack only where one may stand."""
    two = any(answer.might_be is not None for answer in answers)
    return [key for key in keys if two or key not in ("might_be_lanes", "squeezed_mm")]


WINDOW: Final = "guide window"
"""Heading of the clear widths that suit the lanes set for, the wires as they shall hang."""

SET_TO: Final = "set to"
"""Heading of the recommended clear width."""


def set_to(part: StageSetting, display: Display) -> str:
    """Return the recommended clear width of a stage, with a star where it is not safe."""
    return display.setting(part.clear_width_mm, unit=False) + ("" if part.safe else "*")


def legend(*tables: Iterable[str]) -> list[tuple[str, str]]:
    """Return heading and meaning of the quantities of tables, each once."""
    keys = dict.fromkeys(key for table in tables for key in table if key not in _PLAIN)
    return [(quantity(key).heading, quantity(key).meaning) for key in keys]


STATE_WORDS: Final = {
    "stop": "STOP",
    "change": "CHANGE FIRST",
    "watch": "RUNS AS SET",
    "note": "RUNS AS SET",
}
"""What may be done with a size, by the most urgent of its findings."""

STATE_MEANING: Final = (
    ("STOP", "Something is to be put right before cans of this size may enter at all."),
    ("CHANGE FIRST", "Settings or parts are to be changed before a run."),
    ("RUNS AS SET", "Nothing is to be changed; what stands under WATCH is to be kept an eye on."),
)
"""The words in capitals, and what they mean."""

SLACK_MEANING: Final = (
    "worst/allowed: worst-case slack / allowed (safe slack / {}, worst dome water)."
)
"""What the two slacks of a stage are; ``{}`` stands for the safety factor."""


STAR_MEANING: Final = f"* {UNSAFE}."
"""What the star after a width means."""

RULE_SIGNS: Final = "1/2+, 1/2\u2212: a little over, under that mark."
"""What the signs after a fraction of a rule mean."""


def sentence(size: SizeSummary) -> str:
    """Say whether a size fits and whether it tips.

    The words follow the verdicts of the stages: where none is ``can tip`` no can can tip.
    """
    answers = [stage.answer for stage in size.stages]
    none_fits = [a.stage for a in answers if not a.pack.fits]
    lanes = [a.pack.lanes for a in answers if a.pack.fits]
    said = []
    if none_fits:
        said.append(f"No can fits {_where(none_fits, answers)}.")
    if lanes:
        plural = "" if max(lanes) == 1 else "s"
        verb = "fits" if max(lanes) == 1 else "fit"
        said.append(f"{span(thousands(min(lanes)), thousands(max(lanes)))} lane{plural} {verb}.")
    jams = [a.stage for a in answers if a.pack.fits and a.budget.jams]
    if jams:
        said.append(f"The pack can jam {_where(jams, answers)}.")
    tips, loose = size.stages_with("can tip"), size.stages_with("loose")
    taken = "As taken, {}." if size.open else "{}."
    if tips:
        said.append(_sentence(taken, f"cans can tip {_where(tips, answers)}"))
    elif lanes:
        said.append(_sentence(taken, "no can can tip"))
    if loose and not tips:
        said.append(f"Too much slack {_where(loose, answers)}.")
    return " ".join(said)


def _sentence(form: str, words: str) -> str:
    said = form.format(words)
    return said[0].upper() + said[1:]


def _where(stages: Sequence[str], of: Sequence[object]) -> str:
    if len(of) == 1:
        return f"at {stages[0]}"
    if len(stages) == len(of):
        return f"at all {len(of)} stages"
    return (
        f"at {', '.join(stages)}" if len(stages) <= 2 else f"at {len(stages)} of {len(of)} stages"
    )


def stage_cells(stage: StageSummary, display: Display) -> tuple[str, str, str, str]:
    """Return the slacks, the verdict, the width to set and the move of one stage, without units."""
    return (
        slack_words(stage.answer, display),
        stage.answer.tipping.verdict,
        set_to_words(stage, display),
        move_words(stage, display),
    )


def slack_words(answer: Answer, display: Display) -> str:
    """Return worst-case and allowed slack, without units; a dash where no pack stands."""
    found = answer.tipping
    if not answer.pack.fits:
        return "–"
    return f"{display.bare(found.loosest_slack_mm)}/{display.bare(found.allowed_slack_mm)}"


def set_to_words(stage: StageSummary, display: Display) -> str:
    """Return the clear width to set, or ``stays``; a star where it is not safe."""
    part = stage.part
    words = display.setting(part.clear_width_mm, unit=False) if part.move_mm else "stays"
    return words if part.safe else words + "*"


def move_words(stage: StageSummary, display: Display) -> str:
    """Return how far the guides open (+) or close (−), the difference of the widths as shown."""
    if not stage.move_mm:
        return ""
    if display.metric:
        widths = stage.answer.pack.clear_width_mm, stage.part.clear_width_mm
        now, new = (round(mm, 1) for mm in widths)
        return f"({display.bare(new - now, signed=True)})"
    return f"({display.setting(stage.move_mm, signed=True, unit=False)})"


_LONG = 24
"""More letters than this for the names of stages leave no room for what to do."""


def step_words(step: Finding, of: int, display: Display) -> tuple[str, str, str]:
    """Return level, stages and what to do of one step; many stages, or long names, as their number.

    Parameters
    ----------
    step : Finding
        The step, in brief.
    of : int
        How many stages were studied.
    display : Display
        Unit system.
    """
    named = tuple(dict.fromkeys(step.stages))  # two findings of one stage may read the same
    many, stages = len(named), stage_words(named, range(of))
    if many != of and (many > 3 or (many > 1 and len(stages) > _LONG)):
        stages = f"{many} stages"
    return step.level.upper(), stages, step.what_in(display.length)


def alike(
    rows: Iterable[tuple[str, tuple[str, ...]]], most: int = 1000
) -> list[tuple[str, tuple[str, ...]]]:
    """Join the stages whose cells read the same; of more than ``most`` two are named."""
    return [(_named(stages, most), cells) for cells, stages in stages_alike(rows).items()]


def _named(stages: Sequence[str], most: int) -> str:
    if len(stages) <= most:
        return ", ".join(stages)
    return f"{stages[0]}, {stages[1]} and {len(stages) - 2} more"
