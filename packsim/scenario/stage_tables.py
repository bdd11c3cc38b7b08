"""Tables of one stage: brackets, kicks, headers, settings on record, and the stage itself."""

from __future__ import annotations

from typing import Annotated, Final

from packsim.line import DUTIES, STATES, TIPPED
from packsim.line.spray import MAX_NOZZLES, PATTERNS
from packsim.scenario.keys import Table, key, must
from packsim.scenario.line_tables import GUESS, MAX_ROWS, GuidesTable
from packsim.scenario.values import fields as f
from packsim.scenario.values.readers import Choice, same

BY_DUTY: Final = "by duty"
"""Stands for a value of `packsim.line.stage.DUTIES`, which builds fill in."""

Duty = Annotated[
    str,
    Choice(
        {**same(tuple(DUTIES)), "wash": "flood"},
        hint='; a spray at high pressure is a "flood" or "wash", one at low pressure a "rinse"',
    ),
]


Rows = Annotated[str, Choice({"along": "lengthwise", "across": "crosswise"})]


class BracketTable(Table):
    """The pair of brackets at one place along the stage."""

    from_stage_start: f.Gap = must("Place along the stage.", "station_mm", example="750 mm")
    left: f.Place = must(
        "Left guide face, from the mat's left edge looking downstream.", "left_mm", example="106 mm"
    )
    right: f.Place = must("Right guide face, from the same edge.", "right_mm", example="1494 mm")


class KicksTable(Table):
    """How the stage shakes each can."""

    energy: f.Energy | None = key("Mean energy a kick gives a can.", "energy_mJ")
    kicks_per_second: f.Rate | None = key("Kicks a can gets per second.", "rate_per_s")
    sideways_step_rms: f.Gap | None = key(
        "Root-mean-square sideways step of a can per kick.",
        "step_mm",
        0.2,
        "invented; no measurement known",
        example="0.2 mm",
    )
    drift_to_right: f.Drift | None = key(
        "Steady sideways drift, to the right if positive.",
        "drift_mm_per_s",
        0.0,
        "the mat is taken to track straight",
    )
    trial: f.Name | None = key(
        "Trial that energy and kicks_per_second come from; without one they are assumed.",
        "trial",
        example="week 12",
    )
    under_headers: f.Share | None = key(
        "Share of its kicks that a can gets while under a header; even in time where left out.",
        "under_headers",
        example="70 %",
    )


class HeaderTable(Table):
    """A pipe across the mat with equally spaced nozzles."""

    like: f.Name | None = key(
        "A pattern, [header_patterns.<name>], that says whatever is not said here.", example="wash"
    )
    side: Annotated[str, Choice(same(("above", "below", "both")))] = must(
        "Side of the mat; both stands for a pair, one header above and one below.", "side"
    )
    below: HeaderTable | None = key(
        "What differs from the header above in the one below, where side is both."
    )
    from_stage_start: f.Stations = must(
        "Place along the stage; a list stands for a header, or a pair, at each place.",
        "station_mm",
        example="600 mm",
    )
    nozzle_to_mat: f.StandOff = must(
        "Distance from the nozzle tips to the mat surface, above or below it.",
        "mat_distance_mm",
        example="240 mm",
    )
    first_nozzle: f.Place = must(
        "Place of the first nozzle, from the mat's left edge.", "first_mm", example="92 mm"
    )
    pitch: f.Length = must("Distance from nozzle to nozzle.", "pitch_mm", example="57.2 mm")
    count: int = must("Number of nozzles.", "count", example=24, ge=1, le=MAX_NOZZLES)
    pressure: f.Pressure = must("Gauge pressure at the nozzle.", "pressure_MPa")
    pattern: Annotated[str, Choice(same(PATTERNS))] = must(
        "Full cone, hollow cone, flat fan (thinner to its ends), or slot (an even sheet).",
        "nozzle.pattern",
    )
    angle: f.Angle = must("Full opening angle; of a fan, in its wide plane.", "nozzle.angle_rad")
    fan_thickness_angle: f.Angle | None = key(
        "Full opening angle of a fan, thin side.",
        "nozzle.thin_angle_rad",
        0.13962634015954636,
        "a flat fan; " + GUESS,
        example="8 deg",
    )
    fan_turn: f.Twist | None = key(
        "Turn of a fan's wide plane from straight across the mat.", "nozzle.twist_rad"
    )
    hollow_share: f.Share | None = key(
        "Share of the width of a hollow cone that stays empty in its middle.",
        "nozzle.hollow_share",
        0.6,
        "a hollow cone; " + GUESS,
        example=0.6,
    )
    measured_angles: list[f.ExactAngle] | None = key(
        "Angles from the axis between which a spray was measured, the last half of its angle.",
        "nozzle.measured_rad",
        example="10 deg",
        min_length=1,
        max_length=50,
    )
    measured_shares: list[f.Share] | None = key(
        "What was caught between each of them and the one before, across the spray.",
        "nozzle.measured_share",
        example=0.2,
        min_length=1,
        max_length=50,
    )
    rated_flow: f.Flow = must("Flow of one nozzle at its rated pressure.", "nozzle.flow_mm3_per_s")
    rated_pressure: f.RatedPressure = must("Pressure of that rating.", "nozzle.reference_MPa")
    velocity_coefficient: f.VelocityShare | None = key(
        "Jet speed over the ideal one.", "nozzle.velocity_coefficient", 0.95, GUESS
    )
    density: f.Density | None = key(
        "Density of what is sprayed.",
        "liquid_kg_per_mm3",
        1e-6,
        "water; wash liquids are within 2 %",
    )
    splash_factor: f.Splash | None = key(
        "Push of the spray on a can over its momentum: from 1, the splash runs off sideways, "
        "to 2, all of it is thrown straight back.",
        "splash_factor",
        example=1.0,
    )
    pipe_inside: f.Bore | None = key(
        "Inside diameter of its pipe; where left out, only the smallest that serves is told.",
        "pipe_mm",
        example="52.5 mm",
    )
    pipe_roughness: f.Roughness | None = key(
        "Roughness of the pipe's inside; that of new steel pipe, 0.045 mm, where left out.",
        "pipe_roughness_mm",
        example="0.045 mm",
    )


