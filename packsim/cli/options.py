"""Options that several commands share, said once."""

from __future__ import annotations

import os
import tomllib
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

__all__ = [
    "ChartPath",
    "CsvPath",
    "FittedPath",
    "Guides",
    "HtmlPath",
    "JsonPath",
    "Replace",
    "ScenarioPath",
    "SizeName",
    "SizeNames",
    "StageName",
    "StageNames",
    "Units",
    "UnitsOption",
    "size_names",
    "stage_names",
]


class Units(StrEnum):
    """Unit systems on the command line."""

    metric = "metric"
    inch = "inch"


def stage_names(ctx: typer.Context) -> list[str]:
    """Return the stages of the scenario on the command line, for the shell to complete."""
    return _names(ctx, "stages")


def size_names(ctx: typer.Context) -> list[str]:
    """Return the can sizes of the scenario on the command line, for the shell to complete."""
    return _names(ctx, "sizes")


def _names(ctx: typer.Context, table: str) -> list[str]:
    try:  # with an option half written, what came before it is left unread
        with Path(ctx.params.get("scenario") or ctx.args[0]).open("rb") as file:
            names = [row["name"] for row in tomllib.load(file)[table]]
    except (OSError, LookupError, TypeError, ValueError):  # half a command line, or no scenario
        return []
    if "bash" in os.environ.get("_PACKSIM_COMPLETE", ""):  # inserts a word as it comes
        return [name.replace(" ", "\\ ") for name in names]
    return names


ScenarioPath = Annotated[Path, typer.Argument(metavar="SCENARIO", help="Scenario file (TOML).")]
UnitsOption = Annotated[
    Units, typer.Option("--units", help="Units to show; bare numbers are read in them too.")
]
StageName = Annotated[
    str | None,
    typer.Option(
        "--stage",
        metavar="NAME",
        autocompletion=stage_names,
        help="Stage; the one with the least safe slack if left out.",
    ),
]
SizeName = Annotated[
    str | None,
    typer.Option(
        "--size",
        metavar="NAME",
        autocompletion=size_names,
        help="Can size; the one the guides are set for if left out.",
    ),
]
StageNames = Annotated[
    list[str] | None,
    typer.Option(
        "--stage",
        metavar="NAME",
        autocompletion=stage_names,
        help="Only this stage; may be given again.",
    ),
]
SizeNames = Annotated[
    list[str] | None,
    typer.Option(
        "--size",
        metavar="NAME",
        autocompletion=size_names,
        help="Only this can size; may be given again.",
    ),
]
Guides = Annotated[
    list[str] | None,
    typer.Option(
        "--guides",
        metavar="SETTING",
        help='Guide setting: "as-set", "window" (the middle of each stage\'s guide window), or a '
        'clear width such as "1376 mm". Give it again to compare settings.',
    ),
]
FittedPath = Annotated[
    Path | None,
    typer.Option("--fitted", metavar="FILE", help="File of kicks fitted to trials (TOML)."),
]
JsonPath = Annotated[
    str | None, typer.Option("--json", metavar="FILE", help="Write JSON; - for stdout.")
]
CsvPath = Annotated[
    str | None, typer.Option("--csv", metavar="FILE", help="Write CSV; - for stdout.")
]
HtmlPath = Annotated[
    str | None, typer.Option("--html", metavar="FILE", help="Write a page to print; - for stdout.")
]
ChartPath = Annotated[
    str | None, typer.Option("--chart", metavar="FILE", help="Draw a chart (.svg or .png).")
]
Replace = Annotated[bool, typer.Option("--replace", help="Overwrite files that exist.")]
