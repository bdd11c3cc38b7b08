"""``packsim draw``: one stage with one size as a drawing."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from packsim.cli.options import (
    Replace,
    ScenarioPath,
    Units,
    UnitsOption,
    size_names,
    stage_names,
)

__all__ = ["View", "draw_command"]


class View(StrEnum):
    """From where an answer is drawn."""

    plan = "plan"
    elevation = "elevation"


def draw_command(
    scenario: ScenarioPath,
    stage: Annotated[
        str,
        typer.Option("--stage", metavar="NAME", autocompletion=stage_names, help="Stage to draw."),
    ],
    size: Annotated[
        str,
        typer.Option("--size", metavar="NAME", autocompletion=size_names, help="Can size to draw."),
    ],
    output: Annotated[
        Path,
        typer.Option("--output", "-o", metavar="FILE", help="Drawing to write (.svg, .dxf, .png)."),
    ],
    view: Annotated[View, typer.Option("--view", help="From above, or along travel.")] = View.plan,
    units: UnitsOption = Units.metric,
    replace: Replace = False,
) -> None:
    """Draw the pack between its guides, from above or along travel, in real millimetres."""
    from packsim.answers import answer_stage
    from packsim.cli.outputs import Outputs
    from packsim.report.drawings.drawing_files import KINDS
    from packsim.report.drawings.elevation_drawing import elevation_drawing
    from packsim.report.drawings.plan_drawing import plan_drawing
    from packsim.report.words.display import Display
    from packsim.scenario import load_scenario

    outputs = Outputs(replace, endings=KINDS, output=output)
    case = load_scenario(scenario)
    found = answer_stage(case, stage, size)
    draw = plan_drawing if view is View.plan else elevation_drawing
    drawing = draw(found, case, Display(units))
    outputs.deliver(lambda: f"wrote {output}", output=lambda: drawing)