UNUSED: Final = {
    "cone": frozenset({"fan_thickness_angle", "fan_turn", "hollow_share"}),
    "hollow cone": frozenset({"fan_thickness_angle", "fan_turn"}),
    "fan": frozenset({"hollow_share"}),
    "slot": frozenset({"hollow_share"}),
}
"""Keys of a header whose value matters to nothing, by pattern."""


_CENTRE: Final = "Middle between the guides, from the mat's left edge; the mat's own middle."
_HOLD_DOWN: Final = "Height of a hold-down's underside above the mat."


class SettingTable(Table):
    """What the stage was set to for a size that ran before, to be set so again."""

    size: f.Name = must("Name of the can size.", "size", example="211 body")
    clear_width: f.ExactLength | None = key(
        "Clear width at every bracket, guide face to guide face.", example="1388.5 mm"
    )
    pack_centre_from_left: f.ExactPlace | None = key(_CENTRE, example="800 mm")
    brackets: list[BracketTable] | None = key(
        "Instead of clear_width, at the places of the stage's brackets.",
        min_length=1,
        max_length=MAX_ROWS,
    )
    wire_heights: list[f.ExactLength] | None = key(
        "Wire heights that belong to this size, lowest first.",
        "wire_heights_mm",
        example="30 mm",
        min_length=1,
        max_length=100,
    )
    hold_down: f.ExactLength | None = key(_HOLD_DOWN, "hold_down_mm", example="130 mm")


class StageTable(Table):
    """One section of the washer or oven."""

    name: f.Name = must("Name as painted on the machine.", "name", example="wash")
    like: f.Name | None = key(
        "A stage before this one, which says whatever is not said here; headers too.",
        example="pre-wash",
    )
    duty: Duty = must("What it is for.", "duty")
    length: f.Length = must("Length along travel.", "length_mm", example="2500 mm")
    temperature: f.Temperature | None = key(
        "Temperature of cans and frame.", "temperature_C", 20.0, "taken as cold"
    )
    rows: Rows | None = key(
        "How the rows of touching cans run: along the guides, or straight across the mat.",
        "layout",
        "lengthwise",
        "taken; look which way the rows run",
    )
    packing: Annotated[str, Choice(same(STATES))] | None = key(
        "What the pack might be in a clear width that is no exact fit; it is always judged by "
        "the fewest lanes that carry the cans. densest where left out.",
        "state",
    )
    pack_fill: f.Fill | None = key(
        "Share of the perfect pack's cans that the infeed delivers.",
        "fill",
        1.0,
        "the infeed is taken to keep up",
    )
    slack_gathered: f.Share | None = key(
        "Share of the rows that have all their slack in one gap, the others sharing it out at "
        "random, as packsim look sees it in a photograph; packsim why then says what such a row "
        "tips.",
        "slack_gathered",
        example="20 %",
    )
    water_in_dome: f.ShareRange | None = key(
        "How full of liquid the dome recesses are; a range where it is not known, and each "
        "question takes the fill that is worse for it. Readings of five cans or more give a range.",
        "water_in_dome",
        assumed=BY_DUTY,
        example="0 to 100 %",
    )
    clear_width: f.Length | None = key(
        "Clear width, guide face to guide face. Readings are of one place again and again; where "
        "places differ, list brackets.",
        example="1388.5 mm",
    )
    pack_centre_from_left: f.Place | None = key(_CENTRE, example="800 mm")
    bracket_spacing: f.Length | None = key("Longest bracket distance.", example="750 mm")
    brackets: list[BracketTable] | None = key(
        "Every pair of brackets, instead of clear_width.", min_length=1, max_length=MAX_ROWS
    )
    guides: GuidesTable = key("What differs from [guides] here.", default=GuidesTable())
    hold_down: f.Length | None = key(_HOLD_DOWN, "hold_down_mm", example="130 mm")
    side_load: f.LineForce | None = key(
        "Sideways push of the pack on each guide, for each metre of guide.",
        "pack_pressure_N_per_m",
        0.0,
        "the pack is taken not to push",
    )
    tipped: Annotated[str, Choice(same(TIPPED))] | None = key(
        "What a tipped can does: it leans on what stops it, is gone, or lies in the way.",
        "tipped",
        "leans",
        "taken; look at what tipped cans do",
    )
    joint_kick: f.Energy | None = key(
        "Mean energy of the one kick a can gets as it enters over a joint of the mats; none where "
        "left out.",
        "joint_kick_mJ",
        example="0.02 mJ",
    )
    kicks: KicksTable = key("How it shakes the pack.", default=KicksTable())
    headers: list[HeaderTable] = key("Spray headers.", default=[], max_length=MAX_ROWS)
    settings: list[SettingTable] = key(
        "Settings on record, one for a size.", default=[], max_length=MAX_ROWS
    )
