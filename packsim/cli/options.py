"""Options that several commands share, said once; each is named after its parameter."""

import os
import tomllib
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any, Final

import typer

from packsim.cli.outputs import keep_none, told_in


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
        place = Path(ctx.params.get("scenario") or ctx.args[0])
        text = place.read_text(encoding="utf-8") if place.is_file() else ""
        names = [row["name"] for row in tomllib.loads(text)[table]]
    except (
        OSError,
        LookupError,
        TypeError,
        ValueError,
        RecursionError,
    ):  # half a line, no scenario
        return []
    if "bash" in os.environ.get("_PACKSIM_COMPLETE", ""):  # inserts a word as it comes
        return [name.replace(" ", "\\ ") for name in names]
    return names


_STAGE = {"metavar": "NAME", "autocompletion": stage_names}
_SIZE = {"metavar": "NAME", "autocompletion": size_names}
_LEAST_SAFE = "Stage; the one with the least safe slack if left out."
_SET_FOR = "Can size; the one the guides are set for if left out."
_SETTING = (
    'Guide setting: "as-set", "window" (the recommended setting, see packsim change), or a clear '
    'width such as "1376 mm".'
)
_GUIDES = f"{_SETTING} Give it again to compare settings."
_UNITS = "Units to show, else those of the scenario; bare numbers are read in them too."
_ALL = "Show everything: every finding, table, input, legend and assumption."
_CHANCE = (
    "Work out the chance of a tip too, from the pack as it moves: a minute or more the first time, "
    "then it is kept."
)
_NO_CACHE = "Neither use nor keep passages run before."
_FITTED = "File of kicks fitted to trials (TOML)."

AS_PATH: Final[Any] = {"path_type": Path}
"""How a file that is read is declared: else an older typer holds its name as text (`_command`)."""

_SCENARIO = "Scenario file (TOML)."
Scenario = Annotated[Path, typer.Argument(metavar="SCENARIO", help=_SCENARIO, **AS_PATH)]
UnitSystem = Annotated[Units, typer.Option(help=_UNITS, callback=told_in)]
Spoken = Annotated[Units | None, typer.Option("--units", help=_UNITS)]
Stage = Annotated[str | None, typer.Option(**_STAGE, help=_LEAST_SAFE)]
OneStage = Annotated[str, typer.Option(**_STAGE, help="Stage to draw.")]
Stages = Annotated[
    list[str] | None, typer.Option("--stage", **_STAGE, help="Only this stage; may be given again.")
]
Size = Annotated[str | None, typer.Option(**_SIZE, help=_SET_FOR)]
OneSize = Annotated[str, typer.Option(**_SIZE, help="Can size to draw.")]
Sizes = Annotated[
    list[str] | None, typer.Option("--size", **_SIZE, help="Only this size; may be given again.")
]
Guides = Annotated[list[str] | None, typer.Option(metavar="SETTING", help=_GUIDES)]
OneSetting = Annotated[str, typer.Option(metavar="SETTING", help=_SETTING)]
Fitted = Annotated[Path | None, typer.Option(metavar="FILE", help=_FITTED, **AS_PATH)]
Json = Annotated[str | None, typer.Option(metavar="FILE", help="Write JSON; - for stdout.")]
Csv = Annotated[str | None, typer.Option(metavar="FILE", help="Write CSV; - for stdout.")]
Html = Annotated[
    str | None, typer.Option(metavar="FILE", help="Write a page to print; - for stdout.")
]
Chart = Annotated[str | None, typer.Option(metavar="FILE", help="Draw a chart (.svg or .png).")]
Record = Annotated[
    str | None, typer.Option(metavar="FILE", help="Keep one passage to play back (.npz).")
]
All = Annotated[bool, typer.Option("--all", help=_ALL)]
Chance = Annotated[bool, typer.Option("--chance", help=_CHANCE)]
NoCache = Annotated[bool, typer.Option("--no-cache", callback=keep_none, help=_NO_CACHE)]
Replace = Annotated[bool, typer.Option("--replace", help="Overwrite files that exist.")]


def written(what: str) -> Any:
    """Return ``-o/--output`` for a command whose main answer is a file."""
    return typer.Option("--output", "-o", metavar="FILE", help=what)
