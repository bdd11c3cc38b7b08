"""Every quantity an answer gives.

Tables, pages, JSON, CSV and the screen read a quantity here and nowhere else, so that it has one
name and one value whichever command shows it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from packsim.answers.answer import Answer
from packsim.answers.quantity import Quantity
from packsim.answers.tipping import towards
from packsim.errors import InputError
from packsim.spray.dose import flow_of_L_per_min
from packsim.width.guide_window import GuideWindow

# fmt: off
_PACK = (
    Quantity("clear_width_mm", "clear width", "setting", lambda a: a.pack.clear_width_mm,
        "Guide face to guide face at the narrowest bracket, as set."),
    Quantity("layout", "rows", "word", lambda a: a.pack.layout,
        "How the rows of touching cans run: lengthwise (along) or crosswise (across)."),
    Quantity("packing", "packing", "word", lambda a: a.pack.state,
        "How the pack that is judged fills the width: slack, does not fit."),
    Quantity("lanes", "lanes", "count", lambda a: a.pack.lanes,
        "Lines of can centres along travel; 0 where nothing fits."),
    Quantity("pack_width_mm", "pack width", "length", lambda a: a.budget.pack_width_mm,
        "Width of the touching pack of those lanes."),
    Quantity("slack_mm", "slack as set", "length", lambda a: a.slack_mm,
        "Clear width less pack width, nominal cans, cold; below 0 where not one can fits."),
    Quantity("might_be_lanes", "or lanes", "count",
        lambda a: None if a.might_be is None else a.might_be.lanes,
        "Lanes of the denser pack that may stand here instead; never judged."),
    Quantity("squeezed_mm", "squeezed by", "length",
        lambda a: None if a.might_be is None else a.might_be.squeezed_mm,
        "What those lanes are short of the width of their touching pack."),
    Quantity("least_slack_mm", "least slack", "length", lambda a: a.budget.tightest_mm,
        "Slack when tolerances, heat, bow, setting and wear all make it smaller."),
    Quantity("loosest_slack_mm", "worst-case slack", "length", lambda a: a.tipping.loosest_slack_mm,
        "Slack when tolerances, heat, bow, setting and wear all make it larger."),
    Quantity("fill", "fill", "share", lambda a: a.pack.fill,
        "Share of the perfect pack the infeed delivers."),
    Quantity("density", "covered", "share", lambda a: a.pack.density,
        "Share of the mat between the guides that cans cover."),
    Quantity("cans_per_metre", "cans on the mat", "per metre",
        lambda a: a.pack.cans_per_metre,
        "Cans on a metre of mat."),
    Quantity("reason", "why not", "word", lambda a: a.pack.reason, "Why nothing fits, or empty."),
    Quantity("voids", "voids", "count", lambda a: a.voids.count,
        "Open places in the length of pack looked at."),
    Quantity("voids_by_place", "voids by place", "counts", lambda a: dict(a.voids.by_place),
        "Open places by what they are: interstice, edge pocket, crack."),
    Quantity("voids_length_mm", "length looked at", "length", lambda a: a.pack.length_mm,
        "Length of that pack along travel."),
    Quantity("open_area_share", "open area between cans", "share",
        lambda a: a.voids.free_area_fraction,
        "Share of the mat between the guides that no can covers."),
    Quantity("largest_void_mm", "largest open circle", "length",
        lambda a: a.voids.largest_circle_mm,
        "Diameter of the largest circle that is free of cans."),
)

_TIPPING = (
    Quantity("dome_water_sprays_on", "domes, worst sprayed", "share", lambda a: a.water.sprayed,
        "How full of water the domes are where that is worst under the sprays: safe slack, tip "
        "index, verdict and guide window are for it."),
    Quantity("dome_water_sprays_off", "domes, worst at rest", "share", lambda a: a.water.at_rest,
        "How full the domes are where that is worst without sprays: the hold-down is for it."),
    Quantity("rest_balance_angle_deg", "tip angle, sprays off", "angle",
        lambda a: a.worst.at_rest.balance_angle_rad,
        "Largest lean from which a can falls back upright, without spray."),
    Quantity("balance_angle_deg", "tip angle to a guide", "angle",
        lambda a: a.worst.balance_rad,
        "Largest lean towards a guide from which a can falls back upright under the strongest "
        "spray; 0 where the sprays alone lift or overturn it."),
    Quantity("weakest_balance_deg", "tip angle, weakest way", "angle",
        lambda a: a.worst.weakest_rad,
        "The same in the direction in which the sprays leave least; a full pack holds along."),
    Quantity("weakest_direction", "weakest way", "word",
        lambda a: towards(a.worst.weakest_direction_rad) if a.sprayed else None,
        "That direction."),
    Quantity("balance_angle_splash_deg", "tip angle to a guide, spray x 2", "angle",
        lambda a: a.worst.splashed_rad[0],
        "Tip angle to a guide if all splash is thrown straight back: the sprays push twice as "
        "hard as their momentum. The truth lies between."),
    Quantity("weakest_balance_splash_deg", "tip angle, weakest way, spray x 2", "angle",
        lambda a: a.worst.splashed_rad[1],
        "Tip angle in the weakest direction if the sprays push twice as hard."),
    Quantity("safe_slack_mm", "safe slack", "length", lambda a: a.tipping.safe.slack_mm,
        "Most slack that cannot let a can past its tip angle to a guide."),
    Quantity("safe_slack_splash_mm", "safe slack, spray x 2", "length",
        lambda a: a.tipping.safe_splashed.slack_mm,
        "Safe slack if the sprays push twice as hard as their momentum. The truth lies between."),
    Quantity("safe_slack_edge_mm", "safe slack at the guide", "length",
        lambda a: a.tipping.safe.edge_mm,
        "Most slack that cannot let a can at a guide past its tip angle."),
    Quantity("safe_slack_centre_mm", "safe slack inside", "length",
        lambda a: a.tipping.safe.centre_mm,
        "Most slack that cannot let a can inside the pack past its tip angle."),
    Quantity("tips_first", "tips first", "word", lambda a: a.tipping.safe.governing,
        "Which of the two sets the safe slack: edge or centre."),
    Quantity("governing_wire_mm", "governing wire", "length",
        lambda a: a.tipping.safe.governing_wire_mm,
        "Height of the wire that sets the safe slack at the guide."),
    Quantity("allowed_slack_mm", "allowed slack", "length", lambda a: a.tipping.allowed_slack_mm,
        "Safe slack divided by the safety factor."),
    Quantity("tip_index", "tip index", "index", lambda a: a.tipping.loosest.worst,
        "Largest possible lean divided by the tip angle, all worst-case slack at one can; 1 or "
        "more: the can tips."),
    Quantity("index_edge", "tip index at the guide", "index", lambda a: a.tipping.loosest.edge,
        "Largest possible lean divided by the tip angle, all worst-case slack at one can at a "
        "guide; 1 or more: the can tips."),
    Quantity("index_centre", "tip index inside", "index", lambda a: a.tipping.loosest.centre,
        "Largest possible lean divided by the tip angle, all worst-case slack at one can "
        "inside the pack; 1 or more: the can tips."),
    Quantity("lean_edge_deg", "lean at the guide", "angle",
        lambda a: a.tipping.loosest.edge_lean_rad,
        "That lean of a can at a guide; none where no wire stops it."),
    Quantity("lean_centre_deg", "lean inside", "angle", lambda a: a.tipping.loosest.centre_lean_rad,
        "That lean of a can inside the pack."),
    Quantity("index_gathered", "tip index, slack gathered", "index",
        lambda a: a.tipping.gathered.index,
        "Lean divided by the tip angle, pack as set, all slack of a can's row pushed to it."),
    Quantity("gathered_slack_mm", "slack gathered", "length", lambda a: a.tipping.gathered.slack_mm,
        "Slack that gathers there."),
    Quantity("index_own", "tip index, one can alone", "index", lambda a: a.tipping.own.index,
        "Lean divided by the tip angle in the weakest direction, of a can that leans while its "
        "neighbours stand still."),
    Quantity("own_place", "place of that can", "word", lambda a: a.tipping.own.place,
        "Where that can stands: edge or centre."),
    Quantity("verdict", "verdict", "word", lambda a: a.tipping.verdict,
        "held: worst-case slack within the allowed slack, and no can can tip; loose: more, but no "
        "can can tip; can tip: a can can fall over; tight: the pack jams, or no can fits."),
)


def _end(window: GuideWindow, mm: float) -> float | None:
    return None if window.empty else mm


_WINDOW = (
    Quantity("window_low_mm", "window from, wires as found", "setting",
        lambda a: _end(a.window, a.window.low_mm),
        "Clear width at which the least slack is 0: the pack just does not jam."),
    Quantity("window_high_mm", "window to, wires as found", "setting",
        lambda a: _end(a.window, a.window.high_mm),
        "Clear width at which the worst-case slack equals the allowed slack, or one more lane "
        "has room."),
    Quantity("window_missing_mm", "window missing", "length",
        lambda a: -a.window.width_mm if a.window.empty else 0.0,
        "By how much there is no such width; 0 where there is one."),
    Quantity("window_ended_by", "window ended by", "word", lambda a: a.window.high_by,
        "What ends it above: safe slack or next lane."),
    Quantity("window_empty_because", "no window because", "word",
        lambda a: a.window.empty_because, "Why no width suits, or empty."),
    Quantity("window_low_rss_mm", "window from, statistical", "length",
        lambda a: _end(a.window_rss, a.window_rss.low_mm),
        "As the guide window, tolerances combined by root-sum-square."),
    Quantity("window_high_rss_mm", "window to, statistical", "length",
        lambda a: _end(a.window_rss, a.window_rss.high_mm),
        "As the guide window, tolerances combined by root-sum-square."),
)


def _best(of: Callable[[Any], Any]) -> Callable[[Answer], Any]:
    return lambda a: None if a.alignment is None else of(a.alignment)


def _mat(of: Callable[[Any], Any]) -> Callable[[Answer], Any]:
    return lambda a: None if a.hold_down is None else of(a.hold_down)


def _spray(of: Callable[[Any], Any]) -> Callable[[Answer], Any]:
    return lambda a: None if a.lightest is None else of(a.lightest)


def _least(place: str, of_mean: bool) -> Callable[[Answer], Any]:
    def told(answer: Answer) -> Any:
        lanes = answer.doses.get(place)
        if lanes is None:
            return None
        mean = float(lanes @ answer.lane_shares) if of_mean else 1.0
        return float(lanes.min()) / mean if mean > 0.0 else None

    return told


def _takes(medium: str) -> Callable[[Answer], Any]:
    return lambda a: flow_of_L_per_min(a.headers, medium)


_STAGE = (
    Quantity("nozzle_side", "nozzles looked at", "word", _best(lambda n: n.side),
        "Side of the mat with the larger offset: above or below."),
    Quantity("nozzle_offset_mm", "lane-to-nozzle offset", "length", _best(lambda n: n.now.worst_mm),
        "Distance of the worst lane from its nearest nozzle."),
    Quantity("nozzle_offset_rms_mm", "rms lane-to-nozzle offset", "length",
        _best(lambda n: n.now.rms_mm), "Root mean square of that distance over all lanes."),
    Quantity("best_shift_mm", "best shift", "signed length",
        _best(lambda n: n.best.shift_for_worst_mm),
        "Shift of the pack that makes the worst offset least; positive is to the right."),
    Quantity("nozzle_offset_shifted_mm", "offset after shift", "length",
        _best(lambda n: n.best.worst_mm), "Worst offset after that shift."),
    Quantity("best_shift_rms_mm", "best shift on average", "signed length",
        _best(lambda n: n.best.shift_for_rms_mm), "Shift that makes the rms offset least."),
    Quantity("nozzle_offset_rms_shifted_mm", "rms offset after shift", "length",
        _best(lambda n: n.best.rms_mm), "Rms offset after that shift."),
    Quantity("shift_limited", "shift limited", "yes or no", _best(lambda n: n.best.limited_by_room),
        "Whether mat or brackets leave no room for a better shift."),
    Quantity("least_dose_inside_mL", "least dose inside", "dose", _least("inside", False),
        "What the lane that gets least gets through the mouth, per can."),
    Quantity("least_share_inside", "least inside over mean", "share", _least("inside", True),
        "That over the mean of the lanes."),
    Quantity("least_dose_top_mL", "least dose on top", "dose", _least("top", False),
        "What the lane that gets least gets on the dome, per can."),
    Quantity("least_share_top", "least on top over mean", "share", _least("top", True),
        "That over the mean of the lanes."),
    Quantity("liquid_L_per_min", "liquid", "flow", _takes("liquid"),
        "Flow of all headers the cans pass that spray a liquid."),
    Quantity("gas_L_per_min", "gas", "flow", _takes("gas"),
        "Flow of all headers the cans pass that spray a gas, as their nozzles are rated."),
    Quantity("hold_margin", "spray tip margin", "margin",
        lambda a: 1.0 if a.lightest is None else float(a.lightest.hold_margin.min()),
        "Share of its resistance to tipping that a can keeps under the sprays: 1 without spray, "
        "0 tips."),
    Quantity("least_normal_N", "force left on the mat", "force",
        _spray(lambda s: float(s.normal_N.min())),
        "Weight less upward thrust where the sprays lift most."),
    Quantity("lifted_lanes", "lanes lifted", "count", _spray(lambda s: int(s.lifted.sum())),
        "Lanes whose cans the sprays lift off the mat."),
    Quantity("weight_N", "weight", "force", lambda a: a.stance.weight_N,
        "Weight of a can, dome water as is worst under the sprays."),
    Quantity("hold_down_clearance_mm", "hold-down above the cans", "signed setting",
        _mat(lambda m: m.clearance_mm), "Underside of the hold-down above the can tops."),
    Quantity("hold_down_limit_mm", "hold-down holds below", "length", _mat(lambda m: m.limit_mm),
        "Clearance below which it stops a can short of its tip angle."),
    Quantity("hold_down_meets_deg", "hold-down met at", "angle", _mat(lambda m: m.meets_rad),
        "Lean at which a can meets it."),
    Quantity("hold_down_state", "hold-down", "word", _mat(lambda m: m.state),
        "Whether it keeps cans from tipping."),
    Quantity("cans_per_min", "cans per minute", "rate", lambda a: a.flow.cans_per_min,
        "Cans that pass in a minute."),
    Quantity("speed_mm_per_s", "mat speed", "speed", lambda a: a.flow.speed_mm_per_s, "Mat speed."),
    Quantity("dwell_s", "dwell", "time", lambda a: a.dwell_s, "Time a can spends in the stage."),
)

# fmt: on

QUANTITIES: Final = (*_PACK, *_TIPPING, *_WINDOW, *_STAGE)
"""Every quantity, in the order JSON and CSV give them."""


def quantity(key: str) -> Quantity:
    """Return the quantity of a key; raise `InputError` if there is none."""
    for one in QUANTITIES:
        if one.key == key:
            return one
    raise InputError("quantity", repr(key), "one of " + ", ".join(q.key for q in QUANTITIES))


def plain_quantities(answer: Answer) -> dict[str, Any]:
    """Return every quantity of an answer by its key, as JSON and CSV hold it."""
    return {one.key: one.plain(answer) for one in QUANTITIES}
