"""What results look like in JSON where it is not simply their fields under their own names."""

from typing import Final


def _names(table: dict[str, str]) -> dict[str, tuple[str, ...]]:
    return {owner: tuple(names.split()) for owner, names in table.items()}


LEFT_OUT: Final = _names(
    {
        # what its answers are worked out from
        "Answer": "set_stage can mat factor given",
        "Tipping": "pack budget heights_mm factor hold_down",
        # one of the quantities of the answer
        "Alignment": "now best side",
        "GuideWindow": "low_mm high_mm high_by budget factor",
        "SlackBudget": "layout diameter_mm clear_width_mm pack_width_mm",
        # told by packsim compare
        "MachineProposal": "comparison",
        # what a chance was worked out from
        "LineChance": "spectrum",
        "SweepRow": "chance",
        "WorstLean": "index slack_mm",
        "Way": "line chance",
        # summed up beside it
        "Assumption": "number unit",
        "Finding": "what_text brief_text do_text command_text values",
        "OneRun": "tips kicks across profile",
        "StageRoom": "window",
        "StageSetting": "window",
        # works inside the program only
        "HeaderDesign": "packs today anew",
        "Arrangement": "index stance shares cans_per_mm",
        "Knob": "turn now",
        "Voids": "faces void",
        # some summed up, some inside only
        "GroupFit": "observations table estimate base_mJ ruled_out",
        "TrialFit": "trials left_out chances",
        # inside only; a measurement names its inputs by key, a swing its input
        "InputRange": "options places written",
        "Measure": "inputs",
        # told by name beside them
        "Confidence": "shares low high moves",
        "Passages": "unwritten",
        "RunCase": "again",
        "Share": "first total first_low first_high total_low total_high",
        "InputSwing": "low high now",
        "StageDoubt": "settled",
        # the file itself
        "Measured": "text",
        # an array too large to read; packsim run --record keeps such arrays
        "LeanEnvelope": "lean_rad directions_rad",
        "RowGaps": "cans gaps_mm",
        "Beside": "role direction_rad",
        # told by what follows from it
        "Looked": "voids",
        "Pack": "centres_mm length_mm repeats",
        # stands at the top of the JSON, as every ``scenario`` does
        "SizeChange": "assumed",
        "WireReasons": "assumed",
    }
)
"""Fields that are not written, by class, under the reason why."""

PICKED: Final = _names(
    {
        "SizeChange.setting": "from_size size keep step_mm scenario.mat.width_mm reason "
        "speed_mm_per_s cans_per_min",
        "ListedSize.can": "mass_kg cg_mm",
        "InputSwing.input": "key",
        "StageChange.found": "name kicks.trial",
        "Tipping.worst": "least_mJ",
        "Moment.looked": "slack_mm clear_width_mm enters lanes standing leaning down missing",
        "Looked.seen": "photo diameter_mm px_per_mm travel_from",
        "Looked.rows": "layout turned_rad order torn",
        "StageChange.setting": "source gauge wires hold_down shift_mm",
    }
)
"""What is written of a field, in its place, where that is not all of it."""

