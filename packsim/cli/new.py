"""``packsim new``: from no file to a first scenario, by a few questions or from an example."""

import sys
from pathlib import Path
from typing import Annotated, Any

import typer

import packsim
from packsim.cli import options as opt
from packsim.cli.outputs import Outputs, display_in

_FILE = "Scenario file to write (.toml)."
_YES = "Ask nothing: take what is usual for every answer, all of it on record as assumed."


def examples() -> dict[str, Path]:
    """Return the shipped scenarios by name, from the checkout or from where they are installed."""
    import sysconfig

    for root in (
        Path(packsim.__file__).parents[1],
        Path(sysconfig.get_path("data"), "share/packsim"),
    ):
        found = {path.stem: path for path in sorted(root.glob("scenarios/*.toml"))}
        if found:
            return found
    return {}


_FROM = "Copy this example, its comments too: first_look, swing_line, imperial_line and others."
_EXAMPLE = {"metavar": "EXAMPLE", "autocompletion": lambda: list(examples())}


def new_command(
    file: Annotated[Path, typer.Argument(metavar="FILE", help=_FILE)],
    example: Annotated[str | None, typer.Option("--from", **_EXAMPLE, help=_FROM)] = None,
    yes: Annotated[bool, typer.Option("--yes", help=_YES)] = False,
    units: opt.Spoken = None,
    html: opt.Html = None,
    replace: opt.Replace = False,
) -> None:
    """Write a first scenario by asking a few questions; each may be answered by "don't know".

    A value may carry how well it is known, such as 1391 mm ± 1 mm. Nothing is written before the
    last answer.
    """
    from packsim.errors import InputError
    from packsim.report.page.new_page import new_page
    from packsim.report.terminal.line_picture import line_picture
    from packsim.scenario import parse_scenario
    from packsim.scenario.new import new_text
    from packsim.scenario.text_files import read_text

    outputs = Outputs(replace, file=file, html=html)
    said: dict[str, Any] = {"units": None if units is None else units.value}
    if example is None:
        said = _answers(said, yes=yes)
        text = new_text(said)
    elif example not in examples():
        raise InputError("from", repr(example), "one of " + ", ".join(examples()))
    else:
        text = read_text(examples()[example])
    line = parse_scenario(text, str(file))
    display = display_in(said["units"] or line.units)
    outputs.deliver(
        line,
        lambda: line_picture(line, display, str(file)),
        file=lambda: text,
        html=lambda: new_page(line, display),
    )


def _answers(said: dict[str, Any], *, yes: bool) -> dict[str, Any]:
    """Ask every question that is to be asked; None stands for an answer nobody has."""
    from packsim.scenario.new import QUESTIONS

    if not yes:
        known = "54 3/4 in ± 1/16 in" if said["units"] == "inch" else "1391 mm ± 1 mm"
        _say(f'Press Enter for "don\'t know". A value may say how well it is known: {known}.')
    number = 0
    for question in QUESTIONS:
        if question.name == "units" and said["units"] is not None:
            continue
        said[question.name] = None
        if not yes and question.when(said):
            number += 1
            _say(f"\n{number}. {question.shown(said['units'] or 'metric')}")
            said[question.name] = _asked(question, said, number)
        if question.name == "units":
            said["units"] = said["units"] or "metric"
    return said


def _asked(question: Any, said: dict[str, Any], number: int) -> Any:
    """Return an answer, None where nobody knows; a wrong one is asked again at a terminal."""
    from packsim.errors import InputError
    from packsim.scenario.new.typed import is_unknown

    while True:
        try:
            text = typer.prompt("  ", default="", show_default=False, prompt_suffix="> ")
        except typer.Abort as stopped:
            _say("")
            if isinstance(stopped.__context__, EOFError):
                asked = f"the end of the input at question {number}, {question.name}"
                allowed = "an answer to every question, an empty line for don't know; or --yes"
                raise InputError("answers", asked, allowed) from None
            raise KeyboardInterrupt from None
        if not sys.stdin.isatty():
            _say("")  # nobody pressed Enter
        if is_unknown(text):
            _say(f"   not known: {question.left_open(said['units'] or 'metric')}")
            return None
        try:
            return question.read(text, said)
        except InputError as refused:
            if not sys.stdin.isatty():
                raise
            _say(f"   {refused}")


def _say(text: str) -> None:
    typer.echo(text)
