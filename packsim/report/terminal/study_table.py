"""A study as tables and sentences for the terminal."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.answers import Answer
from packsim.report.terminal.parts import LEVEL_STYLE, block, closing, grid
from packsim.report.terminal.wide_table import WideTable
from packsim.report.words.display import Display, per_million, percent, signed, thousands
from packsim.report.words.kick_sources import fitted_kicks
from packsim.report.words.legend import LEGEND
from packsim.study import Finding, Study

VERDICT_STYLE = {"tight": "yellow", "held": "green", "loose": "yellow", "can tip": "bold red"}

PACK_HEADS = (
    *("clear\nwidth", "lanes", "slack\nas set", "slack\nloosest", "safe\nslack"),
    *("balance\nat rest", "balance\nsprayed", "tip index\nedge / inside", "guide\nwindow"),
    *("set\nto", "<verdict"),
)
FLOW_HEADS = (
    *("nozzles\noff", "best\nshift", "then\noff", "hold\nmargin", "hold-\ndown", "cans\n/{length}"),
    *("cans\n/min", "free\narea", "dwell", "tips per million\nspread / gathered"),
)


def study_report(study: Study, display: Display) -> Group:
    """Return a whole study for the terminal: findings, a table for each size, what is assumed."""
    scenario = study.scenario
    facts = Text(
        f"guides set for {scenario.set_for}; mat {display.length(scenario.mat.width_mm)} wide at "
        f"{display.speed(scenario.mat.speed_mm_per_s)}; safety factor {scenario.factor:g} on the "
        f"safe slack; seed {study.seed}"
    )
    parts: list[RenderableType] = [
        Text(scenario.name, style="bold"),
        Text(" ".join(scenario.about.split()), style="dim"),
        facts,
        Text(),
        block("Findings", grid((_finding(one, display) for one in study.findings), gap=1), below=1),
    ]
    for size in dict.fromkeys(answer.size for answer in study.answers):
        parts += [_size_tables(study, size, display), Text()]
    trials = [f"{', '.join(duties)}: {trial}" for duties, trial in fitted_kicks(scenario)]
    if trials:
        parts.append(block("Kick energies fitted to trials", Text("\n".join(trials)), below=1))
    return Group(*parts, closing(LEGEND, study.assumed, scenario, display))


def _finding(finding: Finding, display: Display) -> tuple[Text, Text]:
    text = Text.assemble((finding.size, "bold"), " · ", (", ".join(finding.stages), "dim"), "\n")
    text.append(finding.what_in(display.length))
    for line in finding.do_in(display.to_set):
        text.append(f"\n→ {line}")
    return Text(finding.level, style=LEVEL_STYLE[finding.level]), text


def _size_tables(study: Study, size: str, display: Display) -> RenderableType:
    answers = study.of_size(size)
    can = study.scenario.size(size)
    title = (
        f"{size}: {display.length(can.diameter_mm)} across, {display.length(can.height_mm)} high, "
        f"{thousands(answers[0].flow.cans_per_min)} cans/min ({display.settings_in})"
    )
    unit = "m" if display.metric else "ft"
    pack = WideTable("stage", PACK_HEADS)
    flow = WideTable("stage", [head.format(length=unit) for head in FLOW_HEADS])
    for answer in answers:
        pack.add_row(answer.stage, *_pack_row(answer, display))
        flow.add_row(answer.stage, *_flow_row(answer, display))
    return Group(Text(title, style="bold"), pack, flow)


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
        nozzles = [short(found.now.worst_mm), short(shift, signed=True), short(found.best.worst_mm)]
    return [
        *nozzles,
        "–" if answer.spray is None else signed(float(answer.spray.hold_margin.min()), 2),
        "–"
        if mat is None
        else f"{display.setting(mat.clearance_mm, signed=True, unit=False)} {mat.state}",
        thousands(answer.pack.cans_per_metre * (1.0 if display.metric else 0.3048)),
        thousands(answer.flow.cans_per_min),
        percent(answer.voids.free_area_fraction),
        f"{answer.dwell_s:.1f} s",
        " / ".join(
            per_million(chance.per_million) for chance in (answer.chance, answer.chance_gathered)
        ),
    ]
