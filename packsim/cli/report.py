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
        Path, typer.Option("--output", "-o", metavar="FILE", help="Page to write (.html).")
    ],
    units: UnitsOption = Units.metric,
    fitted: FittedPath = None,
    replace: Replace = False,
) -> None:
    """Write the study as one page (HTML): findings, drawings, charts, size-change sheets."""
    from packsim.cli.outputs import Outputs, progress_bar
    from packsim.report.page.page import study_page
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario
    from packsim.study import study_line

    outputs = Outputs(replace, endings=(".html", ".htm"), output=output)
    case = load_scenario(scenario, fitted=fitted)
    with progress_bar("studying") as tick:
        found = study_line(case, tick)
    with progress_bar("drawing") as tick:
        page = study_page(found, Display(units), tick)
    outputs.deliver(lambda: f"wrote {output}", output=lambda: page)
