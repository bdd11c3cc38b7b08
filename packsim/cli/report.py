"""``packsim report``, ``draw``, ``renew``, ``visit``, ``measured``: pages, drawings, new files."""

import dataclasses
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from packsim.cli import options as opt
from packsim.cli.options import Units
from packsim.cli.outputs import Outputs, chances, display_in, json_of, load_line, past_of
from packsim.cli.terminal import progress_bar

_FILE = "Scenario, fitted kicks or trials (TOML)."
_READINGS = "Sheet of readings (CSV), as packsim visit makes it, filled in."


class View(StrEnum):
    """From where an answer is drawn."""

    plan = "plan"
    elevation = "elevation"


def report_command(
    scenario: opt.Scenario,
    output: Annotated[Path, opt.written("Page to write (.html).")],
    units: opt.UnitSystem = Units.metric,
    fitted: opt.Fitted = None,
    chance: opt.Chance = False,
    no_cache: opt.NoCache = False,
    replace: opt.Replace = False,
) -> None:
    """Write the study as one page (HTML): findings, drawings, charts, size-change sheets."""
    from packsim.report.page.page import study_page
    from packsim.study import study_line

    outputs = Outputs(replace, endings=(".html", ".htm"), output=output)
    case = load_line(scenario, units, fitted)
    with progress_bar("studying") as tick:
        found = study_line(case, tick)
    asked = [(each, case) for each in found.sizes] if chance else []
    told = chances(asked, sides=True)
    past = past_of(case) if asked else None
    with progress_bar("drawing") as tick:
        page = study_page(found, display_in(units), tick, told, past)
    outputs.deliver(case, lambda: f"wrote {output}", output=lambda: page)


def draw_command(
    scenario: opt.Scenario,
    stage: opt.OneStage,
    size: opt.OneSize,
    output: Annotated[Path, opt.written("Drawing to write (.svg, .dxf, .png, .pdf).")],
    view: Annotated[View, typer.Option(help="From above, or along travel.")] = View.plan,
    guides: opt.OneSetting = "as-set",
    units: opt.UnitSystem = Units.metric,
    replace: opt.Replace = False,
) -> None:
    """Draw the pack between its guides, from above or along travel, in real millimetres."""
    from packsim.answers import answer_stage
    from packsim.report.drawings.drawing_files import KINDS
    from packsim.report.drawings.elevation_drawing import elevation_drawing
    from packsim.report.drawings.plan_drawing import plan_drawing
    from packsim.scenario.values.ranges import settings

    outputs = Outputs(replace, endings=KINDS, output=output)
    line = load_line(scenario, units)
    case = settings(line, line.size(size).name, [guides], units)[guides]
    found = answer_stage(case, stage, size)
    draw = plan_drawing if view is View.plan else elevation_drawing
    drawing = draw(found, case, display_in(units))
    outputs.deliver(line, lambda: f"wrote {output}", output=lambda: drawing)


def renew_command(
    file: Annotated[Path, typer.Argument(metavar="FILE", help=_FILE, **opt.AS_PATH)],
    output: Annotated[str | None, opt.written("Renewed file to write; - for stdout.")] = None,
    replace: opt.Replace = False,
) -> None:
    """Give a file of schema 1 the key names of schema 2. Values and comments stay as they are.

    With --replace and without --output the file itself is rewritten.
    """
    from packsim.errors import InputError
    from packsim.scenario.renew import renewed
    from packsim.scenario.text_files import read_text, read_toml, shown

    name, what = shown(file), "a scenario, fitted kicks or trials"
    text = read_text(file, what)
    read_toml(text, name, what)
    if output is None and not replace:
        raise InputError("output", "nothing", f"a file to write, or --replace to rewrite {name}")
    place = Outputs(replace, output=str(file) if output is None else output)
    new = renewed(text, name)
    said = [f"{old} is now {now}" for old, now in new.names.items()]
    place.deliver(
        None,
        lambda: "\n".join(said or [f"{name}: its names are those of schema 2 already"]),
        output=lambda: new.text,
    )


def visit_command(
    scenario: opt.Scenario,
    output: Annotated[Path, opt.written("Sheet to print (.html).")],
    readings: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="Write the CSV to type the readings into; - for stdout."),
    ] = None,
    units: opt.UnitSystem = Units.metric,
    replace: opt.Replace = False,
) -> None:
    """Write the sheet for a visit to the plant: what to measure first, how exactly, with what.

    Type what was read into the CSV; packsim measured puts it into the scenario.
    """
    from packsim.doubt import doubt
    from packsim.doubt.measuring import ACTIONS
    from packsim.findings import quoted
    from packsim.report.page.visit_page import visit_csv, visit_page
    from packsim.scenario.sheets.asked import what_to_ask

    outputs = Outputs(replace, endings=(".html", ".htm"), output=output, readings=readings)
    case, display = load_line(scenario, units), display_in(units)
    with progress_bar("weighing what is not known") as tick:
        measures = doubt(case, progress=tick).measures
    ranked = dict.fromkeys([*(one.action for one in measures), *ACTIONS])
    asked = what_to_ask(scenario, case, tuple(ranked))
    wrote = f"wrote {output}"
    if readings is None:
        wrote += "\nFor a CSV to type the readings into: --readings visit.csv"
    elif readings != "-":
        load = f"packsim measured {quoted(str(scenario))} {quoted(readings)} -o measured.toml"
        wrote += f" and {readings}\nOnce the readings are typed in: {load}"
    outputs.deliver(
        case,
        lambda: wrote,
        output=lambda: visit_page(case, asked, measures, display),
        readings=lambda: visit_csv(asked, display),
    )


def measured_command(
    scenario: opt.Scenario,
    sheet: Annotated[Path, typer.Argument(metavar="READINGS", help=_READINGS, **opt.AS_PATH)],
    output: Annotated[str | None, opt.written("Scenario to write; - for stdout.")] = None,
    units: opt.UnitSystem = Units.metric,
    json: opt.Json = None,
    replace: opt.Replace = False,
) -> None:
    """Put the readings of a site visit into a scenario, and say which verdicts that turns.

    The sheet of readings is made by packsim visit. Comments of the scenario stay.
    With --replace and without --output the scenario itself is rewritten.
    """
    from packsim.errors import InputError
    from packsim.report.files.stamp import scenario_hash
    from packsim.report.terminal.measured_table import measured_report
    from packsim.scenario.sheets.measured import load_measured
    from packsim.study import verdicts_turned

    if output is None and not replace:
        raise InputError(
            "output", "nothing", f"a file to write, or --replace to rewrite {scenario}"
        )
    where = str(scenario) if output is None else output
    place = Outputs(replace, output=where, json=json)
    case = load_line(scenario, units)
    found = load_measured(scenario, sheet, scenario_hash(scenario))
    after = dataclasses.replace(found.scenario, rule_step_mm=case.rule_step_mm)
    turned = verdicts_turned(case, after)
    place.deliver(
        case,
        lambda: measured_report(case, found, turned, where, display_in(units)),
        output=lambda: found.text,
        json=lambda: json_of("measured", after, found, verdicts_turned=turned),
    )
