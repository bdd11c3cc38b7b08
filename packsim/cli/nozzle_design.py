"""``packsim nozzles design``: where to drill new headers."""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any

import typer

from packsim.cli import options as opt
from packsim.cli.nozzles import TOLERANCE, WANDER
from packsim.cli.options import Units
from packsim.cli.outputs import Outputs, display_in, json_of, load_line
from packsim.cli.terminal import progress_bar

_AIM = (
    '"dose": most for the worst lane of a litre a minute; "distance": the lanes nearest to nozzles.'
)
_SIDE = 'Only the headers "above" or "below"; both, each by itself, if left out.'
_FEWEST = "Fewest nozzles of a header; as few as can give enough if left out."
_MOST = "Most nozzles of a header; as many as today if left out."
_PITCH = "Only this pitch; any if left out."
_ALIKE = "Drill all headers of a side alike, none aside of another."
_UNEVEN = "Look at unequal spacing too."
_PIPE = "End of the pipe from the mat's left edge; the mat's edge if left out."
_WEIGHT = "How much a loss counts for a size; 1 if not named."
_LEAST_DOSE = "What the worst lane must get, as a multiple of what it gets today."
_LEAST_HOLD = "Spray tip margin that every can must keep: 1 without spray, 0 tips."
_COST = "Cost of a nozzle with its hole, in any money."
_SAVE = "Write the line with the recommended headers (TOML)."
_PATTERN = "Another pattern than today's: cone, hollow cone, fan or slot."
_ANGLE = "Another spray angle."
_FLOW = "Another flow of one nozzle, at its rated pressure."
_RATED = "Another pressure that flow is rated at."
_STAND_OFF = "Another distance of the nozzle tips from the mat."
_PRESSURE = "Another pressure at the nozzles."
_PROPOSAL = (
    'Header to draw and list: "best", "uneven", "in line", "fewer", "today", or "lanes" for the '
    "one nearest to the lanes."
)
_HOLE = 'Diameter or thread of a hole, such as "8 mm" or "1/4 NPT", for drawing and list.'
_DIAMETER = "Outside diameter of the pipe, for the drawing."
_NUMBER = "Number of the drawing."
_REVISION = "Revision of the drawing."
_DATE = "Date of the drawing, as it shall stand there; none if left out."

Pdf = Annotated[str | None, typer.Option(metavar="FILE", help="Draw the headers, to print (PDF).")]
Svg = Annotated[str | None, typer.Option(metavar="FILE", help="Draw the headers (SVG).")]
Dxf = Annotated[str | None, typer.Option(metavar="FILE", help="Draw the headers (DXF, mm).")]


