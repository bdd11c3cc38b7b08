"""The reasons behind one stage and size, part by part, as rows of name, working and value."""

import math
from functools import partial

from packsim.answers.quantities import quantity
from packsim.answers.tipping import towards
from packsim.pack.lattice import lane_pitch_mm
from packsim.report.words.display import Display
from packsim.report.words.numbers import per_million, percent
from packsim.why import Reasons

Row = tuple[str, str, str]
"""What it is, how it comes about, what it is worth."""


def _row(found: Reasons, display: Display, key: str, how: str) -> Row:
    """Return a quantity of the answer under its heading."""
    one = quantity(key)
    return one.heading, how, display.show(one.kind, one.of(found.answer), unit=False)


def width_rows(found: Reasons, display: Display) -> list[Row]:
    """Return how the clear width, the pack and the guide window come about."""
    answer, budget, window = found.answer, found.answer.budget, found.answer.window
    d, short = budget.diameter_mm, display.bare
    lanes = answer.packs.judged.lanes
    pitch = lane_pitch_mm(d, budget.layout)
    steps = f"{lanes - 1} × {display.fine(pitch, unit=False)}"
    per = "√3/2" if budget.layout == "lengthwise" else "1/2"
    how = f"D {short(d)} + {steps}: {lanes} lanes, D {per} apart"
    if not answer.packs.fits:
        how = "not one can fits"
    rows = [
        _row(found, display, "pack_width_mm", how),
        _row(
            found,
            display,
            "slack_mm",
            f"{short(budget.clear_width_mm)} clear − {short(budget.pack_width_mm)}",
        ),
    ]
    if answer.might_be is not None:
        how = f"{answer.might_be.lanes} lanes, {answer.might_be.state}; safer, so not judged"
        rows.append(_row(found, display, "squeezed_mm", how))
    for name, key in (("tightest", "least_slack_mm"), ("loosest", "loosest_slack_mm")):
        case = f"{name}_mm"
        terms = "".join(
            f" {'−' if value < 0.0 else '+'} {short(abs(value))} {term.name}"
            for term in budget.terms
            if abs(value := getattr(term, case)) > 0.0
        )
        rss = getattr(budget, f"{name}_rss_mm")
        head, how, value = _row(found, display, key, short(budget.slack_mm) + terms)
        rows.append((head, how, f"{value} (rss {short(rss)})"))
    ceiling = f"{short(window.allowed_mm)} allowed"
    if window.high_by == "next lane":
        ceiling = f"the room for one more lane, {short(pitch)}"
    how = f"{lanes} lanes: least slack 0 up to worst-case slack {ceiling}"
    shown = display.window(window)
    if window.empty:
        shown = f"empty: {short(-window.width_mm)} missing"
    rows.append(("guide window, wires as found", how, shown))
    how = "guide window with the wires as they shall hang, and the setting"
    rows.append(("to be set to", how, "see packsim change"))
    return rows


def slack_rows(found: Reasons, display: Display) -> list[Row]:
    """Return how much slack is safe, and how much can really gather."""
    tipping, stance = found.answer.tipping, found.answer.stance
    safe, short, angle = tipping.safe, display.bare, display.angle
    water, high = (
        found.answer.water,
        stance.radius_mm / math.tan(tipping.worst.at_rest.balance_angle_rad),
    )
    alpha = angle(tipping.worst.balance_rad)
    how = f"atan(R {short(stance.radius_mm)} / cg {short(high)}), {water.said_at_rest}"
    rows = [_row(found, display, "rest_balance_angle_deg", how)]
    if water.high > 0.0:
        kept = found.scenario.size(found.answer.size).water_kept(
            tipping.worst.at_rest.balance_angle_rad
        )
        how = "of a full dome at that lean, once it has had time to spill; a kick is too quick"
        rows.append(("dome water that stays", how, percent(kept, 0)))
    if found.spray is not None:
        lost = angle(found.spray.lost_rad)
        rest = angle(stance.balance_angle_rad)
        how = f"{rest} − {lost} to the sprays, see below; {water.said}"
        rows.append(_row(found, display, "balance_angle_deg", how))
        how = f"{towards(tipping.worst.weakest_direction_rad)}; a full pack holds along travel"
        rows.append(_row(found, display, "weakest_balance_deg", how))
        how = "if all splash is thrown straight back, twice the push"
        rows.append(_row(found, display, "balance_angle_splash_deg", how))
    how = f"H {short(stance.height_mm)} × sin {alpha}"
    rows.append(_row(found, display, "safe_slack_centre_mm", how))
    how = "no wire below the can tops"
    if safe.governing_wire_mm is not None:
        z = safe.governing_wire_mm
        top = math.sqrt(stance.height_mm**2 - z**2)
        how = f"wire at {short(z)} × tan {alpha}"
        if safe.edge_mm >= top - 1e-9:
            how = f"the top slips under the wire at {short(z)}: √(H² − z²)"
    rows.append(_row(found, display, "safe_slack_edge_mm", how))
    rows.append(_row(found, display, "safe_slack_mm", f"the smaller: {_where(safe.governing)}"))
    if found.spray is not None:
        how = f"at {angle(tipping.worst.splashed_rad[0])}; the truth lies between"
        rows.append(_row(found, display, "safe_slack_splash_mm", how))
    how = f"{short(safe.slack_mm)} / factor {found.scenario.factor:g}"
    rows.append(_row(found, display, "allowed_slack_mm", how))
    return rows + _index_rows(found, display)


