"""Which quantities the study shows, and what the words over them mean."""

from collections.abc import Iterable
from typing import Final

from packsim.answers import Answer
from packsim.answers.quantities import quantity
from packsim.report.words.display import Display
from packsim.setting import StageSetting

PACK_KEYS: Final = (
    *("clear_width_mm", "lanes", "might_be_lanes", "squeezed_mm", "slack_mm"),
    *("loosest_slack_mm", "safe_slack_mm"),
    *("allowed_slack_mm", "rest_balance_angle_deg", "balance_angle_deg", "index_edge"),
    *("dome_water_sprays_on", "index_centre", "verdict"),
)
"""First table of a size: width, slack, tipping."""

FLOW_KEYS: Final = (
    *("nozzle_offset_mm", "best_shift_mm", "nozzle_offset_shifted_mm", "hold_margin"),
    *("hold_down_clearance_mm", "hold_down_state", "cans_per_metre", "cans_per_min"),
    *("open_area_share", "dwell_s"),
)
"""Second table of a size: nozzles, sprays, hold-down, rate."""

PAGE_KEYS: Final = (
    *("clear_width_mm", "lanes", "might_be_lanes", "squeezed_mm", "slack_mm"),
    *("loosest_slack_mm", "safe_slack_mm"),
    *("balance_angle_deg", "tip_index"),
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
