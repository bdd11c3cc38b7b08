"""``packsim study``, ``why``, ``sweep`` and ``sizes``: what a setting does, and why."""

from typing import Annotated

import typer

from packsim.cli import options as opt
from packsim.cli.options import Units
from packsim.cli.outputs import Outputs, chances, display_in, json_of, load_line, past_of
from packsim.cli.terminal import progress_bar


def study_command(
    scenario: opt.Scenario,
    stage: opt.Stages = None,
    size: opt.Sizes = None,
    units: opt.UnitSystem = Units.metric,
    fitted: opt.Fitted = None,
    all_: opt.All = False,
    chance: opt.Chance = False,
    no_cache: opt.NoCache = False,
    json: opt.Json = None,
    replace: opt.Replace = False,
) -> None:
    """Check every size at every stage: fit, slack, tipping, guide setting, nozzles, rate."""
    from packsim.findings import quoted
    from packsim.report.terminal.study_table import study_report
    from packsim.study import study_line

    outputs = Outputs(replace, json=json)
    case = load_line(scenario, units, fitted)
    with progress_bar("studying") as tick:
        found = study_line(case, tick, stages=stage or (), sizes=size or ())
    past = past_of(case)
    asked = [(each, case) for each in found.sizes] if chance else []
    told = chances(asked, sides=True)
    outputs.deliver(
        case,
        lambda: study_report(
            found,
            display_in(units),
            quoted(str(scenario)),
            everything=all_,
            chances=told,
            past=past,
        ),
        json=lambda: json_of("study", case, found, chances=told, history=past),
    )


def why_command(
    scenario: opt.Scenario,
    stage: opt.Stage = None,
    size: opt.Size = None,
    units: opt.UnitSystem = Units.metric,
    fitted: opt.Fitted = None,
    json: opt.Json = None,
    replace: opt.Replace = False,
) -> None:
    """Show the calculation, line by line, for one stage and size: width, wires, slack, tipping."""
    from packsim.answers import stage_and_size
    from packsim.report.terminal.why_table import why_report
    from packsim.why import reasons

    outputs = Outputs(replace, json=json)
    case = load_line(scenario, units, fitted)
    found = reasons(case, *stage_and_size(case, stage, size))
    outputs.deliver(
        case, lambda: why_report(found, display_in(units)), json=lambda: json_of("why", case, found)
    )


def _knob_names() -> list[str]:
    from packsim.sweep import KNOBS

    return [knob.name for knob in KNOBS]


_KNOBS = (
    "Setting to vary: clear-width, wire-height, tension, shift, fill, water-in-dome, pressure, "
    "hold-down, pack-pressure, temperature, nozzle-pitch, nozzle-count; and of the headers above "
    "or below, as in pressure-above: pressure, stand-off, spray-angle, station, stagger."
)
_SHOW = (
    "What the chart shows: tip_index, slack_mm, hold_margin, nozzle_offset_mm, "
    "hold_down_clearance_mm, or tips_per_million (runs passages: a minute or more a value)."
)


_COUNT = (
    "With tips_per_million: count tips too, in a simulated run of this many cans at each value "
    "where at least one of them is expected to tip."
)
_KICK = (
    "With tips_per_million: draw the chance for this mean kick energy too; may be given again. The "
    "same passages serve every energy."
)


def sweep_command(
    scenario: opt.Scenario,
    over: Annotated[str, typer.Option(metavar="NAME", autocompletion=_knob_names, help=_KNOBS)],
    lowest: Annotated[str, typer.Option(metavar="VALUE", help='Lowest value, such as "1380 mm".')],
    highest: Annotated[
        str, typer.Option(metavar="VALUE", help='Highest value, such as "1420 mm".')
    ],
    steps: Annotated[int, typer.Option(help="Number of values, both ends included.")] = 21,
    stage: opt.Stage = None,
    size: opt.Size = None,
    units: opt.UnitSystem = Units.metric,
    fitted: opt.Fitted = None,
    csv: opt.Csv = None,
    json: opt.Json = None,
    chart: opt.Chart = None,
    show: Annotated[str, typer.Option(metavar="KEY", help=_SHOW)] = "tip_index",
    count: Annotated[int, typer.Option(metavar="CANS", help=_COUNT)] = 0,
    kick: Annotated[list[str] | None, typer.Option(metavar="ENERGY", help=_KICK)] = None,
    no_cache: opt.NoCache = False,
    replace: opt.Replace = False,
) -> None:
    """Change one setting over a range and see every result for one stage and size."""
    from packsim.answers import stage_and_size
    from packsim.report.charts.sweep_chart import sweep_chart
    from packsim.report.files.csv_tables import sweep_csv
    from packsim.report.terminal.sweep_view import sweep_table
    from packsim.report.words.swept import SWEEP_UNITS, in_shown_units
    from packsim.scenario.values.ranges import Values, read_range
    from packsim.sweep import knob, sweep

    outputs = Outputs(replace, csv=csv, json=json, chart=chart)
    with Values(units) as read:
        kicks = [read("kick", "energy", text) for text in kick or ()]
        values = read_range(knob(over).kind, lowest, highest, steps, units)
    case = load_line(scenario, units, fitted)
    with progress_bar("sweeping") as tick:
        place, tips = stage_and_size(case, stage, size), show == "tips_per_million"
        found = sweep(case, over, values, *place, tick, chance=tips, count=count, kicks_mJ=kicks)
    display = display_in(units)
    outputs.deliver(
        case,
        lambda: sweep_table(found, display),
        csv=lambda: sweep_csv(found),
        json=lambda: json_of(
            "sweep", case, in_shown_units(found), unit=SWEEP_UNITS[found.knob.kind]
        ),
        chart=lambda: sweep_chart(found, display, show),
    )


def sizes_command(
    units: opt.UnitSystem = Units.metric, json: opt.Json = None, replace: opt.Replace = False
) -> None:
    """List the can sizes of the catalogue, and where each number comes from."""
    from packsim.catalogue import listed_sizes
    from packsim.report.terminal.sizes_table import sizes_table

    sizes = listed_sizes()
    Outputs(replace, json=json).deliver(
        None,
        lambda: sizes_table(sizes, display_in(units)),
        json=lambda: json_of("sizes", None, sizes=sizes),
    )
