"""``packsim doubt``: which inputs decide the verdicts, and what to measure first."""

import os
from typing import Annotated

import typer

from packsim.cli import options as opt
from packsim.cli.options import Units
from packsim.cli.outputs import Outputs, display_in, json_of, load_line
from packsim.cli.terminal import progress_bar

_SHOW = (
    "What the chart shows the swings of: tip_index, safe_slack_mm, loosest_slack_mm, or "
    "window_width_mm; for the most doubtful of the stages and sizes asked for."
)


def doubt_command(
    scenario: opt.Scenario,
    stage: opt.Stages = None,
    size: opt.Sizes = None,
    units: opt.UnitSystem = Units.metric,
    fitted: opt.Fitted = None,
    all_: opt.All = False,
    json: opt.Json = None,
    chart: opt.Chart = None,
    show: Annotated[str, typer.Option(metavar="KEY", help=_SHOW)] = "tip_index",
    replace: opt.Replace = False,
) -> None:
    """Say which inputs decide the verdicts, how sure each verdict is, and what to measure first."""
    # many small products of matrices: a second thread would only wait; read as numpy starts
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from packsim.doubt import doubt
    from packsim.doubt.tornado import QUANTITIES
    from packsim.errors import one_of
    from packsim.findings import quoted
    from packsim.report.terminal.doubt_table import doubt_report
    from packsim.report.words.doubt_words import most_doubtful

    outputs = Outputs(replace, json=json, chart=chart)
    one_of("show", show, QUANTITIES)
    case = load_line(scenario, units, fitted)
    with progress_bar("weighing what is not known") as tick:
        found = doubt(case, size or (), stage or (), progress=tick)
    display = display_in(units)

    def drawn() -> object:
        from packsim.report.charts.doubt_chart import doubt_chart

        return doubt_chart(most_doubtful(found), display, case.name, show)

    outputs.deliver(
        case,
        lambda: doubt_report(
            found,
            case,
            display,
            quoted(str(scenario)),
            tables=bool(stage or size),
            everything=all_,
        ),
        json=lambda: json_of("doubt", case, found),
        chart=drawn,
    )