ALSO: Final = _names(
    {
        "Answer": "stance water budget window window_rss wire_heights_mm tipping alignment assumed",
        "Arrangement": "headers_in_the_cans",
        "BracketMove": "move_mm direction",
        "Change": "settled",
        "Compared": "explained",
        "Confidence": "share interval share_by_verdict share_by_move",
        "Finding": "what do command",
        "Filmed": "interval_s",
        "GroupFit": "status energies tipped settings tips_ruled_out",
        "History": "explained",
        "GuideWindow": "attack",
        "HeaderCheck": "liquid_L_per_min gas_L_per_min",
        "HoldDownMove": "direction",
        "Proposal": "in_line",
        "Counted": "agreement",
        "Looked": "missing slack_stands voids_by_place largest_void_mm",
        "RowGaps": "by_place_mm",
        "LineChance": "cans_counting_would_need",
        "LineSetting": "lanes safe offset_mm move_mm",
        "HeatRow": "saved_kW",
        "Measure": "keys worth_per_min",
        "OvenHeat": "total_kW",
        "Pack": "slack_mm cans_per_metre density",
        "Passages": "counted tips kicks across profile max_overlap_mm "
        "tips_per_million tips_per_million_interval dispersion further_tips_per_first "
        "disturbed_mm waiting",
        "RunCase": "clear_width_mm notes agreement",
        "SlackBudget": "tightest_mm loosest_mm tightest_rss_mm loosest_rss_mm",
        "MachineProposal": "before after",
        "Saving": "verdict left_out sizes_left_out all_counted",
        "StageRoom": "window_mm none_safe",
        "StageSetting": "clear_width_mm window_mm brackets prevents",
        "Study": "set_to",
        "Share": "indices",
        "StageDoubt": "gains",
        "SweepRow": "tips_per_million tips_per_million_interval",
        "InputSwing": "at_low at_high as_taken known_within",
        "Tipping": "own gathered",
        "TrialFit": "contradicted",
        "Way": "tips_per_million tips_per_million_interval",
        "WireMove": "move_mm direction",
        "WorstLean": "towards",
    }
)
"""Properties that are written with the fields, by class."""

RENAMED: Final[dict[str, dict[str, str | tuple[str, ...]]]] = {
    "Arrangement": {"can": "size", "pack": ""},
    "BestShift": {
        "shift_for_worst_mm": "best_shift_mm",
        "worst_mm": "nozzle_offset_shifted_mm",
        "shift_for_rms_mm": "best_shift_rms_mm",
        "rms_mm": "nozzle_offset_rms_shifted_mm",
        "limited_by_room": "shift_limited",
    },
    "HeaderCheck": {"at": ""},
    "LineChance": {"line": ""},
    "LineSetting": {
        "offset_mm": "nozzle_offset_mm",
        "speed_mm_per_s": ("speed_now_mm_per_s", "speed_new_mm_per_s"),
        "cans_per_min": ("cans_per_min_now", "cans_per_min_new"),
    },
    "LineShift": {
        "now_mm": ("nozzle_offset_mm", "nozzle_offset_rms_mm"),
        "joint": "best",
    },
    "ListedSize": {"row": ""},
    "Misalignment": {
        "per_lane_mm": "nozzle_offset_by_lane_mm",
        "worst_mm": "nozzle_offset_mm",
        "rms_mm": "nozzle_offset_rms_mm",
    },
    "Pack": {"state": "packing"},
    "Rate": {"interval": "tips_per_million_interval"},
    "RunCase": {"passages": ""},
    "SideCheck": {"now": ""},
    "SideShift": {"now": "", "best": ""},
    "SizeChange": {
        "setting.size": "to_size",
        "setting.scenario.mat.width_mm": "mat_width_mm",
        "setting.reason": "lanes_because",
        "setting.speed_mm_per_s": ("speed_now_mm_per_s", "speed_new_mm_per_s"),
        "setting.cans_per_min": ("cans_per_min_now", "cans_per_min_new"),
    },
    "StageChange": {"found.name": "stage", "found.kicks.trial": "kicks_from"},
    "StageChance": {
        "interval": "tips_per_million_interval",
        "by_place": "tips_per_million_by_place",
        "by_place_interval": "tips_per_million_by_place_interval",
    },
    "StageSetting": {"index": "tip_index", "offset_mm": "nozzle_offset_mm"},
    "StageShift": {
        "at": "",
        "joint_now_mm": ("nozzle_offset_mm", "nozzle_offset_rms_mm"),
        "joint": "best",
    },
    "SweepRow": {"answer": ""},
    "Tipping": {"worst.least_mJ": "least_energy_mJ"},
    "TrialCount": {"trial": ""},
}
"""Keys of fields that are too short to stand alone; several for a pair or more, none for parts
that are written as if they were their owner's own."""

FROM_ONE: Final = {("Misalignment", "worst_lane"), ("Uniformity", "under"), ("Uniformity", "over")}
"""Lanes counted from 0 inside; everything a person reads counts them from 1, at the left guide."""

IN_FULL: Final = {("Study", "answers"), ("Reasons", "answer")}
"""Answers written with their parts; everywhere else their quantities are enough."""
