"""What ``packsim look`` does with a folder of pictures or a film, and with cans that are down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from packsim.cli.terminal import progress_bar
from packsim.errors import InputError

if TYPE_CHECKING:
    from packsim.cli.look_told import Reader
    from packsim.line import Scenario
    from packsim.look import Looked
    from packsim.look.carried import Shaken
    from packsim.look.known import Known
    from packsim.look.over_time import Filmed
    from packsim.look.seen import SeenPack
    from packsim.report.words.display import Display


def check_asked(many: bool, on_line: bool, asked: Mapping[str, Any]) -> None:
    """Raise `InputError` for what is asked of one picture and needs many, or the other way.

    So too for what needs the line of the pictures; ``asked`` is None by the name of an option that
    was not given.
    """
    if many and asked["output"] is not None:
        raise InputError("output", "a folder or a film", "one photograph to draw over")
    for name in ("every", "chart", "counts"):
        if asked[name] is not None and not many:
            raise InputError(name, "one photograph", "a folder of pictures or a film")
    for name in ("counts", "record"):
        if asked[name] is not None and not on_line:
            raise InputError("scenario", "nothing", f"the line of the pictures, for --{name}")
    if asked["chance"] and not on_line:
        allowed = "the scenario of a line: tips are of its kicks"
        raise InputError("chance", "no --scenario", allowed)


def film_of(place: Path, every: float | None, reader: Reader, case: Scenario | None) -> Filmed:
    """Look at every picture of a folder or a film; those that show no pack are told by name."""
    from packsim.look.followed import Moment
    from packsim.look.frames import Picture, pictures_of
    from packsim.look.over_time import measure_film
    from packsim.look.rows import rows_of
    from packsim.look.still import by_one_view

    count, pictures = pictures_of(place, every)
    found: list[tuple[Picture, SeenPack]] = []
    not_read = []
    with progress_bar("looking", "pictures") as tick:
        for done, picture in enumerate(pictures):
            tick(done, count)
            try:
                if isinstance(picture.grey, InputError):
                    raise picture.grey
                seen = reader.seen(picture.grey, picture.name)
                rows_of(seen)
                found.append((picture._replace(grey=picture.grey[:0]), seen))
            except InputError as problem:
                not_read.append(f"{picture.name}: got {problem.got}; needs {problem.allowed}")
    if len(found) < 2:
        got = f"{len(found)} of {count} pictures with a pack"
        said = f"; {not_read[0]}" if not_read else ""
        raise InputError("photo", f"{got}{said}", "two or more", str(place))
    each = [seen for _, seen in found]
    still = by_one_view(each)
    noted = [place / picture.name if place.is_dir() else None for picture, _ in found]
    moments = [
        Moment(picture.name, picture.time_s, reader.looked(seen, file))
        for (picture, _), seen, file in zip(found, still or each, noted, strict=True)
    ]
    speed = None if case is None else case.mat.speed_mm_per_s
    return measure_film(moments, not_read, mat_mm_per_s=speed, still=still is not None)


def kicks_told(filmed: Filmed | None, shaken: Shaken | None) -> dict[str, Known]:
    """Return what a film says of the kicks of its stage, by the key of a scenario."""
    told: dict[str, Known] = {}
    if shaken is not None and shaken.kick_step_mm is not None:
        told["sideways_step_rms"] = shaken.kick_step_mm
    if filmed is not None and filmed.drift_mm_per_s is not None:
        told["drift_to_right"] = filmed.drift_mm_per_s
    return told


def trial_sheet(
    filmed: Filmed,
    case: Scenario,
    stage: str,
    place: Path,
    size: str,
    display: Display,
) -> str:
    """Return cans counted and cans down as a sheet that ``packsim trial fit`` reads.

    A can that is down in a picture tipped there or before it: at the last stage it is all that
    tipped, in the first one these tipped in it. Elsewhere the cells stay empty, to be filled in:
    what is not in the pictures is not taken as none.
    """
    from packsim.look.seen import LEANS_FROM_DEG
    from packsim.report.files.csv_tables import trials_csv

    taken = dt.datetime.fromtimestamp(place.stat().st_mtime, tz=dt.UTC)
    first, last = case.stages[0].name, case.stages[-1].name
    said = [f"{len(filmed.moments)} pictures, the date that of {place.name}"]
    said.append("one in seven that lie is missed, half that lean: look at the pictures yourself")
    if not filmed.counted_once:
        said.append("cans in two pictures count twice")
    if leaning := filmed.typical.leaning:
        said.append(f"{leaning} more lean {LEANS_FROM_DEG:g}° or more in one picture")
    gone = [one.name for one in case.stages if one.tipped == "leaves a hole"]
    if gone:
        said.append(f"cans that tip in {', '.join(gone)} leave the pack and are not counted")
    if stage != last:
        said.append(f"fill in tipped: these {filmed.down} and those that tip after {stage}")
    known = {
        "trial": f"{stage} {place.stem}",
        "date": taken.astimezone().date().isoformat(),
        "size": size,
        "cans": str(filmed.cans),
    }
    width, tips = filmed.typical.clear_width_mm, {"tipped": str(filmed.down)}
    width_mm = case.stage(stage).guides.narrowest_mm if width is None else width.value
    own = {"stage": stage, "clear_width": display.in_file(width_mm)} | (
        tips if stage == first else {}
    )
    whole = known | (tips if stage == last else {}) | {"remarks": "; ".join(said)}
    return trials_csv([whole, known | own])


def passage_of(case: Scenario, stage: str, size: str, looked: Looked) -> Callable[..., None]:
    """Return what writes the passage of the very cans, or say that no stretch of them repeats."""
    from functools import partial

    from packsim.look.beside import line_as_seen
    from packsim.look.carried import passage_as_seen
    from packsim.passage.store import save_record
    from packsim.scenario import scenario_to_toml

    line = line_as_seen(case, stage, looked)
    with progress_bar("carrying the seen cans through the line") as tick:
        text = scenario_to_toml(line)
        record = passage_as_seen(line, size, looked, text, lambda share: tick(share, 1))
    if record is None:
        raise InputError("record", "no stretch of pack that repeats", "two cans or more of a lane")
    return partial(save_record, record)


def what_next(files: Mapping[str, str | None], line: Path | None) -> list[str]:
    """Return what to do with the files that were written."""
    from packsim.findings import quoted

    said = []
    if files["counts"] is not None:
        fit = f"packsim trial fit {quoted(str(line))} {quoted(files['counts'])}"
        said.append(f"the cans down as a trial; look at its lines first: {fit}")
    if files["record"] is not None:
        said.append(f"these cans on their way: packsim-viewer {quoted(files['record'])}")
    return said
