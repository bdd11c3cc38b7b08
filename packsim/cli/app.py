"""The ``packsim`` command and how it ends: 0 answered, 2 bad input, 1 anything else; one line."""

from __future__ import annotations

import os
import sys
from typing import Annotated

import typer

from packsim.cli import change, draw, heat, nozzles, report, run, sizes, study, sweep, trial, why
from packsim.errors import InputError, PacksimError

__all__ = ["app", "main"]

app = typer.Typer(
    name="packsim",
    help="Guide settings, tipping margins and nozzle alignment for beverage-can packs.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode="rich",
)


def _show_version(asked: bool) -> None:
    if asked:
        from packsim.version import program_version

        typer.echo(f"packsim {program_version()}")
        raise typer.Exit


@app.callback()
def options(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    """Guide settings, tipping margins and nozzle alignment for beverage-can packs."""


app.command("study")(study.study_command)
app.command("why")(why.why_command)
app.command("sweep")(sweep.sweep_command)
app.command("run")(run.run_command)
app.command("change")(change.change_command)
app.add_typer(
    nozzles.nozzles_app, name="nozzles", help="Check cans against nozzles; shift the pack; pitch."
)
app.command("heat")(heat.heat_command)
app.command("report")(report.report_command)
app.command("draw")(draw.draw_command)
app.command("sizes")(sizes.sizes_command)
app.add_typer(trial.trial_app, name="trial")


def main() -> None:
    """Run the command line and turn our own errors into one line and an exit code."""
    try:
        app()
    except InputError as error:
        sys.stderr.write(f"packsim: {error}\n")
        sys.exit(2)
    except PacksimError as error:
        sys.stderr.write(f"packsim: {error}\n")
        sys.exit(1)
    except OSError as error:
        # files complain as InputError; this is standard output. Python would flush it once more at
        # the end and complain again, so that it goes nowhere now
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if not isinstance(error, BrokenPipeError):  # as `| head` does: nothing to talk about
            sys.stderr.write(f"packsim: cannot write: {error.strerror}\n")
        sys.exit(1)
