"""Lines side by side, on a page."""

from collections.abc import Sequence
from typing import Any

from packsim.compare import Target
from packsim.compare.comparison import Comparison
from packsim.report.page.page_parts import rendered
from packsim.report.words.compare_words import (
    CARRIED,
    left_out_line,
    see_lines,
    size_lines,
    size_table,
    title_lines,
)
from packsim.report.words.display import Display
from packsim.report.words.machine_words import machine_table
from packsim.report.words.numbers import assumed_rows
from packsim.report.words.target_words import target_head, target_lines, tried_heads, tried_rows


def compare_page(
    found: Comparison,
    display: Display,
    open_both: Sequence[str],
    target: tuple[Target, str] | None = None,
) -> str:
    """Return lines side by side as one self-contained HTML page; nothing is fetched for it.

    Parameters
    ----------
    found : Comparison
        The lines, and what differs.
    display : Display
        Unit system.
    open_both : sequence of str
        The command that shows the packs of the first two lines.
    target : tuple of Target and str, optional
        What was tried to reach a target, and the scenario file, for commands to copy.
    """
    stages = [stage.name for stage in found.lines[0].stages]
    return rendered(
        "compare.html",
        display,
        **compare_parts(found, display),
        asked="" if target is None else target_head(target[0]),
        reached=[] if target is None else target_lines(*target),
        tried=[] if target is None else tried_rows(target[0]),
        tried_heads=() if target is None else tried_heads(target[0]),
        titles=title_lines(found),
        left_out=map(left_out_line, found.left_out),
        carried=CARRIED,
        see=see_lines(open_both),
        assumed=assumed_rows(found.assumed, stages, display.units),
    )


def compare_parts(found: Comparison, display: Display) -> dict[str, Any]:
    """Return what the template of lines side by side shows of the machine and of every size."""
    return {
        "found": found,
        "machine": machine_table(found, display),
        "sizes": [
            (one.size, size_lines(found, one), size_table(found, one, display))
            for one in found.sizes
        ],
    }
