"""The first screen of a study: what every size does and needs, never wider than the terminal."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from rich.cells import cell_len, set_cell_size
from rich.console import Console, ConsoleOptions, RenderResult
from rich.text import Text

from packsim.errors import printable
from packsim.findings import LEVELS, quoted
from packsim.report.terminal.parts import LEVEL_STYLE, VERDICT_STYLE, cut
from packsim.report.words.display import Display
from packsim.report.words.summary import (
    RULE_SIGNS,
    SLACK_MEANING,
    STAR_MEANING,
    STATE_WORDS,
    alike,
    sentence,
    stage_cells,
    step_words,
)
from packsim.study import SizeSummary, StageSummary, Study, summarize

MOST_LINES: Final = 25
"""Lines of an everyday terminal; many sizes or stages take more."""

MOST_ROWS: Final = 12
"""Rows of a table of stages."""

LEAST_STEPS: Final = 3
"""Lines of what to do that are shown whatever room is left."""

MOST_NAMES: Final = 4
"""Stages of a row that are named; of more the first two."""

MOST_NAME: Final = 22
"""Characters of stage names on one line."""

LOCK_OUT: Final = "For planning only; lock out before reaching in. "
MORE: Final = "All: --all. How often: --chance"
"""How to get everything, and the chance of a tip."""

SHARE_MEANING: Final = " (%: of what is possible)"
"""What the shares in the steps are of."""

_URGENT: Final = ("can tip", "tight", "loose", "held")
"""Verdicts, the most urgent first."""

_GAP: Final = "  "
_HEADS: Final = (("worst/", "allowed"), ("", "cans"), ("guides", "set to"), ("", "(move)"))
_CHOICES: Final = ((0, 1, 2, 3), (0, 1, 2), (0, 2))
"""Columns of a size, the best choice first; the narrowest leaves out the verdict, which follows
from the slacks."""


@dataclass(frozen=True, slots=True)
class FirstScreen:
    """A study on one screen.

    Parameters
    ----------
    study : Study
        The study.
    display : Display
        Unit system.
    file : str
        The scenario file, for commands to copy.
    chance : bool
        Whether the chance of a tip stands below.
    """

    study: Study
    display: Display
    file: str = "FILE"
    chance: bool = False

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Yield line after line, none wider than the console."""
        width = options.max_width
        sizes = summarize(self.study)
        above = [*self._head(console, sizes, width), Text(), *self._tables(console, sizes, width)]
        signed = any(re.search(r"\d[+\u2212]", line.plain) for line in above)
        below = [
            part
            for line in self._ends(sizes, signed)
            for part in Text(line, "dim").wrap(console, width)
        ]
        yield from above
        yield from self._steps(sizes, MOST_LINES - len(above) - len(below) - 2, width)
        yield from below

    def _head(self, console: Console, sizes: Sequence[SizeSummary], width: int) -> Iterator[Text]:
        case = self.study.scenario
        now = f"guides set for {printable(case.set_for)}"
        name = cut(printable(case.name), width - cell_len(now) - 2)
        yield Text.assemble((name, "bold"), " " * (width - cell_len(name) - cell_len(now)), now)
        wide = max(cell_len(printable(size.size)) for size in sizes)
        for size in sizes:
            line = Text(set_cell_size(printable(size.size), wide) + _GAP, "bold")
            line.append(f"{STATE_WORDS[size.level]:12}{_GAP}", LEVEL_STYLE[size.level])
            indent = line.cell_len
            said = Text(printable(sentence(size)), "not bold")
            first, *more = said.wrap(console, max(20, width - indent))
            yield line.append(first)
            yield from (Text.assemble(" " * indent, part) for part in more)

    def _tables(self, console: Console, sizes: Sequence[SizeSummary], width: int) -> Iterator[Text]:
        """Lay the sizes beside each other, as many as fit with as many columns as fit."""
        left = list(sizes)
        while left:
            blocks = (
                _Block(left[:many], columns, self.display)
                for many in range(len(left), 0, -1)
                for columns in _CHOICES
            )
            for block in blocks:
                if block.width <= width:
                    break
            yield from block.lines(console)
            left = left[len(block.sizes) :]

    def _steps(self, sizes: Sequence[SizeSummary], room: int, width: int) -> Iterator[Text]:
        """Yield what to do, a line each, numbered through all sizes; like words become one line."""
        steps: dict[tuple[str, str, str], list[str]] = {}
        for size in sizes:
            for step in size.steps:
                words = step_words(step, len(size.stages), self.display)
                steps.setdefault(words, []).append(size.size)
        if not steps:
            return
        room = max(LEAST_STEPS, room)
        rows = sorted(steps.items(), key=lambda row: LEVELS.index(row[0][0].lower()))
        shown = rows if len(rows) <= room else rows[: room - 1]
        named = {name for names in steps.values() for name in names}
        one_size = f", {printable(min(named))}" if len(named) == 1 else ""
        yield Text()
        shares = SHARE_MEANING if any(size.open for size in sizes) else ""
        yield Text(f"What to do first{one_size}{shares}:", "bold")
        for number, ((level, where, what), names) in enumerate(shown, start=1):
            every = len(names) == len(sizes) > 1
            who = where if one_size else f"{'every size' if every else ', '.join(names)}, {where}"
            head = f"{number:2} {level:6} "
            said = cut(printable(f"{who}: {what}"), width - len(head))
            yield Text.assemble((head, LEVEL_STYLE[level.lower()]), said)
        if len(shown) < len(rows):
            yield Text(f"   {len(rows) - len(shown)} more: see --all", "dim")

    def _ends(self, sizes: Sequence[SizeSummary], signed: bool) -> list[str]:
        factor = f"{self.study.scenario.factor:g}"
        said = [SLACK_MEANING.format(factor)]
        signs = [RULE_SIGNS] if signed else []
        if any(not stage.part.safe for size in sizes for stage in size.stages):
            signs.append(STAR_MEANING)
        said += [" ".join(signs)] if signs else []
        said.append(LOCK_OUT + ("Everything else: --all" if self.chance else MORE))
        if any(size.open for size in sizes):
            said.append(f"What to measure first: packsim doubt {self.file}")
            return said
        other = [s.size for s in sizes if s.calls and s.size != self.study.scenario.set_for]
        if other:
            said.append(f"Every move: packsim change {self.file} --to {quoted(other[0])}")
        return said


