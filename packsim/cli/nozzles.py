"""``packsim nozzles``: cans against nozzles; check what is there, shift the pack, drill anew."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from packsim.cli.options import JsonPath, Replace, ScenarioPath, Units, UnitsOption

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from rich.console import RenderableType

    from packsim.line import Scenario
    from packsim.report.drawing import Drawing

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
    _before(json_path, csv_path, svg_path, dxf_path, chart_path, replace)
    from packsim.headers import check_headers, check_json
    from packsim.report.display import Display
    from packsim.report.nozzle_charts import dose_chart
    from packsim.report.nozzle_check_table import check_report
    from packsim.report.nozzle_drawing import header_drawing
    from packsim.report.nozzle_sheets import check_csv
    from packsim.report.nozzle_strips import check_strips

    case, note = _case(scenario, refit)
    found = check_headers(case, stage or (), size or ())
    display = Display(units.value)
    title = f"{case.name}: headers against lanes"
    _emit(
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
    _before(json_path, csv_path, svg_path, dxf_path, chart_path, replace)
    from packsim.headers import find_shifts, shift_json
    from packsim.report.display import Display
    from packsim.report.nozzle_charts import shift_chart
    from packsim.report.nozzle_drawing import header_drawing
    from packsim.report.nozzle_sheets import shift_csv
    from packsim.report.nozzle_shift_table import shift_report
    from packsim.report.nozzle_strips import shift_strips

    case, note = _case(scenario, refit)
    off = None if error is None else _length("error", error, "play")
    found = find_shifts(case, stage or (), size or (), off)
    display = Display(units.value)
    title = f"{case.name}: packs at their best shift"
    _emit(
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
    _before(json_path, csv_path, svg_path, dxf_path, chart_path, replace)
    from packsim.headers import PitchWish, advise_pitch, pitch_json
    from packsim.report.display import Display
    from packsim.report.nozzle_charts import pitch_chart
    from packsim.report.nozzle_drawing import header_drawing
    from packsim.report.nozzle_pitch_table import pitch_report
    from packsim.report.nozzle_sheets import pitch_csv
    from packsim.report.nozzle_strips import pitch_strips

    case, _ = _case(scenario, None)
    wish = PitchWish(
        None if low is None else _length("from", low),
        None if high is None else _length("to", high),
        dict(_weight(text) for text in weight or ()),
        _length("allowance", allowance, "play"),
        _length("tolerance", tolerance, "play"),
        None if drill is None else _length("drill", drill),
        beyond,
    )
    found = advise_pitch(case, stage or (), size or (), wish)
    display = Display(units.value)
    title = f"{case.name}: new headers"
    _emit(
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


def _before(
    json_path: str | None,
    csv_path: str | None,
    svg_path: Path | None,
    dxf_path: Path | None,
    chart_path: str | None,
    replace: bool,
) -> None:
    """Refuse files that must not be written, before the work is done."""
    from packsim.cli.out import check_output
    from packsim.errors import InputError

    for ending, path in ((".svg", svg_path), (".dxf", dxf_path)):
        if path is not None and path.suffix.lower() != ending:
            raise InputError(ending[1:], path, f"a name ending in {ending}")
    if chart_path is not None and Path(chart_path).suffix.lower() not in (".svg", ".png"):
        raise InputError("chart", chart_path, "a name ending in .svg or .png")
    for output in (json_path, csv_path, svg_path, dxf_path, chart_path):
        check_output(None if output is None else str(output), replace=replace)


def _case(path: Path, refit: str | None) -> tuple[Scenario, str]:
    """Return the scenario, refitted if asked for, and what to say about its guides."""
    from packsim.scenario import load_scenario

    case = load_scenario(path)
    if refit is None:
        return case, ""
    from packsim.headers import refitted

    return refitted(case, refit), f"guides as if refitted for {refit}, every pass about its middle"


def _length(key: str, text: str, kind: str = "length") -> float:
    from packsim.check import non_negative, positive
    from packsim.scenario.ranges import read_value

    value = read_value(key, "place", text)
    return positive(key, value) if kind == "length" else non_negative(key, value)


def _weight(text: str) -> tuple[str, float]:
    from packsim.errors import InputError

    name, _, number = text.rpartition("=")
    try:
        value = float(number)
    except ValueError:
        value = -1.0
    if not name or not 0.0 < value < 1e6:
        raise InputError("weight", repr(text), 'a size and a number above 0, such as "211 body=2"')
    return name, value


def _emit(
    json_out: tuple[str | None, Callable[[], Mapping[str, Any]]],
    csv_out: tuple[str | None, Callable[[], str]],
    drawing_paths: tuple[Path | None, Path | None],
    drawing: Callable[[], Drawing],
    chart_out: tuple[str | None, Callable[[], Figure]],
    report: Callable[[], RenderableType],
    replace: bool,
) -> None:
    """Write every file asked for; print the report unless standard output is taken."""
    from packsim.cli.out import emit_chart, emit_json, emit_text, print_to_terminal

    files = [path for path in drawing_paths if path is not None]
    if files:
        from packsim.report.drawing_files import drawing_bytes
        from packsim.report.files import write_bytes

        sheet = drawing()
        for path in files:
            write_bytes(path, drawing_bytes(sheet, path), replace=replace)
    if chart_out[0] is not None:
        emit_chart(chart_out[1](), chart_out[0], replace=replace)
    if csv_out[0] is not None:
        emit_text(csv_out[1](), csv_out[0], replace=replace)
    if json_out[0] is not None:
        emit_json(json_out[1](), json_out[0], replace=replace)
    if "-" not in (json_out[0], csv_out[0]):
        print_to_terminal(report())
