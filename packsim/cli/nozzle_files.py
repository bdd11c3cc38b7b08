"""What the nozzle commands read and write: scenario, lengths, weights; five kinds of files."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from rich.console import RenderableType

    from packsim.line import Scenario
    from packsim.report.drawings.drawing import Drawing

__all__ = ["check_files", "emit_answer", "read_case", "read_length", "read_weight"]


def check_files(
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


def read_case(path: Path, refit: str | None) -> tuple[Scenario, str]:
    """Return the scenario, refitted if asked for, and what to say about its guides."""
    from packsim.scenario import load_scenario

    case = load_scenario(path)
    if refit is None:
        return case, ""
    from packsim.headers import refitted

    return refitted(case, refit), f"guides as if refitted for {refit}, every pass about its middle"


def read_length(key: str, text: str, kind: str = "length") -> float:
    """Read a length: above 0, or 0 and above where it is a ``play``."""
    from packsim.check import non_negative, positive
    from packsim.scenario.ranges import read_value

    value = read_value(key, "place", text)
    return positive(key, value) if kind == "length" else non_negative(key, value)


def read_weight(text: str) -> tuple[str, float]:
    """Read ``size=number``."""
    from packsim.errors import InputError

    name, _, number = text.rpartition("=")
    try:
        value = float(number)
    except ValueError:
        value = -1.0
    if not name or not 0.0 < value < 1e6:
        raise InputError("weight", repr(text), 'a size and a number above 0, such as "211 body=2"')
    return name, value


def emit_answer(
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
        from packsim.report.drawings.drawing_files import drawing_bytes
        from packsim.report.files.write import write_bytes

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
