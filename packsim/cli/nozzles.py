"""``packsim nozzles``: cans against nozzles; check what is there, shift the pack, drill anew."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from packsim.cli.options import (
    ChartPath,
    CsvPath,
    JsonPath,
    Replace,
    ScenarioPath,
    SizeNames,
    StageNames,
    Units,
    UnitsOption,
    size_names,
)

if TYPE_CHECKING:
    from packsim.report.drawings.drawing import Drawing

__all__ = ["check_command", "pitch_command", "shift_command"]

Refit = Annotated[
    str | None,
    typer.Option(
        "--refit",
        metavar="SIZE",
        autocompletion=size_names,
        help="Take the guides as they would be set for this size, not as they stand.",
    ),
]
SvgPath = Annotated[
    str | None, typer.Option("--svg", metavar="FILE", help="Draw header and lanes (SVG).")
]
DxfPath = Annotated[
    str | None, typer.Option("--dxf", metavar="FILE", help="Draw header and lanes (DXF, mm).")
]


def check_command(
    scenario: ScenarioPath,
    stage: StageNames = None,
    size: SizeNames = None,
    refit: Refit = None,
    units: UnitsOption = Units.metric,
    json: JsonPath = None,
    csv: CsvPath = None,
    svg: SvgPath = None,
    dxf: DxfPath = None,
    chart: ChartPath = None,
    replace: Replace = False,
) -> None:
    """Check lanes against the nozzles that are there, and what every lane gets of the sprays.

    Name one stage to see it lane by lane. The chart shows the dose across the mat in the stage
    that is washed least evenly.
    """
    from packsim.cli.outputs import Outputs
    from packsim.headers import check_headers, check_json, refit_for
    from packsim.report.charts.nozzle_charts import dose_chart
    from packsim.report.drawings.nozzle_drawing import header_drawing
    from packsim.report.drawings.nozzle_strips import check_strips
    from packsim.report.files.nozzle_sheets import check_csv
    from packsim.report.terminal.nozzle_check_table import check_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario

    outputs = Outputs(replace, json=json, csv=csv, svg=svg, dxf=dxf, chart=chart)
    case, note = refit_for(load_scenario(scenario), refit)
    found = check_headers(case, stage or (), size or ())
    display = Display(units)
    title = f"{case.name}: headers against lanes"

    def drawn() -> Drawing:
        return header_drawing(title, check_strips(found, display), case.mat.width_mm, display)

    outputs.deliver(
        lambda: check_report(case, found, display, note),
        svg=drawn,
        dxf=drawn,
        chart=lambda: dose_chart(found, display, case.name),
        csv=lambda: check_csv(found, display),
        json=lambda: check_json(case, found),
    )


def shift_command(
    scenario: ScenarioPath,
    stage: StageNames = None,
    size: SizeNames = None,
    refit: Refit = None,
    error: Annotated[
        str | None,
        typer.Option(
            "--error",
            metavar="LENGTH",
            help='How far off its place the pack may ride, such as "3 mm"; half its slack and half '
            "a setting step if left out.",
        ),
    ] = None,
    units: UnitsOption = Units.metric,
    json: JsonPath = None,
    csv: CsvPath = None,
    svg: SvgPath = None,
    dxf: DxfPath = None,
    chart: ChartPath = None,
    replace: Replace = False,
) -> None:
    """Find where the pack must ride so that its lanes meet the nozzles that are there.

    The shift moves both guides of a stage alike, as far as the mat and the brackets let them.
    """
    from packsim.cli.outputs import Outputs
    from packsim.headers import find_shifts, refit_for, shift_json
    from packsim.report.charts.nozzle_charts import shift_chart
    from packsim.report.drawings.nozzle_drawing import header_drawing
    from packsim.report.drawings.nozzle_strips import shift_strips
    from packsim.report.files.nozzle_sheets import shift_csv
    from packsim.report.terminal.nozzle_shift_table import shift_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.scenario.ranges import read_value

    outputs = Outputs(replace, json=json, csv=csv, svg=svg, dxf=dxf, chart=chart)
    off = None if error is None else read_value("error", "gap", error, units)
    case, note = refit_for(load_scenario(scenario), refit)
    found = find_shifts(case, stage or (), size or (), off)
    display = Display(units)
    title = f"{case.name}: packs at their best shift"

    def drawn() -> Drawing:
        return header_drawing(title, shift_strips(found, display), case.mat.width_mm, display)

    outputs.deliver(
        lambda: shift_report(case, found, display, note),
        svg=drawn,
        dxf=drawn,
        chart=lambda: shift_chart(found, display, case.name),
        csv=lambda: shift_csv(found, display),
        json=lambda: shift_json(case, found),
    )


def pitch_command(
    scenario: ScenarioPath,
    stage: StageNames = None,
    size: SizeNames = None,
    lowest: Annotated[
        str | None,
        typer.Option(
            "--lowest",
            metavar="LENGTH",
            help="Shortest pitch; 0.9 of the smallest line pitch if left out: short pitches always "
            "align, but need more nozzles.",
        ),
    ] = None,
    highest: Annotated[
        str | None,
        typer.Option(
            "--highest",
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
        str,
        typer.Option(
            "--allowance",
            metavar="LENGTH",
            help="How much worse than the best is still acceptable.",
        ),
    ] = "1 mm",
    tolerance: Annotated[
        str,
        typer.Option(
            "--tolerance", metavar="LENGTH", help="Drilling tolerance of a hole, plus or minus."
        ),
    ] = "0.5 mm",
    drill: Annotated[
        str | None,
        typer.Option("--drill", metavar="LENGTH", help="Pitch to drill; the best if left out."),
    ] = None,
    beyond: Annotated[
        int, typer.Option("--beyond", help="Nozzles beyond the outermost lanes at each end.")
    ] = 0,
    units: UnitsOption = Units.metric,
    json: JsonPath = None,
    csv: CsvPath = None,
    svg: SvgPath = None,
    dxf: DxfPath = None,
    chart: ChartPath = None,
    replace: Replace = False,
) -> None:
    """Find the nozzle pitch of new headers for one size or all, and the holes to drill.

    Without a size named, one pitch must serve every size of the scenario: the one whose worst
    misalignment, over all of them, is least.
    """
    from packsim.cli.outputs import Outputs
    from packsim.headers import PitchWish, advise_pitch, pitch_json
    from packsim.report.charts.nozzle_charts import pitch_chart
    from packsim.report.drawings.nozzle_drawing import header_drawing
    from packsim.report.drawings.nozzle_strips import pitch_strips
    from packsim.report.files.nozzle_sheets import pitch_csv
    from packsim.report.terminal.nozzle_pitch_table import pitch_report
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
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
    case = load_scenario(scenario)
    found = advise_pitch(case, stage or (), size or (), wish)
    display = Display(units)
    title = f"{case.name}: new headers"

    def drawn() -> Drawing:
        strips = pitch_strips(case, found, display)
        return header_drawing(title, strips, case.mat.width_mm, display)

    outputs.deliver(
        lambda: pitch_report(case, found, display),
        svg=drawn,
        dxf=drawn,
        chart=lambda: pitch_chart(found[0], display, case.name),
        csv=lambda: pitch_csv(found, display),
        json=lambda: pitch_json(case, found),
    )