def _index_rows(found: Reasons, display: Display) -> list[Row]:
    tipping, height = found.answer.tipping, found.answer.stance.height_mm
    short, angle, loosest = display.bare, display.angle, tipping.loosest
    slack, alpha = short(tipping.loosest_slack_mm), angle(tipping.worst.balance_rad)
    z = tipping.safe.governing_wire_mm
    held = "nothing stops it" if z is None else f"{slack} on the wires"
    at_edge = f"{held}: lean {angle(loosest.edge_lean_rad)} / {alpha}"
    inside = f"asin({slack} / {short(height)}) = {angle(loosest.centre_lean_rad)} / {alpha}"
    rows = [
        _row(found, display, "index_edge", at_edge),
        _row(found, display, "index_centre", inside),
    ]
    for key, worst in (("index_gathered", tipping.gathered), ("index_own", tipping.own)):
        if not found.answer.pack.fits:
            break
        gap = "neighbours still" if worst is tipping.own else f"a gap of {short(worst.slack_mm)}"
        how = f"{gap}: the can at {short(worst.across_mm)} leans {angle(worst.lean_rad)} "
        rows.append(_row(found, display, key, how + worst.towards))
    parting = found.parting
    if parting is not None:
        how = "rows may part by this much; more, and the short row beside its pocket of "
        how += f"{short(parting.pocket_mm)} can take more than the safe slack, "
        how += f"up to {short(parting.row_slack_mm)}"
        rows.append(("short rows", how, short(parting.parting_mm)))
    return [*rows, _row(found, display, "verdict", "")]


def height_rows(found: Reasons, display: Display) -> list[Row]:
    """Return what each wire does, how it hangs, and the hold-down mat."""
    short, setting, wires = display.bare, partial(display.setting, unit=False), found.wires
    rows: list[Row] = []
    for wire in reversed(wires.wires):
        serves = ", ".join(wire.serves) or "no size"
        hangs = "largest gap at which this wire still stops an edge can; "
        hangs += f"{short(wire.lowest_mm)} high at mid-span; serves {serves}"
        hangs += "; sets the safe slack at the guide" if wire.governs else ""
        rows.append((f"wire at {setting(wire.height_mm)}", hangs, short(wire.limit_mm)))
    if wires.span is not None:
        span = wires.span
        how = f"span {short(span.span_mm)}; tension {display.force(span.tension_N)} when hot and "
        how += f"loaded by the pack; bows out {short(span.outward_mm)}"
        if span.takeup_mm:
            how += f"; take-up travels {short(span.takeup_mm)}"
        value = f"sag {short(max(span.sag_mm, span.give_mm))}"
        rows.append(("slackest span", span.reason or how, value))
    for band in wires.open_bands:
        heights = display.settings((band.low_mm, band.high_mm), unit=False)
        how = f"{band.size}, {band.use}: no wire would serve it at any height"
        if not band.empty:
            how = f"{band.size}, {band.use}: any height in this range serves it"
        rows.append(("missing wire", how, "none" if band.empty else heights))
    heights = ", ".join(setting(z) for z in wires.plan.heights_mm) or "none"
    rows.append(("fewest for all sizes", _why_so_many(found, display), heights))
    hold = found.answer.hold_down
    if hold is not None:
        how = f"below {setting(hold.limit_mm)} a can meets it before it can tip over"
        head, how, over = _row(found, display, "hold_down_clearance_mm", how)
        rows.append((head, how, f"{over}, {hold.state}"))
    return rows


def _why_so_many(found: Reasons, display: Display) -> str:
    forced = found.wires.plan.forced_by
    if len(forced) < 2:
        return "one wire serves every size" if forced else "no height serves any size"
    bands = "; ".join(
        f"{band.size}, {band.use}: {display.settings((band.low_mm, band.high_mm), unit=False)}"
        for band in forced
    )
    return f"{len(forced)} wires are needed: these height ranges do not overlap: {bands}"


def energy_rows(found: Reasons, display: Display) -> list[Row]:
    """Return the energy needed to tip a can, and the kicks it gets."""
    energy = found.energies
    if energy is None:
        return []
    source = energy.kick_trial or "assumed"
    as_seen = energy.row_seen_per_million
    shared = "the same, slack shared out as in the picture: between the two"
    seen = [] if as_seen is None else [("row, slack as seen", shared, per_million(as_seen))]
    slack = display.length(energy.loosest_slack_mm, unit=False)
    return [
        ("a can alone", "weight × rise of its centre to balance", _mJ(energy.alone_mJ)),
        ("edge can", f"all slack, {slack}, in the gap at the guide", _mJ(energy.edge_mJ)),
        ("the can behind it", "if the edge can leans with it", _mJ(energy.second_mJ)),
        (
            "middle of the row",
            f"row of {energy.cans}, if all cans on its way to the guide lean with it",
            _mJ(energy.middle_mJ),
        ),
        (
            "slack shared evenly",
            f"{slack} over {energy.cans + 1} gaps, the can that tips most easily",
            _mJ(energy.even_mJ),
        ),
        (
            "mean kick",
            f"{energy.kick_rate_per_s:g} per second for {energy.dwell_s:.1f} s, {source}",
            _mJ(energy.kick_mJ),
        ),
        (
            "row, slack at random",
            "tips per million of a row that stands under the worst spray all the way",
            per_million(energy.row_random_per_million),
        ),
        (
            "row, slack in one gap",
            "the same; the chance in the moving pack: packsim study --chance",
            per_million(energy.row_gathered_per_million),
        ),
        *seen,
    ]


def _mJ(value: float) -> str:
    return f"{value:.3f} mJ" if math.isfinite(value) else "not possible"


def _where(governing: str) -> str:
    return "at the guide" if governing == "edge" else "inside the pack"
