"""What a command cannot take, in one line: command, option, what it got, what it needs."""

from __future__ import annotations

from typing import Any, Final

import typer
from typer.core import TyperCommand

from packsim.errors import InputError, PacksimError

# typer carries its own copy of click, whose other names are private
UsageError: Final[Any] = typer.BadParameter.__base__


class OneLine(TyperCommand):
    """A command whose complaints are a line each on standard error, then exit code 2 (or 1)."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the arguments; whatever is wrong with them is said with the command's name."""
        try:
            return list(super().parse_args(ctx, args))
        except UsageError as error:
            error.ctx = ctx
            raise

    def invoke(self, ctx: Any) -> Any:
        """Run the command; `typer.Exit` with the code where it refuses or fails."""
        try:
            return super().invoke(ctx)
        except PacksimError as error:
            wrong = isinstance(error, InputError)
            said = [str(error)]
            if isinstance(error, InputError):
                said = [_by_option(one, self.params) for one in error.each]
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
        return f"{path}: {message}"
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
    return f"got {got}; needs {needs}"


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
