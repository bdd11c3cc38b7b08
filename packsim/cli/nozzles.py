"""``packsim nozzles``: cans against nozzles; check what is there, shift the pack, drill anew."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Annotated, Any

import typer

from packsim.cli import options as opt
from packsim.cli.options import Units, size_names
from packsim.cli.outputs import Outputs, display_in, json_of, load_line

if TYPE_CHECKING:
    from packsim.line import Scenario
    from packsim.report.drawings.nozzle_drawing import Strip
    from packsim.report.words.display import Display

_REFIT = "Take the guides as they would be set for this size, not as they stand."
_ERROR = (
    'How far off its place the pack may ride, such as "3 mm"; half its slack and half a setting '
    "step if left out."
)
_LOWEST = (
    "Shortest pitch; 0.9 of the smallest line pitch if left out: short pitches always align, but "
    "need more nozzles."
)
_HIGHEST = "Longest pitch; 1.25 of the largest line pitch if left out."
_WEIGHT = "Weight of a size when the pitch is chosen; 1 if not named."
_ALLOWANCE = "How much worse than the best is still acceptable."
_TOLERANCE = "Drilling tolerance of a hole, plus or minus."

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
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    csv: opt.Csv = None,
    svg: Svg = None,
    dxf: Dxf = None,
    chart: opt.Chart = None,
    replace: opt.Replace = False,
) -> None:
    """Check the lanes against the nozzles there are, and how much spray every lane gets.

    Name one stage to see it lane by lane.
    The chart shows the dose across the mat in the stage washed least evenly.
    """
    from packsim.headers import check_headers, refit_for
    from packsim.report.charts.nozzle_charts import dose_chart
    from packsim.report.drawings.nozzle_drawing import check_strips
    from packsim.report.files.csv_tables import check_csv
    from packsim.report.terminal.nozzle_check_table import check_report

    outputs = Outputs(replace, json=json, csv=csv, svg=svg, dxf=dxf, chart=chart)
    case, note = refit_for(load_line(scenario, units), refit)
    found = check_headers(case, stage or (), size or ())
    display = display_in(units)
    drawn = _drawn(case, "headers against lanes", lambda: check_strips(found, display), display)
    outputs.deliver(
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
    case, note = refit_for(load_line(scenario, units), refit)
    found = find_shifts(case, stage or (), size or (), off)
    display = display_in(units)
    drawn = _drawn(case, "packs at their best shift", lambda: shift_strips(found, display), display)
    outputs.deliver(
        lambda: shift_report(case, found, display, note),
        **drawn,
        chart=lambda: shift_chart(found, display, case.name),
        csv=lambda: shift_csv(found, display),
        json=lambda: json_of("nozzles shift", case, answers=found),
    )


def pitch_command(
    scenario: opt.Scenario,
    stage: opt.Stages = None,
    size: opt.Sizes = None,
    lowest: Annotated[str | None, typer.Option(metavar="VALUE", help=_LOWEST)] = None,
    highest: Annotated[str | None, typer.Option(metavar="VALUE", help=_HIGHEST)] = None,
    weight: Annotated[list[str] | None, typer.Option(metavar="SIZE=NUMBER", help=_WEIGHT)] = None,
    allowance: Annotated[str, typer.Option(metavar="LENGTH", help=_ALLOWANCE)] = "1 mm",
    tolerance: Annotated[str, typer.Option(metavar="LENGTH", help=_TOLERANCE)] = "0.5 mm",
    drill: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Pitch to drill; the best if left out.")
    ] = None,
    beyond: Annotated[
        int, typer.Option(help="Nozzles beyond the outermost lanes at each end.")
    ] = 0,
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    csv: opt.Csv = None,
    svg: Svg = None,
    dxf: Dxf = None,
    chart: opt.Chart = None,
    replace: opt.Replace = False,
) -> None:
    """Find the nozzle pitch of new headers for one size or all, and the holes to drill.

    Without a size named, one pitch must serve every size of the scenario:
    the one whose worst misalignment, over all of them, is least.
    """
    from packsim.headers import PitchWish, advise_pitch
    from packsim.report.charts.nozzle_charts import pitch_chart
    from packsim.report.drawings.nozzle_drawing import pitch_strips
    from packsim.report.files.csv_tables import pitch_csv
    from packsim.report.terminal.nozzle_pitch_table import pitch_report
    from packsim.scenario.ranges import read_value, read_weights

    outputs = Outputs(replace, json=json, csv=csv, svg=svg, dxf=dxf, chart=chart)
    wish = PitchWish(
        low_mm=None if lowest is None else read_value("lowest", "length", lowest, units),
        high_mm=None if highest is None else read_value("highest", "length", highest, units),
        weights=read_weights("weight", weight or ()),
        allowance_mm=read_value("allowance", "gap", allowance, units),
        tolerance_mm=read_value("tolerance", "gap", tolerance, units),
        pitch_mm=None if drill is None else read_value("drill", "length", drill, units),
        beyond=beyond,
    )
    case = load_line(scenario, units)
    found = advise_pitch(case, stage or (), size or (), wish)
    display = display_in(units)
    drawn = _drawn(case, "new headers", lambda: pitch_strips(case, found, display), display)
    outputs.deliver(
        lambda: pitch_report(case, found, display),
        **drawn,
        chart=lambda: pitch_chart(found[0], display, case.name),
        csv=lambda: pitch_csv(found, display),
        json=lambda: json_of("nozzles pitch", case, answers=found),
    )
