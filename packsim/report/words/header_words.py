"""What headers take and do, as headings and cells for the terminal and the page.

New, replaces nothing: the check told where sprays land, not with what flow, pipe, push and time.
"""

from collections.abc import Sequence
from typing import Final

from packsim.headers import HeaderCheck, HeaderWork, Landing
from packsim.line import MEDIA
from packsim.report.words.display import Display
from packsim.report.words.numbers import figures, percent
from packsim.spray.pipe import STANDARD_INSIDE_MM, PipeRun

Row = tuple[str, tuple[str, ...]]

PIPE_MEANING: Final = (
    "smallest pipe",
    "inside diameter of standard pipe in which the nozzle at one end of a header gets 98 % of what "
    "the other end gets, or what --pipe-share of nozzles check asks",
)

WORK_LEGEND: Final = (
    ("strikes with", "pressure where the spray is densest, of one nozzle, on can tops or mat"),
    ("push", "of all nozzles of one header on a can, most on its way; on pool: on its dome recess"),
    (
        "smallest pipe",
        "inside diameter of standard pipe that keeps its nozzles alike (--pipe-share)",
    ),
    ("last/first", "flow of the last nozzle over the first: no pressure regained, to all of it"),
    ("on wall", "share that meets a wall; the rest meets the dome, from inside or on top"),
    ("impulse", "momentum a can gets straight against its dome, straight against its wall inside"),
    ("wet, dry", "how long a point is under the sprays, and the longest time between two headers"),
)
"""Headings of both tables."""

LAND_HEADS: Final = (
    *("<where", "on\nwall", "impulse\ndome\n{impulse}", "impulse\nwall\n{impulse}"),
    *("wet\ns", "dry\ns"),
)


def where_words(place: str, medium: str) -> str:
    """Name a place with what lands there, where that is not a liquid."""
    return place if medium == "liquid" else f"{place} (gas)"


def work_table(checks: Sequence[HeaderCheck], display: Display) -> tuple[list[str], list[Row]]:
    """Return headings and rows of what headers take and do, those alike in a stage together."""
    unit = display.length_unit
    flow, strike = display.flow_value(0.0)[1], display.strike_value(0.0)[1]
    piped = any(w.pipe for check in checks for side in check.sides for w in side.work)
    heads = ["<side", f"{flow}\neach", f"{flow}\nin all", f"strikes\nwith {strike}"]
    heads += [f"push\n{display.force(0.0).split()[1]}", "on\npool", f"smallest\npipe {unit}"]
    heads += [f"pipe\n{unit}", "last/first", "loss\n" + display.pressure_value(0.0)[1]] * piped
    rows = []
    for check in checks:
        for side in check.sides:
            alike: dict[tuple[str, ...], list[HeaderWork]] = {}
            for work in side.work:
                alike.setdefault(_work_cells(work, display, piped), []).append(work)
            for cells, same in alike.items():
                total = display.flow_value(sum(w.flow_L_per_min for w in same))[0]
                told = (f"{len(same)} {side.side}", cells[0], figures(total), *cells[1:])
                rows.append((check.at.stage.name, told))
    return heads, rows


def _work_cells(work: HeaderWork, display: Display, piped: bool) -> tuple[str, ...]:
    cells = [
        figures(display.flow_value(work.flow_L_per_min)[0]),
        figures(display.strike_value(work.impact_MPa)[0]),
        display.force(work.push_N, 3).split()[0],
        display.force(work.pool_push_N, 3).split()[0] if work.pool_push_N else "–",
        pipe_words(work.smallest_pipe, display),
    ]
    return (*cells, *(_pipe_cells(work.pipe, display) if piped else ()))


def pipe_words(smallest: PipeRun | None, display: Display) -> str:
    """Return the inside diameter of the smallest pipe that serves, or that none does."""
    if smallest is None:
        return f"over {display.bare(STANDARD_INSIDE_MM[-1])}"
    return display.bare(smallest.inside_mm)


def _pipe_cells(pipe: PipeRun | None, display: Display) -> tuple[str, ...]:
    if pipe is None:
        return ("–", "–", "–")
    low, high = (percent(share) for share in pipe.last_share)
    last = f"{low} to {high}" if pipe.last_share[1] else f"{low}, or none"
    loss = display.pressure_value(pipe.loss_MPa)[0]
    return display.bare(pipe.inside_mm), last, figures(loss)


def landing_table(checks: Sequence[HeaderCheck], display: Display) -> tuple[list[str], list[Row]]:
    """Return headings and rows of how sprays land, places that are reached only."""
    unit = display.impulse_value(0.0)[1]
    rows = [
        (check.at.stage.name, (where_words(dose.place, dose.medium), *_land(dose.landing, display)))
        for check in checks
        for dose in check.doses
        if dose.place != "outside"
    ]
    return [head.format(impulse=unit) for head in LAND_HEADS], rows


def _land(lands: Landing, display: Display) -> tuple[str, ...]:
    dome, wall = (
        figures(display.impulse_value(each)[0])
        for each in (lands.dome_impulse_Ns, lands.wall_impulse_Ns)
    )
    inside = lands.wall_share > 0.0
    return (
        percent(lands.wall_share, 0) if inside else "–",
        dome,
        wall if inside else "–",
        figures(lands.wet_s),
        figures(lands.dry_s) if lands.dry_s else "–",
    )


def taken_words(checks: Sequence[HeaderCheck], display: Display) -> list[str]:
    """Say what every stage takes, each with a pump of its own, liquid and gas apart."""
    unit, lines = display.flow_value(0.0)[1], []
    for name in MEDIA:
        each = {c.at.stage.name: getattr(c, f"{name}_L_per_min") for c in checks}
        told = [f"{k} {figures(display.flow_value(x)[0])}" for k, x in each.items() if x]
        if told:
            lines.append(f"{name} a stage takes, {unit}: {', '.join(told)}")
    return lines


def pipe_warnings(checks: Sequence[HeaderCheck], display: Display) -> list[str]:
    """Say whose pipes are too small for their nozzles, and how wide one must be."""
    small: dict[str, list[str]] = {}
    for check in checks:
        for side in check.sides:
            works = [work for work in side.work if work.pipe_serves is False]
            for bore in dict.fromkeys(pipe_words(w.smallest_pipe, display) for w in works):
                small.setdefault(bore, []).append(f"{check.at.stage.name} {side.side}")
    return [
        f"the pipe is too small for its nozzles to spray alike: {', '.join(where)}; take one of "
        f"{bore} {display.length_unit} inside, or feed it from both ends"
        for bore, where in small.items()
    ]


def blown_words(checks: Sequence[HeaderCheck], display: Display) -> list[str]:
    """Say how deep a gas presses the pool in the domes, as a column of water of equal pressure."""
    deep: dict[str, list[str]] = {}
    for check in checks:
        works = [w for s in check.sides if s.side == "above" for w in s.work if w.medium == "gas"]
        if works:
            mm = max(work.hollow_mm for work in works)
            whole = check.at.can.dome_depth_mm
            text = "the gas presses hard enough to part the water in a dome down to its bottom"
            if mm < whole:
                text = f"the gas presses a hollow of {display.length(mm)} into the water in a dome "
                text += f"{display.length(whole)} deep"
            deep.setdefault(text, []).append(check.at.stage.name)
    return [f"{text} ({', '.join(stages)})" for text, stages in deep.items()]
