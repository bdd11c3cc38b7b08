"""What is in doubt about a line, for the terminal: a first screen, and tables of inputs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, Group, RenderableType, RenderResult
from rich.text import Text

from packsim.doubt.doubt import Doubt, Measure, StageDoubt
from packsim.doubt.shares import OUTCOMES, REST, Share
from packsim.doubt.tornado import QUANTITIES
from packsim.errors import printable, whole_percent
from packsim.line import Scenario
from packsim.line.input_range import InputRange
from packsim.report.terminal.first_screen import LOCK_OUT
from packsim.report.terminal.parts import VERDICT_STYLE, WideTable, block, cut, grid
from packsim.report.words.display import Display
from packsim.report.words.doubt_words import (
    EXACT_MEANING,
    GAIN_MEANING,
    INDEX_MEANING,
    MINUTES_MEANING,
    MOST_MEASURES,
    NAMES,
    WINDOW_MEANING,
    alike_swings,
    exact_words,
    measure_words,
    most_doubtful,
    others_words,
    sure_words,
    swing_words,
    taken_words,
    unsettled_words,
)
from packsim.report.words.input_words import amount_words, range_words
from packsim.report.words.numbers import thousands

MOST_VERDICTS: Final = 9
"""Rows of verdicts on the first screen: with three measurements it has 24 lines."""

MOST_SWINGS: Final = 12
"""Inputs in the table of a stage and size; ``--all`` shows every one."""

_GAP: Final = "  "


class DoubtScreen:
    """What is in doubt, on one screen.

    Parameters
    ----------
    found : Doubt
        What was found.
    scenario : Scenario
        The line it is about.
    display : Display
        Unit system.
    file : str
        The scenario file, for commands to copy.
    """

    def __init__(self, found: Doubt, scenario: Scenario, display: Display, file: str) -> None:
        self.found, self.scenario, self.display, self.file = found, scenario, display, file

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Yield line after line, none wider than the console."""
        width = options.max_width
        yield Text(cut(printable(self.scenario.name), width), "bold")
        yield from _cut_all(self._verdicts(), width)
        yield Text("What to measure first (narrows the slack left, settles verdicts)", "bold")
        for number, one in enumerate(self.found.measures[:MOST_MEASURES], 1):
            yield Text(cut(f"{number} {measure_words(one)}", width))
            exact = exact_words(one, self.scenario, self.display)
            yield Text(cut("  " + (f"know {exact}" if exact else one.action.write_down), width))
        if not self.found.measures:
            yield Text("  nothing: every input is exact")
        for line in self._ends():
            yield from line.wrap(console, width)

    def _verdicts(self) -> Iterator[Text]:
        """Yield each verdict with its share, those most in doubt first where there are many."""
        places, many = list(self.found.places), len(self.found.places) > MOST_VERDICTS
        if many:
            places = sorted(places, key=lambda place: -place.doubt)[: MOST_VERDICTS - 1]
        cases = f"{thousands(self.found.cases)} cases each, seed {self.found.seed}"
        yield Text("Verdict, and the share of what is possible in which it stands; else")
        first = "; the most doubtful first" if many else ""
        yield Text(f"({cases}: shares to 3 %{first})", "dim")
        names = [f"{printable(one.stage)}, {printable(one.size)}" for one in places]
        wide = max(map(cell_len, names), default=0)
        for name, place in zip(names, places, strict=True):
            sure = place.confidence
            line = Text(name + " " * (wide - cell_len(name)) + _GAP)
            line.append(f"{sure.verdict:8}", VERDICT_STYLE.get(sure.verdict, ""))
            line.append(f"{whole_percent(sure.share):>9}{_GAP}{others_words(sure)}".rstrip())
            yield line
        if many:
            rest = len(self.found.places) - len(places)
            yield Text(f"{rest} more, less in doubt: --all, --stage or --size", "dim")

    def _ends(self) -> Iterator[Text]:
        place = most_doubtful(self.found)
        stage, size = (f'"{printable(each)}"' for each in (place.stage, place.size))
        yield Text(LOCK_OUT + MINUTES_MEANING, "dim")
        yield Text(f"Why: packsim doubt {self.file} --stage {stage} --size {size}", "dim")
        yield Text(f"Sheet to fill in: packsim visit {self.file} -o visit.html")


