"""``packsim proposal``: what a change of the machine saves, and when it has paid, on one page."""

from pathlib import Path
from typing import Annotated

import typer

from packsim.cli import options as opt
from packsim.cli.options import Units
from packsim.cli.outputs import Outputs, display_in, json_of, load_line
from packsim.cli.terminal import progress_bar

_AFTER = "Scenario file (TOML) of the line after the change."
_FIGURES = "Your own figures (TOML): cans a year, what a can and an hour cost, price of the change."
_TRIAL = "Trial file (TOML or CSV) of the changed line, to compare counted with foretold."
_LOGO = "Your own logo for the page (PNG or JPEG)."


def proposal_command(
    scenario: opt.Scenario,
    after: Annotated[Path, typer.Argument(metavar="AFTER", help=_AFTER, **opt.AS_PATH)],
    figures: Annotated[
        Path, typer.Option("--figures", metavar="FILE", help=_FIGURES, **opt.AS_PATH)
    ],
    output: Annotated[str | None, opt.written("Page to write (.html).")] = None,
    trial: Annotated[
        list[Path] | None, typer.Option("--trial", metavar="FILE", help=_TRIAL, **opt.AS_PATH)
    ] = None,
    logo: Annotated[
        Path | None, typer.Option("--logo", metavar="FILE", help=_LOGO, **opt.AS_PATH)
    ] = None,
    fitted: opt.Fitted = None,
    no_cache: opt.NoCache = False,
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    replace: opt.Replace = False,
) -> None:
    """Say what a change of the machine saves and when it has paid, on a page to hand over.

    SCENARIO is the line as it is. Money is worked out from your own figures alone.
    """
    import numpy as np

    from packsim.money.proposal import propose
    from packsim.report.page.logo import logo_uri
    from packsim.report.page.proposal_page import proposal_page
    from packsim.report.terminal.proposal_table import proposal_report
    from packsim.scenario.figures import load_figures
    from packsim.scenario.trial_file import load_trials

    outputs = Outputs(replace, endings=(".html", ".htm"), output=output, json=json)
    before, changed = (load_line(path, units, fitted) for path in (scenario, after))
    own = load_figures(figures, before)
    picture = "" if logo is None else logo_uri(logo)
    trials = load_trials(trial, changed) if trial else ()
    rng = np.random.default_rng(before.seed)
    with progress_bar("carrying packs through both lines") as tick:
        found = propose(before, changed, own, rng, trials=trials, progress=tick)
    display = display_in(units)
    outputs.deliver(
        before,
        lambda: proposal_report(found),
        output=lambda: proposal_page(found, display, picture),
        json=lambda: json_of("proposal", before, found, (*before.assumed, *changed.assumed)),
    )
