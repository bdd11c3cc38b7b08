"""Every command under its name, and what it cannot take, in one line."""

import sys
import warnings
from collections.abc import Callable, Sequence
from contextlib import suppress
from copy import copy
from types import ModuleType
from typing import Annotated, Any, Final

import typer
from typer.core import TyperCommand

from packsim.cli import (
    change,
    compare,
    doubt,
    look,
    new,
    nozzle_design,
    nozzles,
    proposal,
    report,
    run,
    study,
    trial,
)
from packsim.cli.outputs import asked
from packsim.errors import InputError, PacksimError, one_line

# typer carries its own copy of click, whose other names are private
UsageError: Final[Any] = typer.BadParameter.__base__


_MOST: Final = 1000
"""Complaints shown of one file; more of them are alike."""


class OneLine(TyperCommand):
    """A command whose complaints are a line each on standard error, then exit code 2 (or 1)."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the arguments; whatever is wrong with them is said with the command's name."""
        given = list(args)
        try:
            return list(super().parse_args(ctx, args))
        except UsageError as error:
            error.ctx = ctx
            error.also = self._also_wrong(ctx, given, error)
            raise

    def _also_wrong(self, ctx: Any, args: list[str], first: Any) -> list[Any]:
        """Return what else cannot be read once something cannot, in the order of the help."""
        found: list[Any] = []
        if getattr(first, "param", None) is None:  # where the words end and options begin is open
            return found
        given, left, _ = self.make_parser(ctx).parse_args(args)
        for param in self.get_params(ctx):
            try:
                param.handle_parse_result(ctx, given, left)
            except UsageError as error:
                if param is not first.param:
                    error.ctx = ctx
                    found.append(error)
        return found

    def invoke(self, ctx: Any) -> Any:
        """Run the command; `typer.Exit` with the code where it refuses or fails."""
        asked.set(ctx)
        try:
            return super().invoke(ctx)
        except PacksimError as error:
            wrong = isinstance(error, InputError)
            said = [str(error)]
            if isinstance(error, InputError):
                said = [_by_option(one, self.params) for one in error.each[:_MOST]]
                if len(error.each) > _MOST:
                    said.append(f"and {len(error.each) - _MOST} more; mend these first")
            for text in said:
                typer.echo(f"{ctx.command_path}: {text}", err=True)
            raise typer.Exit(2 if wrong else 1) from error


def usage_line(error: Any) -> str:
    """Return one line for a command line that could not be read, or the help that was due."""
    path = "packsim" if error.ctx is None else error.ctx.command_path
    param, option = getattr(error, "param", None), getattr(error, "option_name", None)
    message = error.format_message()
    if type(error).__name__ == "NoArgsIsHelpError":
        return str(message)
    if param is not None:
        if type(error).__name__ == "MissingParameter":
            wanted = (param.help or "").rstrip(".")
            wanted = wanted[:1].lower() + wanted[1:]
            return f"{path}: {_name(param)}: got nothing; needs a value: {wanted}"
        return f"{path}: {_name(param)}: {_not_read(error)}"
    if option is None:
        return f"{path}: {one_line(message)}"
    option = one_line(option)
    if type(error).__name__ != "NoSuchOption":
        return f"{path}: {option}: got nothing; needs a value"
    near = " or ".join(error.possibilities or ())
    hint = f"did you mean {near}? " if near else ""
    return f"{path}: {option}: no such option; {hint}{path} --help lists them"


def _not_read(error: Any) -> str:
    """Say what typer could not read, in our words; what it says itself varies by its version."""
    said = error.message.removeprefix("Value error, ").rstrip(".")
    got, _, needs = said.rpartition(" is not ")
    if not got:
        got, needs = repr(error.__cause__.errors()[0]["input"]), said
    if "integer" in needs:
        needs = "a whole number"
    elif "number" in needs or "float" in needs:
        needs = "a number"
    return f"got {one_line(got)}; needs {needs}"


