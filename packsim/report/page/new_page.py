"""What was understood of a new line, on a page: its stages, and the pack from above in each."""

from packsim.answers import answer_stage
from packsim.line import Scenario
from packsim.report.drawings.drawing_files import drawing_svg
from packsim.report.drawings.plan_drawing import plan_drawing
from packsim.report.page.page_parts import rendered, svg_markup
from packsim.report.terminal.line_picture import stage_strips
from packsim.report.words.display import Display
from packsim.report.words.numbers import assumed_rows


def new_page(line: Scenario, display: Display) -> str:
    """Return a line as one self-contained page.

    Parameters
    ----------
    line : Scenario
        The line.
    display : Display
        Unit system of the numbers.

    Returns
    -------
    str
        HTML: the stages in a row, the plan of the pack in each, what nobody gave. Nothing is
        fetched from anywhere.
    """
    size = line.size(None).name
    names = [stage.name for stage in line.stages]
    plans = [
        (name, svg_markup(drawing_svg(plan_drawing(answer_stage(line, name, size), line, display))))
        for name in names
    ]
    entries = [*line.assumed, *(entry for can in line.sizes for entry in can.assumed)]
    return rendered(
        "new.html",
        display,
        name=line.name,
        size=size,
        strips="\n".join(stage_strips(line.stages, display)).splitlines(),
        plans=plans,
        assumed=assumed_rows(entries, names, display.units),
    )
