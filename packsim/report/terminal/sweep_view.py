"""A sweep as a table."""

from typing import Final

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.report.terminal.parts import WideTable, add_quantities
from packsim.report.words.chance_words import rate_text, rests_on
from packsim.report.words.change_words import UNSAFE
from packsim.report.words.display import Display
from packsim.report.words.numbers import assumed_rows, thousands
from packsim.report.words.swept import shown_value
from packsim.sweep import Sweep

SWEEP_COLUMNS: Final = (
    "slack_mm",
    "loosest_slack_mm",
    "safe_slack_mm",
    "safe_slack_splash_mm",
    "index_edge",
    "index_centre",
    "index_own",
    "gathered_slack_mm",
    "index_gathered",
    "balance_angle_deg",
    "hold_margin",
    "window_low_mm",
    "window_high_mm",
    "nozzle_offset_mm",
    "least_dose_inside_mL",
    "least_share_inside",
    "least_dose_top_mL",
    "least_share_top",
    "liquid_L_per_min",
    "hold_down_clearance_mm",
    "hold_down_limit_mm",
    "verdict",
)
"""Quantities in the table; CSV and JSON hold all there are."""


def sweep_table(sweep: Sweep, display: Display) -> RenderableType:
    """Return a sweep for the terminal."""
    _, unit = shown_value(sweep, 0.0, display)
    title = f"{sweep.stage}, {sweep.size}: {sweep.knob.what} ({display.lengths_in})"
    heading = Text(title, style="bold")
    head = f"{sweep.knob.name}\n[{unit}]" if unit else sweep.knob.name
    table = WideTable(head.replace("-", "\n", 1))
    answers = [(shown_value(sweep, row.value, display)[0], row.answer) for row in sweep.rows]
    tips = {
        "tips per\nmillion\n(95 %)": [
            "–" if row.chance is None else rate_text(row.chance) for row in sweep.rows
        ]
    }
    if any(row.cans_counted for row in sweep.rows):
        tips["counted"] = [
            f"{thousands(row.tips_counted)} of {thousands(row.cans_counted)}"
            if row.cans_counted
            else "–"
            for row in sweep.rows
        ]
    rows = [(f"{at:.5g}", one) for at, one in answers]
    lanes = ("lanes",) if len({row.answer.pack.lanes for row in sweep.rows}) > 1 else ()
    columns = (*lanes, *SWEEP_COLUMNS)
    add_quantities(table, columns, rows, display, tips if sweep.chances else None)
    names = [stage.name for stage in sweep.scenario.stages]
    keys = assumed_rows(sweep.assumed, names, display.units)
    assumed = Text("Assumed: " + "; ".join(f"{key} = {value}" for key, value, _ in keys), "dim")
    kicks = sweep.scenario.stage(sweep.stage).kicks.trial
    rest = [Text(f"Kicks fitted to {kicks}")] if kicks else []
    if sweep.chances:
        rest = [Text(rests_on(sweep.scenario, sweep.scenario.mat.pack_enters))]
    if (best := sweep.recommended) is not None:
        said = f"Recommended: {display.setting(best.clear_width_mm)} for {best.lanes} lanes"
        if any(move.move_mm for move in best.wires.moves):
            said += ", the wires set for it"
        safe = "" if best.safe else f"; {UNSAFE}"
        rest.insert(0, Text(f"{said}{safe}."))
    lines = [Text(line) for line in (_crossing(sweep, display), _jams(sweep, display)) if line]
    return Group(heading, table, *lines, *rest, Text(), assumed)


def _jams(sweep: Sweep, display: Display) -> str:
    """Say below which clear width the pack can jam: a verdict is about tipping alone."""
    jamming = [row.answer for row in sweep.rows if row.answer.budget.jams]
    if sweep.knob.name != "clear-width" or not jamming or not jamming[-1].pack.fits:
        return ""
    low = display.setting(jamming[-1].window.low_mm)
    return f"Below {low} the pack of {jamming[-1].pack.lanes} lanes can jam."


def _crossing(sweep: Sweep, display: Display) -> str:
    at = sweep.crossing
    if at is None:
        return "The tip index does not cross 1 in this range."
    shown, unit = shown_value(sweep, at, display)
    return f"The tip index crosses 1 at {shown:.5g} {unit}.".replace(" .", ".")
