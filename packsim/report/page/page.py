"""The study page: one HTML file with everything in it, for the screen and for paper."""

from collections.abc import Callable, Sequence
from typing import Any

from packsim.answers import Answer
from packsim.chance import LineChance
from packsim.report.drawings.drawing_files import drawing_svg
from packsim.report.drawings.elevation_drawing import elevation_drawing
from packsim.report.drawings.plan_drawing import plan_drawing
from packsim.report.page.page_change import change_parts
from packsim.report.page.page_charts import page_charts
from packsim.report.page.page_parts import (
    chance_parts,
    cleaned,
    environment,
    facts,
    findings,
    governing,
    in_short,
    job,
    summary,
)
from packsim.report.words.chance_words import told_of
from packsim.report.words.display import Display
from packsim.report.words.legend import (
    CAUTION_LINE,
    CAUTIONS,
    PAGE_KEYS,
    assumed_rows,
    fitted_kicks,
    keys_for,
    legend,
)
from packsim.report.words.summary import SLACK_MEANING, STAR_MEANING, STATE_MEANING
from packsim.size_change import plan_change
from packsim.study import Study

Tick = Callable[[int, int], None]

METHODS = (
    "Lean, balance and safe slack: statics of a rigid can that tips about the outer edge of its "
    "rim; derived in the program text, where each formula stands with its limits.",
    "Packing: hexagonal lattice between straight guides; strained packs keep every neighbour at "
    "one diameter. Denser blocks after Z. Füredi, Discrete Comput. Geom. 6 (1991) 95–106, and "
    "J. Molnár, Acta Math. Acad. Sci. Hungar. 31 (1978) 173–183.",
    "Guide wires: parabola of a taut cable with the change-of-state equation of overhead lines.",
    "Sprays: straight rays, flow even over the footprint, all momentum given up where it lands.",
)
"""How the numbers come about, in a few lines."""


def study_page(
    study: Study,
    display: Display,
    progress: Tick | None = None,
    chances: Sequence[LineChance] = (),
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

    Returns
    -------
    str
        HTML with inline style and inline SVG; nothing is fetched from anywhere. The same study
        gives the same text every time.
    """
    names = [stage.name for stage in study.scenario.stages]
    others = [can.name for can in study.scenario.sizes if can.name != study.scenario.set_for]
    jobs = 2 * len(study.scenario.sizes) + len(others)
    steps = _Steps(progress, jobs)
    sizes = [_size(study, can.name, display, steps) for can in study.scenario.sizes]
    changes = [_change(study, size, display, steps) for size in others]
    texts: dict[str, Any] = {
        "name": study.scenario.name,
        "about": " ".join(study.scenario.about.split()),
        "seed": study.seed,
        "units": "millimetres" if display.metric else "inches",
        "settings_in": display.settings_in,
        "job": job(study, display),
        "in_short": in_short(study, display),
        "slack_meaning": SLACK_MEANING.format(f"{study.scenario.factor:g}"),
        "star_meaning": STAR_MEANING,
        "state_meaning": STATE_MEANING,
        "findings": findings(study, display),
        "chances": chance_parts(told_of(study, chances)),
        "legend": legend(keys_for(PAGE_KEYS, study.answers)),
        "trials": [(", ".join(duties), trial) for duties, trial in fitted_kicks(study.scenario)],
        "assumed": assumed_rows(study.assumed, names, display.units),
        "methods": METHODS,
        "cautions": CAUTIONS,
        "caution_line": CAUTION_LINE,
    }
    template = environment().get_template("study.html")
    page: str = template.render(
        **cleaned(texts),
        sizes=sizes,
        changes=cleaned(changes),
    )
    return page


class _Steps:
    """Counts what is done for a progress display."""

    def __init__(self, progress: Tick | None, of: int) -> None:
        self.progress, self.done, self.of = progress, 0, of

    def tick(self) -> None:
        self.done += 1
        if self.progress is not None:
            self.progress(self.done, self.of)


def _size(study: Study, size: str, display: Display, steps: _Steps) -> dict[str, Any]:
    """Everything about one size; drawn in full is the stage with the least room."""
    answers = study.of_size(size)
    chosen: Answer = governing(answers)
    case = study.scenario
    shown: dict[str, Any] = {
        "plan": _svg(drawing_svg(plan_drawing(chosen, case, display))),
        "elevation": _svg(drawing_svg(elevation_drawing(chosen, case, display))),
    }
    for key, part in (("numbers", "numbers"), ("what_if", "what if")):
        charts = page_charts(study, chosen, display, part)
        shown[key] = [(_svg(svg), caption) for svg, caption in charts]
        steps.tick()
    heads, rows = summary(study, size, display)
    texts = {
        "size": size,
        "stage": chosen.stage,
        "heads": heads,
        "rows": rows,
        "facts": facts(chosen, display),
    }
    return {**cleaned(texts), **shown}


def _change(study: Study, size: str, display: Display, steps: _Steps) -> dict[str, Any]:
    case = study.scenario
    change = plan_change(case, case.set_for, size)
    sheet = change_parts(change, display)
    steps.tick()
    return sheet


def _svg(text: str) -> Any:
    """Mark a drawing of our own writers as markup; inside HTML it needs no namespace."""
    from markupsafe import Markup

    return Markup(text.replace(' xmlns="http://www.w3.org/2000/svg"', "", 1))  # noqa: S704 - escaped by the writers
