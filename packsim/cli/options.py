"""Options that several commands share, spelled once."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

__all__ = ["FittedPath", "JsonPath", "Replace", "ScenarioPath", "Units", "UnitsOption"]


class Units(StrEnum):
    """Unit systems on the command line."""

    metric = "metric"
    inch = "inch"


ScenarioPath = Annotated[Path, typer.Argument(help="Scenario file (TOML).", metavar="SCENARIO")]
UnitsOption = Annotated[Units, typer.Option("--units", help="Units to show.")]
JsonPath = Annotated[
    str | None,
    typer.Option("--json", metavar="PATH", help="Write the answer as JSON; - for stdout."),
]
Replace = Annotated[bool, typer.Option("--replace", help="Overwrite files that exist.")]
FittedPath = Annotated[
    Path | None, typer.Option("--fitted", help="Kicks fitted to trials (TOML).", metavar="FILE")
]
