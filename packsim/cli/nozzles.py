"""``packsim nozzles``: cans against nozzles; check what is there, shift the pack, drill anew."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from packsim.cli.nozzle_files import (
    check_files,
    emit_answer,
    read_case,
    read_length,
    read_weight,
)
from packsim.cli.options import JsonPath, Replace, ScenarioPath, Units, UnitsOption

__all__ = ["nozzles_app"]

nozzles_app = typer.Typer(no_args_is_help=True)

Stages = Annotated[
    list[str] | None,
    typer.Option("--stage", metavar="NAME", help="Only this stage; may be given again."),
]
Sizes = Annotated[
    list[str] | None,
    typer.Option("--size", metavar="NAME", help="Only this can size; may be given again."),
]
Refit = Annotated[
    str | None,
    typer.Option(
        "--refit", metavar="SIZE", help="Take the guides as set for this size, not as they stand."
    ),
]
CsvPath = Annotated[
    str | None, typer.Option("--csv", metavar="PATH", help="Write CSV; - for stdout.")
]
SvgPath = Annotated[
    Path | None, typer.Option("--svg", metavar="FILE", help="Draw header and lanes (SVG).")
]
DxfPath = Annotated[
    Path | None, typer.Option("--dxf", metavar="FILE", help="Draw header and lanes (DXF, mm).")
]
ChartPath = Annotated[
    str | None, typer.Option("--chart", metavar="PATH", help="Draw a chart (.svg or .png).")
]


@nozzles_app.command("check")
def check_command(
    scenario: ScenarioPath,
    stage: Stages = None,
    size: Sizes = None,
    refit: Refit = None,
    units: UnitsOption = Units.metric,
    json_path: JsonPath = None,
    csv_path: CsvPath = None,
    svg_path: SvgPath = None,
    dxf_path: DxfPath = None,
    chart_path: ChartPath = None,
    replace: Replace = False,
) -> None:
    """Check lanes against the nozzles that are there, and what every lane gets of the sprays.

    Name one stage to see it lane by lane. The chart shows the dose across the mat in the stage
    that is washed least evenly.
    """
    check_files(json_path, csv_path, svg_path, dxf_path, chart_path, replace)
    from packsim.headers import check_headers, check_json
    from packsim.report.charts.nozzle_charts import dose_chart
    from packsim.report.drawings.nozzle_drawing import header_drawing
    from packsim.report.drawings.nozzle_strips import check_strips
    from packsim.report.files.nozzle_sheets import check_csv
    from packsim.report.terminal.nozzle_check_table import check_report
    from packsim.report.words.display import Display

    case, note = read_case(scenario, refit)
    found = check_headers(case, stage or (), size or ())
    display = Display(units.value)
    title = f"{case.name}: headers against lanes"
    emit_answer(
        (json_path, lambda: check_json(case, found)),
        (csv_path, lambda: check_csv(found, display)),
        (svg_path, dxf_path),
        lambda: header_drawing(title, check_strips(found, display), case.mat.width_mm, display),
        (chart_path, lambda: dose_chart(found, display)),
        lambda: check_report(case, found, display, note),
        replace,
    )


@nozzles_app.command("shift")
def shift_command(
    scenario: ScenarioPath,
    stage: Stages = None,
    size: Sizes = None,
    refit: Refit = None,
    error: Annotated[
        str | None,
        typer.Option(
            "--error",
            metavar="LENGTH",
            help='How far off its place the pack may ride, e.g. "3 mm"; half its slack and half a '
            "setting step if left out.",
        ),
    ] = None,
    units: UnitsOption = Units.metric,
    json_path: JsonPath = None,
    csv_path: CsvPath = None,
    svg_path: SvgPath = None,
    dxf_path: DxfPath = None,
    chart_path: ChartPath = None,
    replace: Replace = False,
) -> None:
    """Find where the pack must ride so that its lanes meet the nozzles that are there.

    The shift moves both guides of a stage alike, within the room that mat and brackets leave.
    """
    check_files(json_path, csv_path, svg_path, dxf_path, chart_path, replace)
    from packsim.headers import find_shifts, shift_json
    from packsim.report.charts.nozzle_charts import shift_chart
    from packsim.report.drawings.nozzle_drawing import header_drawing
    from packsim.report.drawings.nozzle_strips import shift_strips
    from packsim.report.files.nozzle_sheets import shift_csv
    from packsim.report.terminal.nozzle_shift_table import shift_report
    from packsim.report.words.display import Display

    case, note = read_case(scenario, refit)
    off = None if error is None else read_length("error", error, "play")
    found = find_shifts(case, stage or (), size or (), off)
    display = Display(units.value)
    title = f"{case.name}: packs at their best shift"
    emit_answer(
        (json_path, lambda: shift_json(case, found)),
        (csv_path, lambda: shift_csv(found, display)),
        (svg_path, dxf_path),
        lambda: header_drawing(title, shift_strips(found, display), case.mat.width_mm, display),
        (chart_path, lambda: shift_chart(found, display)),
        lambda: shift_report(case, found, display, note),
        replace,
    )


@nozzles_app.command("pitch")
def pitch_command(
    scenario: ScenarioPath,
    stage: Stages = None,
    size: Sizes = None,
    low: Annotated[
        str | None,
        typer.Option(
            "--from",
            metavar="LENGTH",
            help="Shortest pitch; 0.9 of the smallest line pitch if left out: short pitches always "
            "align and cost nozzles.",
        ),
    ] = None,
    high: Annotated[
        str | None,
        typer.Option(
            "--to",
            metavar="LENGTH",
            help="Longest pitch; 1.25 of the largest line pitch if left out.",
        ),
    ] = None,
    weight: Annotated[
        list[str] | None,
        typer.Option(
            "--weight",
            metavar="SIZE=NUMBER",
            help="How much a millimetre matters for a size; 1 if not named.",
        ),
    ] = None,
    allowance: Annotated[
        str, typer.Option("--allowance", metavar="LENGTH", help="For the band of pitches.")
    ] = "1 mm",
    tolerance: Annotated[
        str, typer.Option("--tolerance", metavar="LENGTH", help="Of a hole's place, either way.")
    ] = "0.5 mm",
    drill: Annotated[
        str | None,
        typer.Option("--drill", metavar="LENGTH", help="Pitch to drill; the best if left out."),
    ] = None,
    beyond: Annotated[
        int, typer.Option("--beyond", help="Nozzles beyond the outermost lanes at each end.")
    ] = 0,
    units: UnitsOption = Units.metric,
    json_path: JsonPath = None,
    csv_path: CsvPath = None,
    svg_path: SvgPath = None,
    dxf_path: DxfPath = None,
    chart_path: ChartPath = None,
    replace: Replace = False,
) -> None:
    """Find the nozzle pitch of new headers for one size or all, and the holes to drill.

    Without a size named, one pitch must serve every size of the scenario: the one whose worst
    misalignment, over all of them, is least.
    """
    check_files(json_path, csv_path, svg_path, dxf_path, chart_path, replace)
    from packsim.headers import PitchWish, advise_pitch, pitch_json
    from packsim.report.charts.nozzle_charts import pitch_chart
    from packsim.report.drawings.nozzle_drawing import header_drawing
    from packsim.report.drawings.nozzle_strips import pitch_strips
    from packsim.report.files.nozzle_sheets import pitch_csv
    from packsim.report.terminal.nozzle_pitch_table import pitch_report
    from packsim.report.words.display import Display

    case, _ = read_case(scenario, None)
    wish = PitchWish(
        None if low is None else read_length("from", low),
        None if high is None else read_length("to", high),
        dict(read_weight(text) for text in weight or ()),
        read_length("allowance", allowance, "play"),
        read_length("tolerance", tolerance, "play"),
        None if drill is None else read_length("drill", drill),
        beyond,
    )
    found = advise_pitch(case, stage or (), size or (), wish)
    display = Display(units.value)
    title = f"{case.name}: new headers"
    emit_answer(
        (json_path, lambda: pitch_json(case, found)),
        (csv_path, lambda: pitch_csv(found, display)),
        (svg_path, dxf_path),
        lambda: header_drawing(
            title, pitch_strips(case, found, display), case.mat.width_mm, display
        ),
        (chart_path, lambda: pitch_chart(found[0], display)),
        lambda: pitch_report(case, found, display),
        replace,
    )
