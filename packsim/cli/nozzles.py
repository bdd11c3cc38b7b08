"""``packsim nozzles``: cans against nozzles; check what is there, shift the pack, design anew."""

from __future__ import annotations

from typing import Annotated

import typer

from packsim.cli import options as opt
from packsim.cli.options import Units, size_names
from packsim.cli.outputs import Outputs, display_in, json_of, load_line

_REFIT = "Take the guides as they would be set for this size, not as they stand."
_WHAT_IF = (
    "What if a nozzle is plugged, the pack wanders, holes and pressures are off, or the headers "
    "stand as for another size: dose and tip margin of each."
)
_PLUGGED = "What if one nozzle is plugged, the worst one found in each header."
_OFF = 'What if pressures are off by this share, up and down, such as "10 %".'
_PIPE_SHARE = (
    "What the nozzle at one end of a header must get of what the other end gets, for the smallest "
    "pipe."
)
WANDER = (
    'How far the pack may ride off its place, such as "3 mm"; half its slack and half a setting '
    "step if left out."
)
_SVG = "Draw headers with their sprays over the lanes (SVG)."
TOLERANCE = "Drilling tolerance of a hole, plus or minus."

Refit = Annotated[str | None, typer.Option(metavar="SIZE", autocompletion=size_names, help=_REFIT)]


def check_command(
    scenario: opt.Scenario,
    stage: opt.Stages = None,
    size: opt.Sizes = None,
    refit: Refit = None,
    what_if: Annotated[bool, typer.Option("--what-if", help=_WHAT_IF)] = False,
    plugged: Annotated[bool, typer.Option("--plugged", help=_PLUGGED)] = False,
    wander: Annotated[str | None, typer.Option(metavar="LENGTH", help=WANDER)] = None,
    tolerance: Annotated[str | None, typer.Option(metavar="LENGTH", help=TOLERANCE)] = None,
    pressure_off: Annotated[str | None, typer.Option(metavar="SHARE", help=_OFF)] = None,
    pipe_share: Annotated[str, typer.Option(metavar="SHARE", help=_PIPE_SHARE)] = "98 %",
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    csv: opt.Csv = None,
    svg: Annotated[str | None, typer.Option(metavar="FILE", help=_SVG)] = None,
    chart: opt.Chart = None,
    replace: opt.Replace = False,
) -> None:
    """Check the lanes against the nozzles there are, and how much spray every lane gets.

    Name one stage to see it lane by lane. ``--what-if`` adds what becomes of it when something is
    not as drawn; ``--plugged``, ``--wander``, ``--tolerance`` and ``--pressure-off`` ask for one
    such thing at a time.
    The chart shows the dose across the mat in the stage washed least evenly.
    """
    from packsim.headers import Faults, check_headers, refit_for
    from packsim.report.charts.nozzle_charts import dose_chart
    from packsim.report.drawings.nozzle_drawing import check_drawing
    from packsim.report.files.csv_tables import check_csv
    from packsim.report.terminal.nozzles.check_table import check_report
    from packsim.scenario.values.ranges import Values

    outputs = Outputs(replace, json=json, csv=csv, svg=svg, chart=chart)
    with Values(units) as read:
        off_mm = read("wander", "gap", wander)
        holes_mm = read("tolerance", "gap", "0.5 mm" if tolerance is None else tolerance)
        share = read("pressure_off", "share", "10 %" if pressure_off is None else pressure_off)
        least = read("pipe_share", "share", pipe_share)
    faults = None
    if what_if or plugged or wander or tolerance or pressure_off:
        faults = Faults(
            plugged=what_if or plugged,
            wanders=what_if or wander is not None,
            wander_mm=off_mm,
            tolerance_mm=holes_mm if what_if or tolerance else 0.0,
            pressure_share=share if what_if or pressure_off else 0.0,
            next_height=what_if,
        )
    line = load_line(scenario, units)
    case, note = refit_for(line, refit)
    found = check_headers(case, stage or (), size or (), faults, least)
    display = display_in(units)
    outputs.deliver(
        line,
        lambda: check_report(case, found, display, note),
        svg=lambda: check_drawing(case, found, display),
        chart=lambda: dose_chart(found, display, case.name),
        csv=lambda: check_csv(found, display),
        json=lambda: json_of("nozzles check", case, answers=found),
    )


def shift_command(
    scenario: opt.Scenario,
    stage: opt.Stages = None,
    size: opt.Sizes = None,
    refit: Refit = None,
    error: Annotated[str | None, typer.Option(metavar="LENGTH", help=WANDER)] = None,
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    csv: opt.Csv = None,
    chart: opt.Chart = None,
    replace: opt.Replace = False,
) -> None:
    """Find where the pack must ride so that its lanes meet the nozzles there are.

    Both guides of a stage move alike, as far as mat and brackets let them.
    """
    from packsim.findings import quoted
    from packsim.headers import find_shifts, refit_for
    from packsim.report.charts.nozzle_charts import shift_chart
    from packsim.report.files.csv_tables import shift_csv
    from packsim.report.terminal.nozzles.shift_table import shift_report
    from packsim.scenario.values.ranges import read_value

    outputs = Outputs(replace, json=json, csv=csv, chart=chart)
    off = None if error is None else read_value("error", "gap", error, units)
    line = load_line(scenario, units)
    case, note = refit_for(line, refit)
    found = find_shifts(case, stage or (), size or (), off)
    display = display_in(units)
    outputs.deliver(
        line,
        lambda: shift_report(case, found, display, note, quoted(str(scenario))),
        chart=lambda: shift_chart(found, display, case.name),
        csv=lambda: shift_csv(found, display),
        json=lambda: json_of("nozzles shift", case, answers=found),
    )
