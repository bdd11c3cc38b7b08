"""``packsim nozzles``: cans against nozzles; check what is there, shift the pack, design anew."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from packsim.cli import options as opt
from packsim.cli.options import Units, size_names
from packsim.cli.outputs import Outputs, display_in, json_of, load_line, progress_bar

if TYPE_CHECKING:
    from packsim.line import Scenario
    from packsim.report.drawings.nozzle_drawing import Strip
    from packsim.report.words.display import Display

_REFIT = "Take the guides as they would be set for this size, not as they stand."
_ERROR = (
    'How far off its place the pack may ride, such as "3 mm"; half its slack and half a setting '
    "step if left out."
)
_WHAT_IF = (
    "What if a nozzle is plugged, the pack wanders, holes and pressures are off, or the headers "
    "stand as for another size: dose and tip margin of each."
)
_PLUGGED = "Of these, only one nozzle plugged, the worst one found in each header."
_OFF = 'Pressures off by this share, up and down, such as "10 %".'
_PIPE_SHARE = (
    "What the nozzle at one end of a header must get of what the other end gets, for the smallest "
    "pipe."
)
_AIM = (
    '"dose": most for the worst lane of a litre a minute; "distance": the lanes nearest to nozzles.'
)
_SIDE = 'Only the headers "above" or "below"; both, each by itself, if left out.'
_FEWEST = "Fewest nozzles of a header; as few as can give enough if left out."
_MOST = "Most nozzles of a header; as many as today if left out."
_PITCH = "Only this pitch; any if left out."
_ALIKE = "Drill all headers of a side alike, none aside of another."
_UNEVEN = "Look at unequal spacing too."
_WANDER = (
    'How far the pack may ride off its place, such as "3 mm"; half its slack and half a setting '
    "step if left out."
)
_PIPE = "End of the pipe from the mat's left edge; the mat's edge if left out."
_WEIGHT = "How much a loss counts for a size; 1 if not named."
_TOLERANCE = "Drilling tolerance of a hole, plus or minus."
_LEAST_DOSE = "What the worst lane must get, as a multiple of what it gets today."
_LEAST_HOLD = "Hold margin that every can must keep under the sprays."
_COST = "Cost of a nozzle with its hole, in any money."
_SAVE = "Write the line with the recommended headers (TOML)."
_PATTERN = "Another spray pattern than today's."
_ANGLE = "Another spray angle."
_FLOW = "Another flow of one nozzle, at its rated pressure."
_RATED = "Another pressure that flow is rated at."
_STAND_OFF = "Another distance of the nozzle tips from the mat."
_PRESSURE = "Another pressure at the nozzles."

Refit = Annotated[str | None, typer.Option(metavar="SIZE", autocompletion=size_names, help=_REFIT)]
Svg = Annotated[str | None, typer.Option(metavar="FILE", help="Draw header and lanes (SVG).")]
Dxf = Annotated[str | None, typer.Option(metavar="FILE", help="Draw header and lanes (DXF, mm).")]


def _drawn(
    case: Scenario, what: str, strips: Callable[[], Sequence[Strip]], display: Display
) -> dict[str, Callable[[], Any]]:
    """Return what draws headers and lanes, for both kinds of drawing file."""
    from packsim.report.drawings.nozzle_drawing import header_drawing

    def drawing() -> Any:
        return header_drawing(f"{case.name}: {what}", strips(), case.mat.width_mm, display)

    return {"svg": drawing, "dxf": drawing}


def check_command(
    scenario: opt.Scenario,
    stage: opt.Stages = None,
    size: opt.Sizes = None,
    refit: Refit = None,
    what_if: Annotated[bool, typer.Option("--what-if", help=_WHAT_IF)] = False,
    plugged: Annotated[bool, typer.Option("--plugged", help=_PLUGGED)] = False,
    wander: Annotated[str | None, typer.Option(metavar="LENGTH", help=_WANDER)] = None,
    tolerance: Annotated[str | None, typer.Option(metavar="LENGTH", help=_TOLERANCE)] = None,
    pressure_off: Annotated[str | None, typer.Option(metavar="SHARE", help=_OFF)] = None,
    pipe_share: Annotated[str, typer.Option(metavar="SHARE", help=_PIPE_SHARE)] = "98 %",
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    csv: opt.Csv = None,
    svg: Svg = None,
    dxf: Dxf = None,
    chart: opt.Chart = None,
    replace: opt.Replace = False,
) -> None:
    """Check the lanes against the nozzles there are, and how much spray every lane gets.

    Name one stage to see it lane by lane. ``--what-if`` adds what becomes of it when something is
    not as drawn; ``--plugged``, ``--wander``, ``--tolerance`` and ``--pressure-off`` ask for one
    such thing at a time.
    The chart shows the dose across the mat in the stage washed least evenly.
    """
    from packsim.headers import Doubts, check_headers, refit_for
    from packsim.report.charts.nozzle_charts import dose_chart
    from packsim.report.drawings.nozzle_drawing import check_strips
    from packsim.report.files.csv_tables import check_csv
    from packsim.report.terminal.nozzle_check_table import check_report
    from packsim.scenario.ranges import read_value

    outputs = Outputs(replace, json=json, csv=csv, svg=svg, dxf=dxf, chart=chart)
    doubts = None
    if what_if or plugged or wander or tolerance or pressure_off:
        off = None if wander is None else read_value("wander", "gap", wander, units)
        holes = "0.5 mm" if tolerance is None else tolerance
        share = "10 %" if pressure_off is None else pressure_off
        doubts = Doubts(
            plugged=what_if or plugged,
            wanders=what_if or wander is not None,
            wander_mm=off,
            tolerance_mm=read_value("tolerance", "gap", holes, units)
            if what_if or tolerance
            else 0.0,
            pressure_share=read_value("pressure_off", "share", share)
            if what_if or pressure_off
            else 0.0,
            next_height=what_if,
        )
    line = load_line(scenario, units)
    case, note = refit_for(line, refit)
    least = read_value("pipe_share", "share", pipe_share)
    found = check_headers(case, stage or (), size or (), doubts, least)
    display = display_in(units)
    drawn = _drawn(case, "headers against lanes", lambda: check_strips(found, display), display)
    outputs.deliver(
        line,
        lambda: check_report(case, found, display, note),
        **drawn,
        chart=lambda: dose_chart(found, display, case.name),
        csv=lambda: check_csv(found, display),
        json=lambda: json_of("nozzles check", case, answers=found),
    )


def shift_command(
    scenario: opt.Scenario,
    stage: opt.Stages = None,
    size: opt.Sizes = None,
    refit: Refit = None,
    error: Annotated[str | None, typer.Option(metavar="LENGTH", help=_ERROR)] = None,
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    csv: opt.Csv = None,
    svg: Svg = None,
    dxf: Dxf = None,
    chart: opt.Chart = None,
    replace: opt.Replace = False,
) -> None:
    """Find where the pack must ride so that its lanes meet the nozzles there are.

    Both guides of a stage move alike, as far as mat and brackets let them.
    """
    from packsim.headers import find_shifts, refit_for
    from packsim.report.charts.nozzle_charts import shift_chart
    from packsim.report.drawings.nozzle_drawing import shift_strips
    from packsim.report.files.csv_tables import shift_csv
    from packsim.report.terminal.nozzle_shift_table import shift_report
    from packsim.scenario.ranges import read_value

    outputs = Outputs(replace, json=json, csv=csv, svg=svg, dxf=dxf, chart=chart)
    off = None if error is None else read_value("error", "gap", error, units)
    line = load_line(scenario, units)
    case, note = refit_for(line, refit)
    found = find_shifts(case, stage or (), size or (), off)
    display = display_in(units)
    drawn = _drawn(case, "packs at their best shift", lambda: shift_strips(found, display), display)
    outputs.deliver(
        line,
        lambda: shift_report(case, found, display, note),
        **drawn,
        chart=lambda: shift_chart(found, display, case.name),
        csv=lambda: shift_csv(found, display),
        json=lambda: json_of("nozzles shift", case, answers=found),
    )


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
    wander: Annotated[str | None, typer.Option(metavar="LENGTH", help=_WANDER)] = None,
    tolerance: Annotated[str, typer.Option(metavar="LENGTH", help=_TOLERANCE)] = "0.5 mm",
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
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    csv: opt.Csv = None,
    svg: Svg = None,
    dxf: Dxf = None,
    chart: opt.Chart = None,
    replace: opt.Replace = False,
) -> None:
    """Design headers anew: where to drill so that the worst lane gets most for a litre a minute.

    Every can size counts, where the line will carry it. Nozzle, pressure and stand-off are those
    of the scenario's headers unless said otherwise. Beside the recommended header stand one with
    fewer nozzles, today's, and the one whose nozzles are nearest to the lanes.
    """
    from packsim.headers import DesignWish, apply_design, design_headers
    from packsim.report.charts.nozzle_charts import design_chart
    from packsim.report.drawings.nozzle_drawing import design_strips
    from packsim.report.files.csv_tables import design_csv
    from packsim.report.terminal.nozzle_design_table import design_report
    from packsim.scenario import scenario_to_toml
    from packsim.scenario.ranges import read_value, read_weights

    outputs = Outputs(replace, json=json, csv=csv, svg=svg, dxf=dxf, chart=chart, save=save)

    def read(key: str, kind: str, text: str | None) -> float | None:
        return None if text is None else read_value(key, kind, text, units)

    changes = {
        "pattern": pattern,
        "angle_rad": read("angle", "angle", angle),
        "flow_mm3_per_s": read("rated_flow", "flow", rated_flow),
        "reference_MPa": read("rated_pressure", "pressure", rated_pressure),
        "pressure_MPa": read("pressure", "pressure", pressure),
        "mat_distance_mm": read("stand_off", "length", stand_off),
    }
    case = load_line(scenario, units)
    ends = read("pipe_from", "place", pipe_from), read("pipe_to", "place", pipe_to)
    given = ends != (None, None)
    wish = DesignWish(
        aim=aim,
        side=side,
        fewest=fewest,
        most=most,
        pitch_mm=read("pitch", "length", pitch),
        stagger=not alike,
        uneven=uneven,
        wander_mm=read("wander", "gap", wander),
        tolerance_mm=read_value("tolerance", "gap", tolerance, units),
        pipe_mm=(ends[0] or 0.0, ends[1] or case.mat.width_mm) if given else None,
        weights=read_weights("weight", weight or ()),
        least_dose=least_dose,
        least_hold=least_hold,
        nozzle_cost=nozzle_cost,
        changes={key: value for key, value in changes.items() if value is not None},
    )
    with progress_bar("designing headers") as tick:
        found = design_headers(case, stage or (), size or (), wish, tick)
    display = display_in(units)
    drawn = _drawn(case, "new headers", lambda: design_strips(found), display)
    outputs.deliver(
        case,
        lambda: design_report(case, found, display),
        **drawn,
        chart=lambda: design_chart(found[0], display, case.name),
        csv=lambda: design_csv(found, display),
        json=lambda: json_of("nozzles design", case, answers=found),
        save=lambda: scenario_to_toml(apply_design(case, found)),
    )
