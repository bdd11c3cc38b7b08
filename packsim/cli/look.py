"""``packsim look``: from a photograph to the pack that really stands on the mat."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from packsim.cli import options as opt
from packsim.cli.look_film import (
    check_asked,
    film_of,
    kicks_told,
    passage_of,
    trial_sheet,
    what_next,
)
from packsim.cli.look_told import (
    Reader,
    camera_told,
    can_told,
    guides_told,
    length_told,
    line_told,
)
from packsim.cli.outputs import Outputs, display_in, json_of
from packsim.cli.terminal import progress_bar

if TYPE_CHECKING:
    from rich.console import RenderableType

    from packsim.cli.look_told import Can
    from packsim.line import Scenario
    from packsim.look import Looked
    from packsim.look.beside import Beside
    from packsim.look.carried import Shaken
    from packsim.look.over_time import Filmed
    from packsim.scenario.sheets.measured import Measured
    from packsim.study import Turned

_PHOTO = "Photograph of the mat from above (.jpg, .png, .tif), a folder of them, or a film (.mp4)."
_SIZE = "Can size in it: one of the scenario's, or of the catalogue, or the diameter of the body."
_SCENARIO = "Scenario file (TOML) of the line it was taken on."
_STAGE = "Stage it was taken at; the infeed if left out."
_TRAVEL = "Where travel goes to in the picture; to the right, or up, if left out."
_LENGTH = (
    "A length known in the picture, level with the can tops, between two points in pixels: "
    '"1391 mm 120,300 1710,340". Give it again for more. The cans tell the scale if left out.'
)
_BELOW = (
    "How far below the tops of the cans the edges of the guides lie; as high as the highest wire "
    "of the scenario, or level with the rims, if left out."
)
_CAMERA = (
    "How high the camera was above the tops of the cans; as the file notes its focal length, else "
    "as a phone's camera has it, if left out."
)
_OVERLAY = "Picture to write, with all that was found drawn over it (.png)."
_EVERY = (
    "Seconds from one picture to the next of a folder or a film; as the cameras noted, or what "
    "makes 60 pictures of a film, if left out."
)
_COUNTS = "Write the cans counted and those down as a trial sheet, for packsim trial fit (CSV)."
_SAVE = "Write the scenario with what was seen, each with its ± (TOML)."


class Travel(StrEnum):
    """Where travel goes to in a picture."""

    right = "right"
    left = "left"
    up = "up"
    down = "down"


def look_command(
    photo: Annotated[Path, typer.Argument(metavar="PHOTO", help=_PHOTO, **opt.AS_PATH)],
    size: Annotated[str, typer.Option(metavar="NAME", help=_SIZE)],
    taken_on: Annotated[
        Path | None, typer.Option("--scenario", metavar="FILE", help=_SCENARIO, **opt.AS_PATH)
    ] = None,
    stage: Annotated[str | None, typer.Option(metavar="NAME", help=_STAGE)] = None,
    travel: Annotated[Travel | None, typer.Option(help=_TRAVEL)] = None,
    length: Annotated[list[str] | None, typer.Option(metavar="LENGTH", help=_LENGTH)] = None,
    camera: Annotated[str | None, typer.Option(metavar="LENGTH", help=_CAMERA)] = None,
    guide_below: Annotated[str | None, typer.Option(metavar="LENGTH", help=_BELOW)] = None,
    units: opt.Spoken = None,
    every: Annotated[float | None, typer.Option(help=_EVERY)] = None,
    chance: opt.Chance = False,
    no_cache: opt.NoCache = False,
    chart: opt.Chart = None,
    counts: Annotated[str | None, typer.Option(metavar="FILE", help=_COUNTS)] = None,
    record: opt.Record = None,
    output: Annotated[str | None, opt.written(_OVERLAY)] = None,
    save: Annotated[str | None, typer.Option(metavar="FILE", help=_SAVE)] = None,
    json: opt.Json = None,
    replace: opt.Replace = False,
) -> None:
    """Measure the pack in a photograph: rows, lanes, slack, gaps, cans missing, each with its ±.

    With --scenario its very cans are judged beside the pack that the scenario predicts.
    Of a folder or a film also slack against time (--chart), travel, drift and how cans shake.
    --record keeps a passage that begins with these very cans.
    """
    from rich.console import Group

    from packsim.look.frames import is_many
    from packsim.look.photograph import read_photograph
    from packsim.report.charts.film_chart import slack_chart
    from packsim.report.drawings.look_overlay import look_overlay
    from packsim.report.terminal.film_table import film_report
    from packsim.report.terminal.look_table import look_report
    from packsim.report.terminal.parts import points
    from packsim.scenario.sheets.looked import load_looked, new_looked
    from packsim.study import verdicts_turned

    files: dict[str, Any] = {"output": output, "chart": chart, "counts": counts, "record": record}
    many = is_many(photo)
    check_asked(many, taken_on is not None, files | {"every": every, "chance": chance or None})
    outputs = Outputs(replace, endings=(".png",), save=save, json=json, **files)

    case, system = line_told(taken_on, units)
    at = "" if case is None else (case.stages[0] if stage is None else case.stage(stage)).name
    can = can_told(size, case, system)
    lengths = [length_told(one, system) for one in length or ()]
    below = guides_told(guide_below, system, case, at, can)
    reader = Reader(can, travel and travel.value, lengths, below, camera_told(camera, system))
    display = display_in(system)
    made: dict[str, Callable[[], Any]] = {}
    filmed: Filmed | None = None
    if many:
        filmed = film_of(photo, every, reader, case)
        looked = filmed.typical
        made["chart"] = lambda: slack_chart(filmed, f"{photo.name}: {can.name}", display)
    else:
        grey = read_photograph(photo)
        looked = reader.looked(reader.seen(grey, str(photo)), photo)
        made["output"] = lambda: look_overlay(grey, looked, judged, display)

    judged, shaken = _on_line(case, at, can, looked, filmed, chance=chance)
    if case is not None:
        made["record"] = lambda: passage_of(case, at, can.name, looked)
    if case is not None and filmed is not None:
        made["counts"] = lambda: trial_sheet(filmed, case, at, photo, can.name, display)
    saved: Measured | None = None
    turned: tuple[Turned, ...] = ()
    if save is not None and case is not None and taken_on is not None:
        saved = load_looked(taken_on, looked, stage, kicks_told(filmed, shaken))
        turned = verdicts_turned(case, saved.scenario)
    elif save is not None:
        saved = new_looked(looked, can.source, stage or "wash", system)
    if saved is not None:
        made["save"] = lambda: saved.text

    def shown() -> RenderableType:
        told = look_report(looked, judged, saved, turned, (can.name, save or ""), display)
        if filmed is not None:
            told = film_report(filmed, shaken, case, at, told, display)
        return Group(told, points(what_next(files, taken_on)))

    told = {"shaken": shaken, "beside": judged, "saved": saved, "verdicts_turned": turned}
    made["json"] = lambda: json_of("look", case, looked, filmed=filmed, **told)
    outputs.deliver(case, shown, **made)


def _on_line(
    case: Scenario | None,
    stage: str,
    can: Can,
    looked: Looked,
    filmed: Filmed | None,
    *,
    chance: bool,
) -> tuple[Beside | None, Shaken | None]:
    """Return the seen cans beside what their line predicts, and shaken as it says; None without."""
    from packsim.look import beside_line
    from packsim.look.carried import shaken_on_line

    if case is None:
        return None, None
    with progress_bar("chance of a tip") as tick:
        judged = beside_line(case, stage, can.name, looked, chance=chance, progress=tick)
    return judged, None if filmed is None else shaken_on_line(case, stage, can.name, filmed)
