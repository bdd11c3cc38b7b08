"""Which quantities the study shows, what their words mean, what answers rest on; the cautions."""

import re
from collections.abc import Iterable, Sequence
from typing import Final

from packsim.answers import Answer
from packsim.answers.quantities import quantity
from packsim.errors import Assumption, readable
from packsim.line import Scenario
from packsim.report.words.display import Display
from packsim.scenario.units import in_us
from packsim.setting import StageSetting

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
    return display.setting(part.clear_width_mm, unit=False) + ("" if part.safe else " *")


def legend(*tables: Iterable[str]) -> list[tuple[str, str]]:
    """Return heading and meaning of the quantities of tables, each once."""
    keys = dict.fromkeys(key for table in tables for key in table if key not in _PLAIN)
    return [(quantity(key).heading, quantity(key).meaning) for key in keys]


_SIGNS = {"degC": "°C", "degF": "°F", "^2": "²", "^3": "³", " 1/s": " per s"}
"""What a file writes with the keys of any keyboard, and a person otherwise."""

_STAGE = re.compile(r"stages\[(\d+)\]\.(.+)")


def assumed_rows(
    assumed: Iterable[Assumption], stages: Sequence[str], units: str = "metric"
) -> tuple[tuple[str, str, str], ...]:
    """Return assumptions as rows of key, value and reason, the same key of several stages in one.

    Values of several stages follow in stage order, equal ones in a run named once.

    Examples
    --------
    >>> key = "stages[{}].kicks.sideways_step_rms"
    >>> made = Assumption.measured_nowhere
    >>> steps = [made(key.format(i), 0.2, "mm", "invented") for i in range(2)]
    >>> assumed_rows(steps, ["wash", "rinse"], "inch")
    (('kicks.sideways_step_rms', '0.007874 in', 'invented (every stage)'),)
    """
    groups: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for each in assumed:
        match, value = _STAGE.fullmatch(each.key), _value(each, units)
        if match is None or int(match[1]) >= len(stages):
            groups.setdefault((each.key, each.why), []).append(("", value))
        else:
            stage = stages[int(match[1])]
            groups.setdefault((match[2], each.why), []).append((stage, value))
    return tuple(_row(key, why, members, len(stages)) for (key, why), members in groups.items())


def _value(assumed: Assumption, units: str) -> str:
    """Word a value in a unit system, with the signs a person writes."""
    text = assumed.value
    if units == "inch" and assumed.number is not None:
        if assumed.unit == "1/K":
            text = f"{assumed.number / 1.8e-6:.4g} µin/(in °F)"
        else:
            text = readable(*in_us(assumed.number, assumed.unit), digits=4)
    for plain, sign in _SIGNS.items():
        text = text.replace(plain, sign)
    return text


def _row(key: str, why: str, members: list[tuple[str, str]], of: int) -> tuple[str, str, str]:
    values = list(dict.fromkeys(value for _, value in members))
    places = [stage for stage, _ in members if stage]
    if not places:
        return key, values[0], why
    where = "every stage" if len(places) == of else ", ".join(places)
    if len(values) == 1:
        return key, values[0], f"{why} ({where})"
    shown = "; ".join(f"{stage} {value}" for stage, value in members)
    return key, shown, f"{why} ({where})"


def fitted_kicks(scenario: Scenario) -> tuple[tuple[tuple[str, ...], str], ...]:
    """Return pairs of duties and the trial that their kick energies were fitted to."""
    duties: dict[str, dict[str, None]] = {}
    for stage in scenario.stages:
        if stage.kicks.trial:
            duties.setdefault(stage.kicks.trial, {})[stage.duty] = None
    return tuple((tuple(names), trial) for trial, names in duties.items())


def kicks_text(scenario: Scenario) -> str:
    """Say in one line what the chances of tipping rest on."""
    found = fitted_kicks(scenario)
    if not found:
        return "assumed kicks: no trial has fitted them"
    words = [f"kicks of {', '.join(duties)} fitted to {trial}" for duties, trial in found]
    left = dict.fromkeys(s.duty for s in scenario.stages if not s.kicks.trial)
    if left:
        words.append(f"kicks of {', '.join(left)} assumed")
    return "; ".join(words)


CAUTIONS = (
    "Isolate and lock out the mat, pumps and blowers before reaching into the machine.",
    "Wash liquids are hot and corrosive: let them drain, wear eye, face and skin protection.",
    "Guide wires are under tension: slacken them with the take-up before touching a bracket.",
    "Oven parts stay hot long after the burners stop.",
    "These are screening numbers for planning. Local codes, the machine maker's instructions and "
    "licensed practice come first.",
)
"""What to say before anyone goes near the machine."""

CAUTION_LINE = (
    "Isolate and lock out before reaching in; hot, corrosive liquids; tensioned wires. "
    "Local codes, the machine maker and licensed practice come first."
)
"""The same in one line, for screens with little room."""
