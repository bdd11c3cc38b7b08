"""A study as tables and sentences for the terminal."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from packsim.answers import Answer
from packsim.report.terminal.wide_table import WideTable
from packsim.report.words.assumed import assumed_rows
from packsim.report.words.cautions import CAUTION_LINE
from packsim.report.words.display import Display, per_million, percent, thousands
from packsim.report.words.kick_sources import fitted_kicks
from packsim.study import Finding, Study

LEVEL_STYLE = {"stop": "bold red", "change": "bold yellow", "watch": "cyan", "note": "green"}
VERDICT_STYLE = {"tight": "yellow", "held": "green", "loose": "yellow", "can tip": "bold red"}


def study_report(study: Study, display: Display) -> Group:
    """Return a whole study for the terminal.

    Parameters
    ----------
    study : Study
        The study.
    display : Display
        Unit system.

    Returns
    -------
    rich.console.Group
        Title, findings, one table for each size, what is assumed, cautions.
    """
    scenario = study.scenario
    title = Text(scenario.name, style="bold")
    about = Text(" ".join(scenario.about.split()), style="dim")
    facts = Text(
        f"guides set for {scenario.set_for}; mat {display.length(scenario.mat.width_mm)} wide at "
        f"{display.speed(scenario.mat.speed_mm_per_s)}; safety factor {scenario.factor:g} on the "
        f"safe slack; seed {study.seed}"
    )
    parts: list[RenderableType] = [title, about, facts, Text()]
    parts += [_findings(study.findings, display), Text()]
    for size in dict.fromkeys(answer.size for answer in study.answers):
        parts += [_size_tables(study, size, display), Text()]
    parts += [_legend(), Text(), *_trials(study), _assumed(study, display.units), Text()]
    parts.append(Text(f"Caution. {CAUTION_LINE}"))
    return Group(*parts)


def _findings(findings: tuple[Finding, ...], display: Display) -> RenderableType:
    table = Table.grid(padding=(0, 1))
    table.add_column()
    table.add_column(overflow="fold")
    for finding in findings:
        text = Text.assemble(
            (finding.size, "bold"), " · ", (", ".join(finding.stages), "dim"), "\n"
        )
        text.append(finding.what_in(display.length))
        for line in finding.do_in(display.length):
            text.append(f"\n→ {line}")
        table.add_row(Text(finding.level, style=LEVEL_STYLE[finding.level]), text)
    return Group(Text("Findings", style="bold"), Padding(table, (0, 0, 0, 2)))


def _size_tables(study: Study, size: str, display: Display) -> RenderableType:
    answers = study.of_size(size)
    can = study.scenario.size(size)
    title = (
        f"{size}: {display.length(can.diameter_mm)} across, {display.length(can.height_mm)} high, "
        f"{answers[0].flow.cans_per_min:,.0f} cans/min ({display.settings_in})"
    )
    pack = _table(
        "clear\nwidth",
        "lanes",
        "slack\nas set",
        "slack\nloosest",
        "safe\nslack",
        "balance\nat rest",
        "balance\nsprayed",
        "tip index\nedge / inside",
        "guide\nwindow",
        "set\nto",
    )
    pack.add_column("verdict", "left")
    flow = _table(
        "nozzles\noff",
        "best\nshift",
        "then\noff",
        "hold\nmargin",
        "hold-\ndown",
        "cans\n/m",
        "cans\n/min",
        "free\narea",
        "dwell",
        "tips per million\nspread / gathered",
    )
    for answer in answers:
        pack.add_row(answer.stage, *_pack_row(answer, display))
        flow.add_row(answer.stage, *_flow_row(answer, display))
    return Group(Text(title, style="bold"), pack, flow)


def _table(*columns: str) -> WideTable:
    table = WideTable("stage")
    for name in columns:
        table.add_column(name)
    return table


def _pack_row(answer: Answer, display: Display) -> list[str | Text]:
    short = display.bare
    tipping, window = answer.tipping, answer.window
    state = "" if answer.pack.state == "slack" else f" {answer.pack.state}"
    return [
        display.setting(answer.pack.clear_width_mm, unit=False),
        f"{answer.pack.lanes}{state}",
        short(answer.budget.slack_mm),
        short(tipping.loosest_slack_mm),
        short(tipping.safe.slack_mm),
        display.angle(tipping.rest_angle_rad),
        display.angle(tipping.balance_angle_rad),
        " / ".join(display.index(v) for v in (tipping.loosest.edge, tipping.loosest.centre)),
        display.window(window),
        display.setting(window.target_mm, unit=False),
        Text(tipping.verdict, style=VERDICT_STYLE[tipping.verdict]),
    ]


def _flow_row(answer: Answer, display: Display) -> list[str]:
    short = display.bare
    found, mat = answer.alignment, answer.hold_down
    nozzles = ["–", "–", "–"]
    if found is not None:
        shift = found.best.shift_for_worst_mm
        nozzles = [
            short(found.now.worst_mm),
            short(shift, signed=True),
            short(found.best.worst_mm),
        ]
    return [
        *nozzles,
        "–" if answer.spray is None else f"{float(answer.spray.hold_margin.min()):.2f}",
        "–" if mat is None else f"{short(mat.clearance_mm, signed=True)} {mat.state}",
        f"{answer.pack.cans_per_metre:.0f}",
        thousands(answer.flow.cans_per_min),
        percent(answer.voids.free_area_fraction),
        f"{answer.dwell_s:.1f} s",
        " / ".join(
            per_million(chance.per_million) for chance in (answer.chance, answer.chance_gathered)
        ),
    ]


LEGEND = (
    ("slack", "as set; in the loosest case of the budget"),
    (
        "balance",
        "the lean a can comes back from: at rest, and at the worst moment under the sprays",
    ),
    ("tip index", "lean over balance in the loosest case, all slack in one place; 1 tips"),
    (
        "guide window",
        "from no slack in the tightest case to safe slack over the factor in the loosest",
    ),
    ("verdict", "held: within safe slack over the factor; loose; can tip; tight"),
    ("nozzles off", "worst lane from its nearest nozzle, now and after the best shift of the pack"),
    ("hold margin", "hold the sprays leave a can: 1 without spray, 0 turns it over"),
    ("hold-down", "clearance over the can tops, and whether it keeps cans from tipping"),
    (
        "tips per million",
        "row model: slack as set shared out at random / all of it in the worst gap; a run counts "
        "between the two; no credit for the hold-down",
    ),
)


def _legend() -> RenderableType:
    table = Table.grid(padding=(0, 2))
    for _ in range(2):
        table.add_column(style="dim", overflow="fold")
    for word, meaning in LEGEND:
        table.add_row(word, meaning)
    return table


def _trials(study: Study) -> list[RenderableType]:
    """Name the trials that kick energies come from, with the duties they were fitted for."""
    found = fitted_kicks(study.scenario)
    if not found:
        return []
    lines = [Text(f"{', '.join(duties)}: {trial}") for duties, trial in found]
    heading = Text("Kick energies fitted to trials", style="bold")
    return [Group(heading, Padding(Group(*lines), (0, 0, 0, 2))), Text()]


def _assumed(study: Study, units: str) -> RenderableType:
    if not study.assumed:
        return Text("Nothing is assumed: every value was given or read in a source.")
    table = Table.grid(padding=(0, 2))
    for _ in range(3):
        table.add_column(overflow="fold")
    names = [stage.name for stage in study.scenario.stages]
    for key, value, why in assumed_rows(study.assumed, names, units):
        table.add_row(Text(key), Text(value), Text(why, style="dim"))
    heading = Text("Assumed (nobody measured these here; every answer rests on them)", style="bold")
    return Group(heading, Padding(table, (0, 0, 0, 2)))
