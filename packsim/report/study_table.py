"""A study as tables and sentences for the terminal."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from packsim.report.cautions import CAUTION_LINE
from packsim.report.display import Display
from packsim.setup import Setup
from packsim.studies import Finding, Study

__all__ = ["study_report"]

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
    for can in scenario.sizes:
        parts += [_size_table(study, can.name, display), Text()]
    parts += [_legend(), Text(), _assumed(study), Text(), Text(f"Caution. {CAUTION_LINE}")]
    return Group(*parts)


def _findings(findings: tuple[Finding, ...], display: Display) -> RenderableType:
    table = Table.grid(padding=(0, 1))
    table.add_column()
    table.add_column(overflow="fold")
    for finding in findings:
        text = Text.assemble(
            (finding.size, "bold"), " · ", (", ".join(finding.stages), "dim"), "\n"
        )
        text.append(finding.say(finding.what_text, display.length))
        if finding.do_text:
            text.append("\n→ " + finding.say(finding.do_text, display.length))
        table.add_row(Text(finding.level, style=LEVEL_STYLE[finding.level]), text)
    return Group(Text("Findings", style="bold"), Padding(table, (0, 0, 0, 2)))


def _size_table(study: Study, size: str, display: Display) -> Table:
    setups = study.of_size(size)
    can = study.scenario.size(size)
    unit = display.length_unit
    flow = setups[0].flow
    title = (
        f"{size}: {display.length(can.diameter_mm)} × {display.length(can.height_mm)}, "
        f"{flow.cans_per_min:,.0f} cans/min in {setups[0].stage}; lengths in {unit}"
    )
    table = Table(title=title, title_justify="left", title_style="bold")
    table.add_column("stage")
    for name in (
        "clear\nwidth",
        "lanes",
        "slack\nset→loosest",
        "safe\nslack",
        "balance\nrest→spray",
        "tip index\nedge/centre/own",
        "guide window",
        "set\nto",
        "nozzle off\nnow→shifted",
        "shift",
        "cans\n/min",
        "dwell\ns",
    ):
        table.add_column(name, justify="right")
    table.add_column("verdict")
    for setup in setups:
        table.add_row(*_row(setup, display))
    return table


def _row(setup: Setup, display: Display) -> list[str | Text]:
    def short(mm: float | None) -> str:
        return display.length(mm, unit=False)

    tipping, window, alignment = setup.tipping, setup.window, setup.alignment
    lanes = f"{setup.pack.lanes}" + ("" if setup.pack.state == "slack" else f" {setup.pack.state}")
    index = tipping.loosest
    return [
        setup.stage,
        short(setup.pack.clear_width_mm),
        lanes,
        f"{short(setup.pack.slack_mm)}→{short(tipping.loosest_slack_mm)}",
        short(tipping.safe.slack_mm),
        f"{display.angle(tipping.rest_angle_rad)}→{display.angle(tipping.balance_angle_rad)}",
        "/".join(display.index(v) for v in (index.edge, index.centre, tipping.own_index)),
        "empty" if window.empty else f"{short(window.low_mm)}–{short(window.high_mm)}",
        short(window.target_mm),
        "–"
        if alignment is None
        else f"{short(alignment.now.worst_mm)}→{short(alignment.best.worst_mm)}",
        "–"
        if alignment is None
        else display.length(alignment.best.shift_for_worst_mm, signed=True, unit=False),
        f"{setup.flow.cans_per_min:.0f}",
        f"{setup.dwell_s:.1f}",
        Text(tipping.verdict, style=VERDICT_STYLE[tipping.verdict]),
    ]


def _legend() -> Text:
    return Text(
        "slack: as set, and in the loosest case of the budget. balance: the can's angle at rest, "
        "and at the worst moment under the sprays. tip index: lean over balance angle in the "
        "loosest case, 1 tips; all slack gathered at the guide / inside the pack, and the most any "
        "single can has by itself. verdict: held (within safe slack over the factor), loose, can "
        "tip, tight.",
        style="dim",
    )


def _assumed(study: Study) -> RenderableType:
    if not study.assumed:
        return Text("Nothing is assumed: every value was given or read in a source.")
    table = Table.grid(padding=(0, 2))
    for _ in range(3):
        table.add_column(overflow="fold")
    for assumption in study.assumed:
        table.add_row(assumption.key, assumption.value, Text(assumption.why, style="dim"))
    heading = Text("Assumed (nobody measured these here; every answer rests on them)", style="bold")
    return Group(heading, Padding(table, (0, 0, 0, 2)))
