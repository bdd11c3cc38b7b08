"""``packsim report``: the study as one page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from packsim.cli.options import FittedPath, Replace, ScenarioPath, Units, UnitsOption

__all__ = ["report_command"]


def report_command(
    scenario: ScenarioPath,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="FILE", help="Page to write (.html).")
    ],
    units: UnitsOption = Units.metric,
    fitted: FittedPath = None,
    replace: Replace = False,
) -> None:
    """Write a study as one self-contained HTML page: findings, drawings, charts, change sheets."""
    from packsim.cli.out import progress_bar
    from packsim.errors import InputError
    from packsim.report.files.write import check_target, write_text
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario

    if output.suffix.lower() not in (".html", ".htm"):
        raise InputError("output", output, "a file name that ends in .html")
    check_target(output, replace=replace)
    case = load_scenario(scenario, fitted=fitted)
    from packsim.report.page.page import study_page
    from packsim.study import study_line

    with progress_bar("studying") as tick:
        found = study_line(case, tick)
    with progress_bar("drawing") as tick:
        page = study_page(found, Display(units.value), tick)
    write_text(output, page, replace=replace)
    typer.echo(f"wrote {output}")
