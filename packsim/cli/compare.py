"""``packsim compare``: lines side by side, before and after."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from packsim.cli import options as opt
from packsim.cli.options import Units
from packsim.cli.outputs import Outputs, display_in, json_of, load_line
from packsim.cli.terminal import progress_bar

if TYPE_CHECKING:
    from packsim.line import Scenario

_OTHERS = (
    "Scenario files to lay beside the first; if none is given, the first one with its recommended "
    "setting for the size (packsim change)."
)
_AT_MOST = (
    'Search what keeps the tips of the whole line at or below this, such as "50 per million": '
    "settings first, then changes to the machine; with one scenario file. A minute or more the "
    "first time, then passages are kept."
)
_SURE = "With --at-most: share of what is possible in which it has to be so, such as 0.9."
_SAVE = "Write the line that is laid beside the first, where one file is given (TOML)."


def compare_command(
    scenario: opt.Scenario,
    others: Annotated[
        list[Path] | None, typer.Argument(metavar="OTHERS...", help=_OTHERS, **opt.AS_PATH)
    ] = None,
    size: opt.Sizes = None,
    at_most: Annotated[str | None, typer.Option(metavar="RATE", help=_AT_MOST)] = None,
    sure: Annotated[float | None, typer.Option(metavar="SHARE", help=_SURE)] = None,
    units: opt.UnitSystem = Units.metric,
    fitted: opt.Fitted = None,
    all_: opt.All = False,
    no_cache: opt.NoCache = False,
    html: opt.Html = None,
    json: opt.Json = None,
    save: Annotated[str | None, typer.Option(metavar="FILE", help=_SAVE)] = None,
    replace: opt.Replace = False,
) -> None:
    """Lay lines side by side: what differs in the machine, in every stage, and how sure that is."""
    from packsim.compare import compare_lines, reach
    from packsim.compare.search import SURE
    from packsim.findings import quoted
    from packsim.report.page.compare_page import compare_page
    from packsim.report.terminal.compare_table import compare_report
    from packsim.scenario import scenario_to_toml
    from packsim.scenario.values.ranges import read_rate
    from packsim.setting import recommend

    outputs = Outputs(replace, html=html, json=json, save=save)
    case, display = load_line(scenario, units, fitted), display_in(units)
    _check_asked(others, size, at_most, sure, save)
    one_size, target = size or [case.set_for], None
    rate = None if at_most is None else read_rate("at-most", at_most)
    if others:
        lines = _named([scenario, *others], [case, *(load_line(p, units, fitted) for p in others)])
    elif rate is None:
        lines = {"as set": case, "recommended": _read_back(recommend(case, *one_size).line)}
    else:
        with progress_bar("searching what keeps to the target") as tick:
            target = reach(case, one_size[0], rate, SURE if sure is None else sure, progress=tick)
        name = "cheapest" if target.best.reaches else "nearest"
        lines = {"as set": case, name: _read_back(target.best.line)}
    with progress_bar("carrying packs through the lines") as tick:
        found = compare_lines(lines, size or () if others else one_size, progress=tick)
    shown = [_viewer(scenario, one, found.sizes[0].size) for one in (others or (save,))]
    asked = None if target is None else (target, quoted(str(scenario)))
    outputs.deliver(
        case,
        lambda: compare_report(found, display, shown, asked, everything=all_),
        html=lambda: compare_page(found, display, shown, asked),
        json=lambda: json_of("compare", case, found, target=target),
        save=lambda: scenario_to_toml(found.lines[1]),
    )


def _check_asked(
    others: list[Path] | None,
    size: list[str] | None,
    at_most: str | None,
    sure: float | None,
    save: str | None,
) -> None:
    """Raise `InputError` for what is asked of one scenario file beside others, or without."""
    from packsim.errors import InputError

    if others and save is not None:
        raise InputError("save", repr(save), "one scenario file: it is there already")
    if not others and len(size or ()) > 1:
        raise InputError("size", f"{len(size or ())} sizes", "one: each has a setting of its own")
    if sure is not None and at_most is None:
        raise InputError("sure", sure, "--at-most beside it")
    if others and at_most is not None:
        raise InputError("at-most", repr(at_most), "one scenario file, to begin from")


def _named(files: list[Path], lines: list["Scenario"]) -> dict[str, "Scenario"]:
    """Name lines by their files: by the whole path where two files are called alike."""
    from packsim.errors import InputError

    for k, file in enumerate(files):
        if file.resolve() in [one.resolve() for one in files[:k]]:
            raise InputError("others", repr(str(file)), "each file once")
    stems = [file.stem for file in files]
    alike = len(set(stems)) < len(stems)
    names = [str(file) for file in files] if alike else stems
    return dict(zip(names, lines, strict=True))


def _read_back(line: "Scenario") -> "Scenario":
    """Return a line as it is read from its own file, so that what was changed has its range."""
    from packsim.scenario import parse_scenario, scenario_to_toml

    return parse_scenario(scenario_to_toml(line))


def _viewer(first: Path, second: Path | str | None, size: str) -> str:
    """Return the command that shows two packs on one seed."""
    from packsim.findings import quoted

    known = second is not None and str(second) != "-"
    beside = quoted(str(second)) if known else "set.toml"
    shown = f"packsim-viewer {quoted(str(first))} --beside {beside} --size {quoted(size)}"
    return shown if known else f"give --save set.toml here, then {shown}"