def _by_option(error: InputError, params: list[Any]) -> str:
    """Say a complaint with the option's name where it is about an option, not about a file."""
    key = error.key.lstrip("-").removesuffix("_mm").replace("_", "-")
    for param in params:
        names = {param.name.replace("_", "-"), *(each.lstrip("-") for each in param.opts)}
        if error.file is None and key in names:
            return str(InputError(_name(param), error.got, error.allowed))
    return str(error)


def _name(param: Any) -> str:
    """Return ``--stage``, or ``SCENARIO`` for what has no dashes."""
    options = [each for each in param.opts if each.startswith("--")]
    return str(options[0] if options else param.metavar or param.name.upper())


TITLE = "Side-guide simulator for can packs: do they fit, do they tip, where to set the guides."

app = typer.Typer(name="packsim", no_args_is_help=True, pretty_exceptions_enable=False)
nozzles_app = typer.Typer(
    no_args_is_help=True, help="Check lanes against nozzles, shift the pack, design new headers."
)
trial_app = typer.Typer(no_args_is_help=True, help="Plan a trial, fit the model to its counts.")


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
        "new": new.new_command,
        "study": study.study_command,
        "why": study.why_command,
        "doubt": doubt.doubt_command,
        "look": look.look_command,
        "sweep": study.sweep_command,
        "run": run.run_command,
        "change": change.change_command,
        "compare": compare.compare_command,
        "proposal": proposal.proposal_command,
        "report": report.report_command,
        "draw": report.draw_command,
        "oven-heat": change.oven_heat_command,
        "sizes": study.sizes_command,
        "renew": report.renew_command,
        "visit": report.visit_command,
        "measured": report.measured_command,
    },
    nozzles_app: {
        "check": nozzles.check_command,
        "shift": nozzles.shift_command,
        "design": nozzle_design.design_command,
    },
    trial_app: {"plan": trial.plan_command, "fit": trial.fit_command},
}
for _app, _commands in _TABLE.items():
    for _word, _command in _commands.items():
        _app.command(_word, cls=OneLine)(_command)
app.add_typer(nozzles_app, name="nozzles")
app.add_typer(trial_app, name="trial")


def _note(message: Warning | str, *_: object, **__: object) -> None:
    """Show a note such as that a file has old names as one line, not as Python would."""
    sys.stderr.write(f"packsim: {message}\n")


def _named_first(arguments: Sequence[str]) -> typer.Typer:
    """Return the app with the command that is named first alone: to make all takes longer."""
    found = [one for one in app.registered_commands if one.name in arguments[:1]]
    if not found:
        return app
    alone = copy(app)
    alone.registered_commands, alone.registered_groups = found, []
    return alone


_UNUSED: Final = {"rich.markdown": "Markdown", "rich.traceback": "Traceback"}
"""What typer loads to show help, and does not use for ours: a quarter of the time of `--help`."""


def _load_help() -> None:
    """Load what shows help, with empty classes in place of what is unused."""
    absent = {module: name for module, name in _UNUSED.items() if module not in sys.modules}
    for module, name in absent.items():
        sys.modules[module] = ModuleType(module)
        setattr(sys.modules[module], name, type(name, (), {}))
    with suppress(ImportError):  # a typer that wants more of them loads them itself, later
        import typer.rich_utils  # noqa: F401 - what help is shown with
    for module in absent:
        del sys.modules[module]


def ended(arguments: Sequence[str]) -> int:
    """Run one command line and return its exit code."""
    if not arguments or "--help" in arguments:
        _load_help()
    command = typer.main.get_command(_named_first(arguments))
    warnings.showwarning = _note
    try:
        code = command.main(list(arguments), prog_name="packsim", standalone_mode=False)
    except UsageError as error:
        for one in (error, *getattr(error, "also", ())):
            sys.stderr.write(usage_line(one) + "\n")
        return 2
    except typer.Abort:  # what older versions make of Ctrl-C
        return 130
    if code == 1 and any(word.endswith("-completion") for word in arguments):
        return 2  # a shell that typer does not know is what was asked for wrongly
    return code if isinstance(code, int) else 0
