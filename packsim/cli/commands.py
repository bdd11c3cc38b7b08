"""Every command under its name."""

from __future__ import annotations

import sys
import warnings
from collections.abc import Callable, Sequence
from typing import Annotated

import typer

from packsim.cli import change, nozzles, renew, report, run, study, trial
from packsim.cli.refusals import OneLine, UsageError, usage_line

TITLE = "Side-guide simulator for can packs: do they fit, do they tip, where to set the guides."

app = typer.Typer(name="packsim", no_args_is_help=True, pretty_exceptions_enable=False)
nozzles_app = typer.Typer(
    no_args_is_help=True, help="Check lanes against nozzles, shift the pack, choose a pitch."
)
trial_app = typer.Typer(
    no_args_is_help=True, help="Plan a trial, fit the model to its counts, work out the cost."
)


def _show_version(asked: bool) -> None:
    if asked:
        from packsim.version import program_version

        typer.echo(f"packsim {program_version()}")
        raise typer.Exit


@app.callback(help=TITLE)
def _options(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    """Nothing to do before a command."""


_TABLE: dict[typer.Typer, dict[str, Callable[..., None]]] = {
    app: {
        "study": study.study_command,
        "why": study.why_command,
        "sweep": study.sweep_command,
        "run": run.run_command,
        "change": change.change_command,
        "report": report.report_command,
        "draw": report.draw_command,
        "oven-heat": change.oven_heat_command,
        "sizes": study.sizes_command,
        "renew": renew.renew_command,
    },
    nozzles_app: {
        "check": nozzles.check_command,
        "shift": nozzles.shift_command,
        "pitch": nozzles.pitch_command,
    },
    trial_app: {
        "plan": trial.plan_command,
        "fit": trial.fit_command,
        "cost": trial.cost_command,
    },
}
for _app, _commands in _TABLE.items():
    for _name, _command in _commands.items():
        _app.command(_name, cls=OneLine)(_command)
app.add_typer(nozzles_app, name="nozzles")
app.add_typer(trial_app, name="trial")


def _note(message: Warning | str, *_: object, **__: object) -> None:
    """Show a note such as that a file has old names as one line, not as Python would."""
    sys.stderr.write(f"packsim: {message}\n")


def ended(arguments: Sequence[str]) -> int:
    """Run one command line and return its exit code."""
    command = typer.main.get_command(app)
    warnings.showwarning = _note
    try:
        code = command.main(list(arguments), prog_name="packsim", standalone_mode=False)
    except UsageError as error:
        sys.stderr.write(usage_line(error) + "\n")
        return 2
    return code if isinstance(code, int) else 0
