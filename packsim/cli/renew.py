"""``packsim renew``: a file of schema 1 with the names of schema 2, its comments kept."""

from pathlib import Path
from typing import Annotated

import typer

from packsim.cli import options as opt
from packsim.cli.outputs import Outputs


def renew_command(
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="Scenario, fitted kicks or trials (TOML).")
    ],
    output: Annotated[str | None, opt.written("Renewed file to write; - for stdout.")] = None,
    replace: opt.Replace = False,
) -> None:
    """Give a file of schema 1 the key names of schema 2. Values and comments stay as they are.

    With --replace and without --output the file itself is rewritten.
    """
    from packsim.errors import InputError
    from packsim.scenario.renew import renewed
    from packsim.scenario.text_in import read_text, read_toml, shown

    name, what = shown(file), "a scenario, fitted kicks or trials"
    text = read_text(file, what)
    read_toml(text, name, what)
    if output is None and not replace:
        raise InputError("output", "nothing", f"a file to write, or --replace to rewrite {name}")
    place = Outputs(replace, output=str(file) if output is None else output)
    new = renewed(text, name)
    said = [f"{old} is now {now}" for old, now in new.names.items()]
    place.deliver(
        lambda: "\n".join(said or [f"{name}: its names are those of schema 2 already"]),
        output=lambda: new.text,
    )