class _Block:
    """Some sizes beside each other; stages that read alike share a row."""

    def __init__(
        self, sizes: Sequence[SizeSummary], columns: Sequence[int], display: Display
    ) -> None:
        self.sizes, self.columns, self.unit = sizes, columns, display.length_unit
        heads = [("guides", "now"), *(_HEADS[c] for _ in sizes for c in columns)]
        self.heads = [list(line) for line in zip(*heads, strict=True)]
        self.rows = self._rows(display)
        lines = [*self.heads, *(cells for _, cells in self.rows if cells)]
        self.widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
        names = ["stage", *(name for name, cells in self.rows if cells)]
        self.name = min(MOST_NAME, max(map(cell_len, names)))

    def _rows(self, display: Display) -> list[tuple[str, tuple[str, ...]]]:
        """Name and cells of each row; of many stages the quiet ones share one without cells."""
        stages = list(zip(*(size.stages for size in self.sizes), strict=True))
        rows = alike((self._row(here, display) for here in stages), MOST_NAMES)
        if len(rows) <= MOST_ROWS:
            return rows
        busy = [here for here in stages if any(stage.calls for stage in here)]
        if len(busy) > MOST_ROWS:  # those that can tip or jam come first
            busy.sort(key=lambda here: min(_URGENT.index(s.answer.tipping.verdict) for s in here))
        rows = alike((self._row(here, display) for here in busy), MOST_NAMES)
        more: list[tuple[str, tuple[str, ...]]] = []
        if len(rows) > MOST_ROWS:
            more.append((f"{len(rows) - MOST_ROWS + 1} more rows: see --all or --stage", ()))
            rows = rows[: MOST_ROWS - 1]
        if len(busy) < len(stages):
            other = "other " if busy else ""
            more.append((f"{len(stages) - len(busy)} {other}stages: held, guides stay", ()))
        return [*rows, *more]

    def _row(self, here: Sequence[StageSummary], display: Display) -> tuple[str, tuple[str, ...]]:
        answer = here[0].answer
        cells = [display.setting(answer.pack.clear_width_mm, unit=False)]
        for stage in here:
            words = stage_cells(stage, display)
            cells += [words[column] for column in self.columns]
        return printable(answer.stage), tuple(cells)

    @property
    def width(self) -> int:
        """Characters it takes."""
        return self.name + sum(len(_GAP) + width for width in self.widths)

    def lines(self, console: Console) -> Iterator[Text]:
        """Yield the heads and the rows."""
        before = self.name + len(_GAP) + self.widths[0]
        title = Text(f"lengths, {self.unit}"[:before].ljust(before), "dim")
        for i, size in enumerate(self.sizes):
            first = 1 + i * len(self.columns)
            wide = sum(len(_GAP) + w for w in self.widths[first : first + len(self.columns)])
            lanes = f" → {size.setting.lanes} lanes" if size.calls else ""
            name = cut(printable(size.size), wide - len(_GAP) - len(lanes)) + lanes
            title.append(set_cell_size(_GAP + name, wide), "bold")
        yield title
        yield self._line("", self.heads[0], "dim")
        yield self._line("stage", self.heads[1], "dim")
        for names, cells in self.rows:
            if not cells:
                yield Text(names, "dim")
                continue
            top, *more = Text(names).wrap(console, self.name)
            yield self._line(top.plain, cells)
            yield from more

    def _line(self, name: str, cells: Sequence[str], style: str = "") -> Text:
        line = Text(set_cell_size(name, self.name), style)
        for cell, width in zip(cells, self.widths, strict=True):
            line.append(_GAP + cell.rjust(width), VERDICT_STYLE.get(cell, ""))
        return line
