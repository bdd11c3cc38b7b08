"""What a film or a folder of photographs says over time, for the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.answers.quantities import quantity
from packsim.errors import printable
from packsim.line import Scenario
from packsim.look.carried import Shaken
from packsim.look.followed import Moment
from packsim.look.known import Known
from packsim.look.over_time import Filmed
from packsim.report.terminal.look_table import known_length, known_text
from packsim.report.terminal.parts import WideTable, block, grid, points
from packsim.report.words.display import Display
from packsim.report.words.numbers import percent, signed

_MOST_ROWS = 12


def film_report(
    filmed: Filmed,
    shaken: Shaken | None,
    case: Scenario | None,
    stage: str,
    one: RenderableType,
    display: Display,
) -> Group:
    """Return what the pictures say together, then one of them.

    Parameters
    ----------
    filmed : Filmed
        What they say.
    shaken : Shaken or None
        How the line shakes the same cans.
    case : Scenario or None
        The line.
    stage : str
        Where on it.
    one : RenderableType
        Report of the picture whose slack is in the middle.
    display : Display
        Unit system.
    """
    rows = list(_rows(filmed, display)) + list(_moves(filmed, shaken, case, stage, display))
    parts: list[RenderableType] = [
        block(f"Over time ({display.lengths_in}; ± 95 %)", grid(rows)),
        _times(filmed, display),
    ]
    for title, said in (("Not read", filmed.not_read), ("Not told", filmed.not_seen)):
        if said:
            parts.append(block(title, points(map(printable, said))))
    return Group(*parts, Text("The picture whose slack is in the middle of all", "bold"), one)


def _rows(filmed: Filmed, display: Display) -> Iterator[tuple[str, str]]:
    """Yield which pictures there are, their slack and their cans."""
    every, count = filmed.interval_s, len(filmed.moments)
    apart = "" if every is None else f", {signed(every, 2)} s apart, {(count - 1) * every:.1f} s"
    yield "pictures", f"{count} of {count + len(filmed.not_read)}{apart}"
    if filmed.slack_mm is not None:
        values = [one.looked.slack_mm.value for one in filmed.moments if one.looked.slack_mm]
        ends = f"from {display.bare(min(values))} to {display.bare(max(values))}"
        mean = known_length(filmed.slack_mm, display)
        differs = filmed.slack_differs_mm
        by = "" if differs is None else f", standard deviation {display.fine(differs, unit=False)}"
        yield quantity("slack_mm").heading, f"{mean}; {ends}{by}"
    once = "different cans" if filmed.counted_once else "cans, those in two pictures twice"
    yield "cans", f"{filmed.cans:,} {once}, {filmed.down:,} down"


def _moves(
    filmed: Filmed,
    shaken: Shaken | None,
    case: Scenario | None,
    stage: str,
    display: Display,
) -> Iterator[tuple[str, str]]:
    """Yield speed, drift and shaking, each beside the scenario's."""
    times, unit = display.length_value(1.0), f" {display.length_unit}/s"
    kicks = None if case is None else case.stage(stage).kicks
    if filmed.speed_mm_per_s is not None:
        said = known_text(filmed.speed_mm_per_s, signed, 1, times, unit)
        if case is not None:
            scenario = signed(case.mat.speed_mm_per_s * times, 1 if display.metric else 2)
            said += f"; mat of the scenario {scenario}{unit}"
        how = {"scenario": ", by how many cans: the scenario's mat speed"}
        yield "speed of the cans", said + how.get(filmed.speed_from, "")
    if filmed.drift_mm_per_s is not None:
        said = known_text(filmed.drift_mm_per_s, signed, 2 if display.metric else 4, times, unit)
        own = "" if kicks is None else f"; scenario {kicks.drift_mm_per_s * times:.3g}{unit}"
        yield "drift to the right", said + own
    for name in ("across", "along"):
        seen: Known | None = getattr(filmed, f"shake_{name}_mm")
        if seen is not None:
            said = known_text(seen, signed, 2 if display.metric else 4, times, "")
            if shaken is not None:
                carried = getattr(shaken, f"{name}_mm") * times
                said += f"; with the kicks of the scenario {carried:.3g}"
            yield f"a can moves in a second, {name}", said
    if shaken is not None:
        now = f"scenario {shaken.step_now_mm * times:.3g}"
        step = shaken.kick_step_mm
        told = "less than can be told" if step is None else known_text(step, signed, 2, times, "")
        yield "step of a kick that gives this", f"{told}; {now}"


def _times(filmed: Filmed, display: Display) -> WideTable:
    """Return some of the pictures, evenly chosen."""
    heads = ("slack", "at left", "at right", "lanes", "missing", "leaning", "down")
    table = WideTable("time, s", heads)
    every = max(1, -(-len(filmed.moments) // _MOST_ROWS))
    for k, one in enumerate(filmed.moments):
        if k % every == 0:
            table.add_row(*_cells(one, k, display))
    return table


def _cells(one: Moment, number: int, display: Display) -> tuple[str, ...]:
    looked = one.looked
    share = ("–", "–")
    if looked.enters is not None:
        share = percent(looked.enters.value, 0), percent(1.0 - looked.enters.value, 0)
    time = f"picture {number + 1}" if one.time_s is None else f"{one.time_s:.2f}"
    counts = (looked.lanes, looked.missing, looked.leaning, looked.down)
    return time, known_length(looked.slack_mm, display), *share, *map(str, counts)
