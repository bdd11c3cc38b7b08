"""``packsim trial``: plan a trial on the floor, fit the kicks to it, price what it teaches."""

from __future__ import annotations

import typer

from packsim.cli.trial_cost import cost_command
from packsim.cli.trial_fit import fit_command
from packsim.cli.trial_plan import plan_command

__all__ = ["trial_app"]

trial_app = typer.Typer(
    help="Plan a trial on the floor, fit the kicks to its counts, price an adjustment.",
    no_args_is_help=True,
    rich_markup_mode="rich",
)
trial_app.command("plan")(plan_command)
trial_app.command("fit")(fit_command)
trial_app.command("cost")(cost_command)
