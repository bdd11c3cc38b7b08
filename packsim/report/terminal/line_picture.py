"""A line as a terminal can draw it: its stages in a row, and the pack from above in one of them."""

from collections.abc import Sequence
from typing import Final

from packsim.answers import answer_stage
from packsim.findings import quoted
from packsim.line import Scenario, Stage
from packsim.nozzles.lane_lines import lane_lines_mm
from packsim.report.terminal.parts import caution
from packsim.report.words.display import Display
from packsim.report.words.numbers import pack_words

COLUMNS: Final = 78
"""Width of the pictures: less than any terminal has."""

_ROWS: Final = 4


def line_picture(line: Scenario, display: Display, file: str) -> str:
    """Return what was understood of a line, and what to do next with its file.

    Parameters
    ----------
    line : Scenario
        The line.
    display : Display
        Unit system of the numbers.
    file : str
        The file it is written to, as the commands take it.

    Returns
    -------
    str
        The stages with their headers, the pack from above in the first stage, and the commands.
    """
    looked = not any(entry.key.endswith(".rows") for entry in line.assumed)
    lines = [line.name, "", *stage_strips(line.stages, display), "", *pack_rows(line, display)]
    if not looked:
        lines.append("Nobody has looked which way the rows run: drawn along the guides.")
    lines += [f"{one.key}: {one.text} is unlikely; {one.question}" for one in line.unlikely]
    count = len(line.assumed) + sum(len(can.assumed) for can in line.sizes)
    lines += [f"{count} values are assumed; nobody gave them.", "", f"wrote {file}"]
    lines += [f"First verdict: packsim study {quoted(file)}"]
    lines += [f"What to measure first: packsim doubt {quoted(file)}", "", str(caution())]
    return "\n".join(lines)


def stage_strips(stages: Sequence[Stage], display: Display) -> list[str]:
    """Return the stages in a row, long ones wider, in more rows where they need them.

    v is a header above the mat, ^ one below it; travel is to the right.
    """
    found: list[str] = []
    rows = [[(stage, _least(stage, display)) for stage in row] for row in _rows_of(stages, display)]
    per_mm = min(
        (COLUMNS - len(row) - sum(few for _, few in row)) / sum(one.length_mm for one, _ in row)
        for row in rows
    )
    for row in rows:
        cells = []
        for stage, few in row:
            width = few + int(per_mm * stage.length_mm)
            words = stage.name.ljust(width), display.setting(stage.length_mm).ljust(width)
            above, below = (_ticks(stage, side, width) for side in ("above", "below"))
            cells.append((*words, above, "=" * width, below))
        found += [*([""] if found else []), *_joined(cells)]
    return found


def _rows_of(stages: Sequence[Stage], display: Display) -> list[list[Stage]]:
    """Return the stages in as many rows as their words need."""
    rows: list[list[Stage]] = [[]]
    room = COLUMNS
    for stage in stages:
        least = 1 + _least(stage, display)
        if least > room and rows[-1]:
            rows.append([])
            room = COLUMNS
        rows[-1].append(stage)
        room -= least
    return rows


def _least(stage: Stage, display: Display) -> int:
    return max(len(stage.name), len(display.setting(stage.length_mm)))


def _joined(row: Sequence[Sequence[str]]) -> list[str]:
    drawn = ["|" + "|".join(cells) + "|" for cells in zip(*row, strict=True)]
    drawn[3] += " > travel"
    return drawn


def _ticks(stage: Stage, side: str, width: int) -> str:
    drawn = [" "] * width
    for header in stage.headers:
        if header.side == side:
            drawn[min(width - 1, int(width * header.station_mm / stage.length_mm))] = "v^"[
                side == "below"
            ]
    return "".join(drawn)


def pack_rows(line: Scenario, display: Display) -> list[str]:
    """Return the pack of the first stage from above, on the mat, with what it says in words."""
    stage, size = line.stages[0], line.size(None).name
    answer = answer_stage(line, stage.name, size)
    guides, mat = stage.guides, line.mat.width_mm
    left = guides.centre_mm - guides.narrowest_mm / 2.0
    places = lane_lines_mm(answer.pack, left) if answer.pack.fits else ()

    def at(mm: float) -> int:
        return round((COLUMNS - 1) * mm / mat)

    found = []
    for row in range(_ROWS):
        drawn = [" "] * COLUMNS
        for lane, place in enumerate(places):
            if lane % 2 == row % 2:
                drawn[at(place)] = "o"
        for mark, place in (("[", 0.0), ("]", mat), ("|", left), ("|", mat - left)):
            drawn[at(place)] = mark
        found.append("".join(drawn).rstrip())
    clear = display.setting(guides.narrowest_mm)
    slack = f", {display.length(answer.pack.slack_mm)} of slack" if answer.pack.fits else ""
    words = f"{stage.name}, {size}: {pack_words(answer, display.length)}{slack}"
    return [
        *found,
        f"[ ] mat, {display.setting(mat)}; | guides, {clear} apart; o cans, travel is up",
        words,
    ]
