"""The study page: one HTML file with everything in it, for the screen and for paper."""

from collections.abc import Callable, Sequence
from itertools import count
from typing import Any

from packsim.chance import History, LineChance
from packsim.report.drawings.drawing_files import drawing_svg
from packsim.report.drawings.elevation_drawing import elevation_drawing
from packsim.report.drawings.plan_drawing import plan_drawing
from packsim.report.page.page_change import change_parts
from packsim.report.page.page_charts import page_charts
from packsim.report.page.page_headers import header_parts
from packsim.report.page.page_parts import (
    facts,
    findings,
    governing,
    rendered,
    summary,
    svg_markup,
)
from packsim.report.words.chance_words import told_of
from packsim.report.words.display import Display
from packsim.report.words.header_words import WORK_LEGEND
from packsim.report.words.numbers import assumed_rows, fitted_kicks
from packsim.report.words.summary import PAGE_KEYS, SLACK_MEANING, STAR_MEANING, keys_for, legend
from packsim.size_change import plan_change
from packsim.study import Study, summarize

Tick = Callable[[int, int], None]


def study_page(
    study: Study,
    display: Display,
    progress: Tick | None = None,
    chances: Sequence[LineChance] = (),
    past: History | None = None,
) -> str:
    """Return a study as one self-contained HTML page.

    Parameters
    ----------
    study : Study
        The study.
    display : Display
        Unit system of every number on the page.
    progress : callable, optional
        Called with (done, of) while charts and drawings are made.
    chances : sequence of LineChance
        The chance of a tip, by size; the page says how to get it where there is none.
    past : History, optional
        The line's history beside the model, for what it says of these chances.

    Returns
    -------
    str
        HTML with inline style and inline SVG; nothing is fetched from anywhere. The same study
        gives the same text every time.
    """
    case = study.scenario
    others = [can.name for can in case.sizes if can.name != case.set_for]
    jobs, done = 2 * len(case.sizes) + len(others), count(1)

    def tick() -> None:
        if progress is not None:
            progress(next(done), jobs)

    sizes = [_size(study, can.name, display, tick) for can in case.sizes]
    changes = []
    for size in others:
        changes.append(change_parts(plan_change(case, case.set_for, size), display))
        tick()
    resting = [a for shown in sizes if shown["headers"] for a in shown["headers"]["assumed"]]
    assumed = tuple(dict.fromkeys([*study.assumed, *resting]))
    return rendered(
        "study.html",
        display,
        name=case.name,
        study=study,
        in_short=summarize(study),
        slack_meaning=SLACK_MEANING.format(f"{case.factor:g}"),
        star_meaning=STAR_MEANING,
        findings=findings(study, display),
        chances=told_of(study, chances, past),
        sizes=sizes,
        legend=legend(keys_for(PAGE_KEYS, study.answers)),
        work_legend=WORK_LEGEND,
        changes=changes,
        trials=fitted_kicks(case),
        assumed=assumed_rows(assumed, [stage.name for stage in case.stages], display.units),
    )


def _size(study: Study, size: str, display: Display, tick: Callable[[], None]) -> dict[str, Any]:
    """Everything about one size; drawn in full is the stage with the least room."""
    chosen, case = governing(study.of_size(size)), study.scenario
    heads, rows = summary(study, size, display)
    shown: dict[str, Any] = {"size": size, "stage": chosen.stage, "heads": heads, "rows": rows}
    shown["facts"] = facts(chosen, display)
    for draw in (plan_drawing, elevation_drawing):
        shown[draw.__name__] = svg_markup(drawing_svg(draw(chosen, case, display)))
    for part in ("numbers", "what if"):
        charts = page_charts(study, chosen, display, part)
        shown[part] = [(svg_markup(svg), caption) for svg, caption in charts]
        tick()
    shown["headers"] = header_parts(study, size, display)
    if shown["headers"]:
        drawn = shown["headers"]["drawn"]
        shown["headers"]["drawn"] = [(svg_markup(svg), caption) for svg, caption in drawn]
    return shown
