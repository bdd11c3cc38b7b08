"""The ``packsim`` command and how it ends: 0 answered, 2 bad input, in one clear line."""

from __future__ import annotations

import sys

import typer

from packsim.cli import run, sizes, study, sweep
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
app.command("study")(study.study_command)
app.command("sweep")(sweep.sweep_command)
app.command("run")(run.run_command)
app.command("sizes")(sizes.sizes_command)


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
    except BrokenPipeError:
        # the reader went away, as `| head` does: not our failure; spare Python's own complaint
        sys.stderr.close()
        sys.exit(0)