def doubt_report(
    found: Doubt,
    scenario: Scenario,
    display: Display,
    file: str = "FILE",
    *,
    tables: bool = False,
    everything: bool = False,
) -> RenderableType:
    """Return what is in doubt about a line, for the terminal.

    Parameters
    ----------
    found : Doubt
        What was found.
    scenario : Scenario
        The line it is about.
    display : Display
        Unit system.
    file : str
        The scenario file, for commands to copy.
    tables : bool
        Show the inputs of each stage and size instead of one screen.
    everything : bool
        Show every input of each, with its range and where that comes from.
    """
    if not (tables or everything):
        return DoubtScreen(found, scenario, display, file)
    parts: list[RenderableType] = []
    for place in found.places:
        parts += [_place(place, display, everything), Text()]
    parts.append(_measures(found.measures, scenario, display, everything))
    legend = grid(
        (("·", text) for text in (INDEX_MEANING, EXACT_MEANING, WINDOW_MEANING, GAIN_MEANING)),
        gap=1,
    )
    parts += [Text(), legend]
    if everything:
        parts += [Text(), _ranges(scenario.ranges, display)]
    drawn = f"{thousands(found.cases)} cases each, seed {found.seed}. {MINUTES_MEANING}"
    return Group(*parts, Text(), Text(drawn, "dim"))


def _place(place: StageDoubt, display: Display, everything: bool) -> RenderableType:
    """Return the inputs of one stage and size, the largest swing of the tip index first."""
    head = Text(f"{printable(place.stage)}, {printable(place.size)}: ", "bold")
    head.append(sure_words(place.confidence), VERDICT_STYLE.get(place.verdict, ""))
    named = alike_swings(place.swings)
    swings = named if everything else named[:MOST_SWINGS]
    shares = {one.name: one for one in place.shares}
    table = WideTable(
        "input",
        (
            "<taken as",
            *(NAMES[name].replace(" ", "\n", 1) for name in QUANTITIES),
            "share",
            "total",
            "verdict",
            "<know to",
        ),
    )
    for name, swing in swings:
        one = swing.input
        exact = swing.known_within
        known = "–" if exact != exact else "which" if one.choices else ""  # nan
        table.add_row(
            name,
            taken_words(one, display),
            *(swing_words(swing, each, display) for each in QUANTITIES),
            *_share_cells(shares.get(one.key)),
            known or amount_words(one, exact, display),
        )
    if REST in shares:
        table.add_row(REST, "", "", "", "", "", *_share_cells(shares[REST]), "")
    left = len(named) - len(swings)
    more = [Text(f"{left} more inputs swing less: --all", "dim")] if left else []
    more += [Text(said)] if (said := unsettled_words(place)) else []
    unit = Text(f"{display.lengths_in}; each input at its low and at its high end", "dim")
    return Group(head, unit, table, *more)


def _share_cells(one: Share | None) -> tuple[str, str, str]:
    """Return first index with its interval, total index, and that of the verdict's doubt."""
    if one is None:
        return "–", "–", "–"
    ends = f"({_index(one.first_low[0])}–{_index(one.first_high[0])})"
    verdict = one.total[len(OUTCOMES)]
    return f"{_index(one.first[0])} {ends}", _index(one.total[0]), _index(verdict)


def _index(share: float) -> str:
    """Return an index to two decimals; what errors push below 0 or above 1 is 0 or 1."""
    return f"{min(1.0, max(0.0, share)):.2f}"


def _measures(
    measures: Sequence[Measure], scenario: Scenario, display: Display, everything: bool
) -> RenderableType:
    """Return what to measure, what to write down, and how exactly."""
    if not measures:
        return Text("Nothing to measure: every input is exact.")
    rows: list[tuple[str, str | Text]] = []
    for number, one in enumerate(measures if everything else measures[:5], 1):
        rows.append((f"{number}", measure_words(one)))
        rows.append(("", f"write down: {one.action.write_down} (with {one.action.tools})"))
        exact = exact_words(one, scenario, display)
        rows += [("", f"how exactly: {exact}")] if exact else []
        rows += [("", Text(one.action.caution, "yellow"))] if one.action.caution else []
    return block("What to measure, by what it tells for a minute", grid(rows))


def _ranges(ranges: Sequence[InputRange], display: Display) -> RenderableType:
    """Return every input of the line, how well it is known, and where that comes from."""
    rows = [(one.key, range_words(one, display), Text(one.source, "dim")) for one in ranges]
    return block("Every input and how far it may be off", grid(rows))


def _cut_all(lines: Iterator[Text], width: int) -> Iterator[Text]:
    for line in lines:
        line.truncate(width, overflow="ellipsis")
        yield line