def design_command(
    scenario: opt.Scenario,
    stage: opt.Stages = None,
    size: opt.Sizes = None,
    aim: Annotated[str, typer.Option(help=_AIM)] = "dose",
    side: Annotated[str, typer.Option(metavar="SIDE", help=_SIDE)] = "",
    fewest: Annotated[int | None, typer.Option(help=_FEWEST)] = None,
    most: Annotated[int | None, typer.Option(help=_MOST)] = None,
    pitch: Annotated[str | None, typer.Option(metavar="LENGTH", help=_PITCH)] = None,
    alike: Annotated[bool, typer.Option("--alike", help=_ALIKE)] = False,
    uneven: Annotated[bool, typer.Option("--uneven", help=_UNEVEN)] = False,
    wander: Annotated[str | None, typer.Option(metavar="LENGTH", help=WANDER)] = None,
    tolerance: Annotated[str, typer.Option(metavar="LENGTH", help=TOLERANCE)] = "0.5 mm",
    pipe_from: Annotated[str | None, typer.Option(metavar="PLACE", help=_PIPE)] = None,
    pipe_to: Annotated[str | None, typer.Option(metavar="PLACE", help=_PIPE)] = None,
    weight: Annotated[list[str] | None, typer.Option(metavar="SIZE=NUMBER", help=_WEIGHT)] = None,
    least_dose: Annotated[float, typer.Option(help=_LEAST_DOSE)] = 1.0,
    least_hold: Annotated[float | None, typer.Option(help=_LEAST_HOLD)] = None,
    nozzle_cost: Annotated[float | None, typer.Option(help=_COST)] = None,
    pattern: Annotated[str | None, typer.Option(help=_PATTERN)] = None,
    angle: Annotated[str | None, typer.Option(metavar="ANGLE", help=_ANGLE)] = None,
    rated_flow: Annotated[str | None, typer.Option(metavar="FLOW", help=_FLOW)] = None,
    rated_pressure: Annotated[str | None, typer.Option(metavar="PRESSURE", help=_RATED)] = None,
    pressure: Annotated[str | None, typer.Option(metavar="PRESSURE", help=_PRESSURE)] = None,
    stand_off: Annotated[str | None, typer.Option(metavar="LENGTH", help=_STAND_OFF)] = None,
    save: Annotated[str | None, typer.Option(metavar="FILE", help=_SAVE)] = None,
    proposal: Annotated[str, typer.Option(help=_PROPOSAL)] = "best",
    hole: Annotated[str, typer.Option(metavar="SIZE", help=_HOLE)] = "",
    pipe_diameter: Annotated[str | None, typer.Option(metavar="LENGTH", help=_DIAMETER)] = None,
    number: Annotated[str, typer.Option(metavar="TEXT", help=_NUMBER)] = "",
    revision: Annotated[str, typer.Option(metavar="TEXT", help=_REVISION)] = "",
    date: Annotated[str, typer.Option(metavar="TEXT", help=_DATE)] = "",
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    csv: opt.Csv = None,
    pdf: Pdf = None,
    svg: Svg = None,
    dxf: Dxf = None,
    chart: opt.Chart = None,
    replace: opt.Replace = False,
) -> None:
    """Design headers anew: where to drill so that the worst lane gets most for a litre a minute.

    Every can size counts, where the line will carry it. Nozzle, pressure and stand-off are those
    of the scenario's headers unless said otherwise. Beside the recommended header stand one with
    fewer nozzles, today's, and the one whose nozzles are nearest to the lanes. PDF, SVG and DXF
    are drawings to make the headers by, each kind on a sheet of its own; CSV lists their holes.
    """
    from packsim.errors import one_of
    from packsim.headers import DesignWish, apply_design, design_headers
    from packsim.report.charts.nozzle_charts import design_chart
    from packsim.report.drawings.header_sheet import header_sheets
    from packsim.report.files.csv_tables import holes_csv
    from packsim.report.files.stamp import scenario_hash
    from packsim.report.terminal.nozzles.design_table import design_report
    from packsim.report.words.drilling import PROPOSALS, Drilling, Shop, drillings, hole_mm
    from packsim.scenario import scenario_to_toml
    from packsim.scenario.values.ranges import Values, read_weights

    outputs = Outputs(
        replace, json=json, csv=csv, pdf=pdf, svg=svg, dxf=dxf, chart=chart, save=save
    )
    one_of("proposal", proposal, tuple(PROPOSALS))

    with Values(units) as read:
        changes = {
            "pattern": pattern,
            "angle_rad": read("angle", "angle", angle),
            "flow_mm3_per_s": read("rated_flow", "flow", rated_flow),
            "reference_MPa": read("rated_pressure", "pressure", rated_pressure),
            "pressure_MPa": read("pressure", "pressure", pressure),
            "mat_distance_mm": read("stand_off", "stand-off", stand_off),
        }
        ends = read("pipe_from", "place", pipe_from), read("pipe_to", "place", pipe_to)
        pipe_diameter_mm = read("pipe_diameter", "length", pipe_diameter)
        pitch_mm = read("pitch", "length", pitch)
        wander_mm = read("wander", "gap", wander)
        tolerance_mm = read("tolerance", "gap", tolerance)
    case = load_line(scenario, units)
    pipe = None
    if ends != (None, None):
        pipe = ends[0] or 0.0, ends[1] or case.mat.width_mm
    shop = Shop(
        hole=hole,
        hole_mm=hole_mm(hole),
        pipe_diameter_mm=pipe_diameter_mm,
        pipe_mm=pipe,
        number=number,
        revision=revision,
        date=date,
    )
    wish = DesignWish(
        aim=aim,
        side=side,
        fewest=fewest,
        most=most,
        pitch_mm=pitch_mm,
        stagger=not alike,
        uneven=uneven,
        wander_mm=wander_mm,
        tolerance_mm=tolerance_mm,
        pipe_mm=pipe,
        weights=read_weights("weight", weight or ()),
        least_dose=least_dose,
        least_hold=least_hold,
        nozzle_cost=nozzle_cost,
        changes={key: value for key, value in changes.items() if value is not None},
    )
    with progress_bar("designing headers") as tick:
        found = design_headers(case, stage or (), size or (), wish, tick)
    display = display_in(units)

    @cache
    def made() -> tuple[Drilling, ...]:
        return drillings(found, case.mat.width_mm, shop, proposal)

    @cache
    def sheets() -> Any:
        return header_sheets(case.name, made(), scenario_hash(scenario))

    outputs.deliver(
        case,
        lambda: design_report(case, found, display),
        pdf=sheets,
        svg=sheets,
        dxf=sheets,
        chart=lambda: design_chart(found[0], display, case.name),
        csv=lambda: holes_csv(case.name, made()),
        json=lambda: json_of("nozzles design", case, answers=found),
        save=lambda: scenario_to_toml(apply_design(case, found)),
    )
