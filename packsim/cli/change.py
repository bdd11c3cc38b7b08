"""``packsim change`` and ``oven-heat``: another can size, another mat in the ovens."""

from enum import StrEnum
from typing import Annotated

import typer

from packsim.cli import options as opt
from packsim.cli.options import Units, size_names
from packsim.cli.outputs import Outputs, chances, display_in, json_of, load_line, past_of
from packsim.cli.terminal import progress_bar


class Keep(StrEnum):
    """What a size change leaves as it is."""

    rate = "rate"
    dwell = "dwell"


_SIZE = {"metavar": "SIZE", "autocompletion": size_names}
_FROM = "Can size that runs now; the one the guides are set for if left out."
_STEP = (
    'Smallest step of your rule, such as "0.5 mm" or "1/32 in". If left out: each stage\'s bracket '
    "step; in inches 1/32 in, or a bracket step of more such marks."
)
_LANES = "Lanes to set every stage for; the recommended ones if left out."
_SAVE = "Write the scenario as it stands after the change; it keeps the old setting."
_MASS = 'Mass per area of the other mat, such as "0.6 kg/m^2".'
_HEAT = 'Specific heat of the material of the other mat, such as "880 J/kg/K".'
_ENTRY = "Temperature of cans and mat before the first stage; 25 degC if left out."


def change_command(
    scenario: opt.Scenario,
    to: Annotated[str, typer.Option(**_SIZE, help="Can size to change to.")],
    from_: Annotated[str | None, typer.Option("--from", **_SIZE, help=_FROM)] = None,
    keep: Annotated[
        Keep, typer.Option(help="Keep the cans per minute (rate), or the mat speed.")
    ] = Keep.rate,
    step: Annotated[str | None, typer.Option(metavar="LENGTH", help=_STEP)] = None,
    lanes: Annotated[int | None, typer.Option(metavar="N", help=_LANES)] = None,
    units: opt.UnitSystem = Units.metric,
    fitted: opt.Fitted = None,
    chance: opt.Chance = False,
    no_cache: opt.NoCache = False,
    html: opt.Html = None,
    csv: opt.Csv = None,
    json: opt.Json = None,
    save: Annotated[str | None, typer.Option(metavar="FILE", help=_SAVE)] = None,
    replace: opt.Replace = False,
) -> None:
    """Plan a size change: every bracket, wire and hold-down move, the speed, what to read first."""
    from packsim.findings import quoted
    from packsim.report.files.csv_tables import change_csv
    from packsim.report.page.page_change import change_page
    from packsim.report.terminal.change_sheet import change_sheet
    from packsim.report.words.chance_words import told_of_change
    from packsim.scenario import scenario_to_toml
    from packsim.scenario.values.ranges import Values
    from packsim.size_change import apply_change, plan_change

    outputs = Outputs(replace, html=html, csv=csv, json=json, save=save)
    display = display_in(units)
    case = load_line(scenario, units, fitted)
    with Values(units) as read:
        step_mm = read("step", "length", step)
        old = read.of(lambda: case.size(from_, "from").name, "")
        sizes = old, read.of(lambda: case.size(to, "to").name, "")
    with progress_bar("planning") as tick:
        change = plan_change(case, *sizes, keep.value, step_mm, lanes=lanes, progress=tick)
    asked = [(sizes[0], case), (sizes[1], apply_change(case, change))] if chance else []
    found = chances(asked)
    past = past_of(case) if asked else None
    told = told_of_change(change, [line for _, line in asked], found, past) if asked else []
    outputs.deliver(
        case,
        lambda: change_sheet(change, display, told, quoted(str(scenario))),
        html=lambda: change_page(change, display, told),
        csv=lambda: change_csv(change, display),
        json=lambda: json_of("change", case, change, chances=found),
        save=lambda: scenario_to_toml(apply_change(case, change)),
    )


def oven_heat_command(
    scenario: opt.Scenario,
    mat_mass: Annotated[str, typer.Option(metavar="MASS", help=_MASS)],
    mat_specific_heat: Annotated[str, typer.Option(metavar="HEAT", help=_HEAT)],
    name: Annotated[
        str, typer.Option(metavar="NAME", help="What to call the other mat.")
    ] = "the other mat",
    entry: Annotated[str | None, typer.Option(metavar="TEMPERATURE", help=_ENTRY)] = None,
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    replace: opt.Replace = False,
) -> None:
    """Compare the heat that the mat of an oven carries off with that of another mat."""
    from packsim.answers.mat_heat import ENTRY_C, oven_heat_rows
    from packsim.report.terminal.heat_table import heat_report
    from packsim.scenario.values.ranges import Values

    outputs = Outputs(replace, json=json)
    with Values(None) as read:  # neither of a mat is known by its number alone
        mass = read("mat-mass", "area mass", mat_mass)
        specific = read("mat-specific-heat", "specific heat", mat_specific_heat)
        read.units = units
        asked_C = read("entry", "temperature", entry)
    enters = ENTRY_C if asked_C is None else asked_C
    case = load_line(scenario, units)
    rows = oven_heat_rows(case, mass, specific, enters)
    outputs.deliver(
        case,
        lambda: heat_report(case, rows, name, enters, display_in(units), assumed=entry is None),
        json=lambda: json_of("oven-heat", case, answers=rows, other_mat=name),
    )
