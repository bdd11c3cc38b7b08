"""A study, the chance of a tip and the line's history as tables and sentences for the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.findings import quoted
from packsim.report.terminal.first_screen import FirstScreen
from packsim.report.terminal.parts import (
    LEVEL_STYLE,
    WideTable,
    add_quantities,
    block,
    closing,
    grid,
)
from packsim.report.words.chance_words import HEADS, Told, history_lines, told_of
from packsim.report.words.change_words import UNSAFE
from packsim.report.words.display import Display
from packsim.report.words.numbers import fitted_kicks, thousands
from packsim.report.words.summary import (
    FLOW_KEYS,
    PACK_KEYS,
    SET_TO,
    STATE_MEANING,
    WINDOW,
    keys_for,
    legend,
    set_to,
)
from packsim.setting import recommend

if TYPE_CHECKING:
    from packsim.chance import History, LineChance
    from packsim.study import Finding, Study


def study_report(
    study: Study,
    display: Display,
    file: str = "FILE",
    *,
    everything: bool = False,
    chances: Sequence[LineChance] = (),
    past: History | None = None,
) -> RenderableType:
    """Return a study for the terminal: its first screen, or everything behind it as well."""
    parts = history_part(past, display)
    parts.append(FirstScreen(study, display, file, chance=bool(chances)))
    if chances:
        parts += [Text(), chance_part(told_of(study, chances, past))]
        worst = max(chances, key=lambda one: 0.0 if one.reason else one.tips_per_million)
        if not worst.reason and worst.tips_per_million >= 1.0:
            tenth = f"{float(f'{worst.tips_per_million / 10.0:.1g}'):g} per million"
            least = f"packsim compare {file} --size {quoted(worst.size)} --at-most {quoted(tenth)}"
            parts.append(Text(f"The least to do for a tenth of these tips: {least}"))
    if everything:
        parts += [Text(), _everything(study, display, file)]
    return Group(*parts)


def _everything(study: Study, display: Display, file: str) -> Group:
    """Return findings, a table for each size, what is assumed."""
    scenario = study.scenario
    facts = Text(
        f"guides set for {scenario.set_for}; mat {display.length(scenario.mat.width_mm)} wide at "
        f"{display.speed(scenario.mat.speed_mm_per_s)}; allowed slack = safe slack / "
        f"{scenario.factor:g} (safety factor); seed {study.seed}"
    )
    parts: list[RenderableType] = [
        Text(" ".join(scenario.about.split()), style="dim"),
        facts,
        Text(),
        block("Findings", grid((_finding(f, display, file) for f in study.findings), gap=1), 1),
    ]
    for size in study.sizes:
        parts += [_size_tables(study, size, display), Text()]
    trials = [f"{', '.join(duties)}: {trial}" for duties, trial in fitted_kicks(scenario)]
    if trials:
        parts.append(block("Kick energies fitted to trials", Text("\n".join(trials)), below=1))
    words = legend(keys_for(PACK_KEYS, study.answers), FLOW_KEYS)
    return Group(*parts, closing([*STATE_MEANING, *words], study.assumed, scenario, display))


def _finding(finding: Finding, display: Display, file: str) -> tuple[Text, Text]:
    text = Text.assemble((finding.size, "bold"), " · ", (", ".join(finding.stages), "dim"), "\n")
    text.append(finding.what_in(display.length))
    for line in finding.do_in(display.to_set):
        text.append(f"\n→ {line.replace('FILE', file)}")
    return Text(finding.level, style=LEVEL_STYLE[finding.level]), text


def _size_tables(study: Study, size: str, display: Display) -> RenderableType:
    answers = study.of_size(size)
    can = study.scenario.size(size)
    title = (
        f"{size}: {display.length(can.diameter_mm)} across, {display.length(can.height_mm)} high, "
        f"{thousands(answers[0].flow.cans_per_min)} cans/min ({display.settings_in})"
    )
    rows = [(answer.stage, answer) for answer in answers]
    pack, flow = WideTable("stage"), WideTable("stage")
    setting = recommend(study.scenario, size)
    parts = [setting.of_stage(answer.stage) for answer in answers]
    more = {
        WINDOW.replace(" ", "\n"): [display.window(part.window) for part in parts],
        f"{SET_TO},\n{setting.lanes} lanes": [set_to(part, display) for part in parts],
    }
    add_quantities(pack, keys_for(PACK_KEYS, answers), rows, display, more)
    add_quantities(flow, FLOW_KEYS, rows, display)
    why = Text(f"set to: {setting.reason}" + ("" if setting.safe else f"; * {UNSAFE}"))
    return Group(Text(title, style="bold"), pack, why, flow)


def history_part(past: History | None, display: Display) -> list[RenderableType]:
    """Return what the line is known to have done beside the model; nothing without a history."""
    if past is None:
        return []
    lines = [Text(line) for line in history_lines(past, display)]
    return [block("The line's own history first", Group(*lines), below=1)]


def chance_part(told: Iterable[Told]) -> RenderableType:
    """Return a table for each setting, and below it what it rests on."""
    parts: list[RenderableType] = []
    for one in told:
        table = WideTable("stage", HEADS)
        for stage, cells in one.rows:
            table.add_row(stage, *cells)
        said = [Text(line, style="dim") for line in one.said]
        shown = (table, *said) if one.rows else said
        parts.append(block(f"Chance of a tip: {one.name}", Group(*shown), below=1))
    return Group(*parts)
