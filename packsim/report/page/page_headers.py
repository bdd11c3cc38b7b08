"""The page's part about headers: what each takes and does, dose by lane, footprints.

Replaces the chart of doses in the stage with the least room, which may not spray at all.
"""

from typing import Any

from packsim.headers import HeaderCheck, check_headers
from packsim.report.charts.chart_frame import chart_svg
from packsim.report.charts.nozzle_charts import dose_chart, least_even
from packsim.report.drawings.drawing_files import drawing_svg
from packsim.report.drawings.nozzle_drawing import check_drawing
from packsim.report.terminal.nozzles.check_table import summary
from packsim.report.words.display import Display
from packsim.report.words.header_words import landing_table, work_table
from packsim.report.words.summary import alike
from packsim.study import Study


def header_parts(study: Study, size: str, display: Display) -> dict[str, Any] | None:
    """Return what the page shows of the headers a size passes, None where it passes none.

    Parameters
    ----------
    study : Study
        The study.
    size : str
        Name of the size.
    display : Display
        Unit system.

    Returns
    -------
    dict or None
        What stands out, tables as pairs of heads and rows, the stage washed least evenly with its
        dose by lane and its footprints as SVG, and what is assumed.
    """
    case = study.scenario
    if not any(stage.headers for stage in case.stages):
        return None
    checks = check_headers(case, sizes=(size,))
    tables = [
        _table(*each) for each in (work_table(checks, display), landing_table(checks, display))
    ]
    assumed = [one for check in checks for one in check.assumed]
    told = {"points": summary(checks, display), "tables": [t for t in tables if t[1]]}
    return {**told, "assumed": assumed, "drawn": _drawn(study, checks, size, display)}


def _table(heads: list[str], rows: list[Any]) -> tuple[list[tuple[str, str]], list[Any]]:
    """Return heads with the class of their columns, and rows, stages that read alike together."""
    told = [(head.lstrip("<").replace("\n", " "), "" if "<" in head else "n") for head in heads]
    return told, alike(rows)


def _drawn(
    study: Study, checks: tuple[HeaderCheck, ...], size: str, display: Display
) -> list[tuple[str, str]]:
    """Return the drawings with their captions: of the stage washed least evenly, where any fits."""
    name = study.scenario.name
    worst = [c for c in checks if c.doses and c.at.stage.name == least_even(checks)]
    if not worst:
        return []
    stage = worst[0].at.stage.name
    chart = chart_svg(dose_chart(worst, display, name), f"{size} doses")
    drawing = check_drawing(study.scenario, worst, display)
    return [
        (chart, f"What each lane gets in {stage}, the stage washed least evenly."),
        (drawing_svg(drawing), f"Nozzles and what their sprays cover in {stage}, over the lanes."),
    ]
