"""A proposal on one page for the manager of a plant, with its tables behind it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from packsim.answers import Answer, answer_stage
from packsim.answers.quantities import quantity
from packsim.compare import Comparison
from packsim.money.proposal import MachineProposal
from packsim.report.charts.chart_frame import chart_svg
from packsim.report.charts.proposal_chart import proposal_chart
from packsim.report.drawings.drawing_files import drawing_svg
from packsim.report.drawings.elevation_drawing import elevation_drawing
from packsim.report.drawings.plan_drawing import plan_drawing
from packsim.report.drawings.side_by_side import side_by_side
from packsim.report.page.compare_page import compare_parts
from packsim.report.page.page_parts import rendered, svg_markup
from packsim.report.words.compare_words import CARRIED
from packsim.report.words.display import Display
from packsim.report.words.doubt_words import GAIN_MEANING
from packsim.report.words.machine_words import machine_table
from packsim.report.words.money_words import HEADS, answer_words, figure_rows, saving_rows
from packsim.report.words.numbers import assumed_rows, pack_words
from packsim.report.words.proposal_words import (
    basis_words,
    case_words,
    counted_words,
    settle_words,
    taken_words,
)

HALF_MM: Final = 88.0
"""Width of each of two pictures side by side on paper [mm]."""

CHART_MM: Final = 106.0
"""Width of the chart on paper [mm]."""

STATES: Final = ("Today", "After the change")
"""What the two machines are called."""

_DRAWN: Final = {"plan": plan_drawing, "elevation": elevation_drawing}
_UP_MM: Final = {"plan": 16.0, "elevation": 34.0}

MOST_LINES: Final = 6
"""Lines of a list that have room on the first page; the appendix has all."""

MOST_TAKEN: Final = 6
"""Lines of what is assumed there, and of sizes and trials, which each take the room of one."""


def proposal_page(proposal: MachineProposal, display: Display, logo: str = "") -> str:
    """Return a proposal as one self-contained page.

    Parameters
    ----------
    proposal : MachineProposal
        What is proposed.
    display : Display
        Unit system of the numbers; lengths that are set stand in both.
    logo : str
        The reader's own logo as `packsim.report.page.logo.logo_uri` gives it.

    Returns
    -------
    str
        HTML: one page for A4 and Letter, then an appendix. Nothing is fetched from anywhere.
    """
    saving, lines = proposal.saving, (proposal.before, proposal.after)
    answers = [answer_stage(line, proposal.stage, proposal.size) for line in lines]
    names = list(dict.fromkeys(stage.name for line in lines for stage in line.stages))
    assumed = [*dict.fromkeys(a for line in lines for a in line.assumed)]
    full = [
        (
            head,
            [svg_markup(drawing_svg(draw(found, line, display))) for draw in _DRAWN.values()],
        )
        for head, found, line in zip(STATES, answers, lines, strict=True)
    ]
    return rendered(
        "proposal.html",
        display,
        proposal=proposal,
        logo=logo,
        case=case_words(proposal),
        basis=basis_words(saving),
        answer=answer_words(saving),
        pictures=_pictures(proposal, answers, display),
        chart=svg_markup(chart_svg(proposal_chart(proposal, display, CHART_MM), "widths")),
        changes=_first(_changes(proposal.comparison, display)),
        carried=CARRIED,
        **compare_parts(proposal.comparison, display),
        heads=HEADS,
        rows=saving_rows(saving),
        taken=taken_words(proposal),
        taken_room=max(1, MOST_TAKEN - len(saving.sizes) - len(proposal.counted)),
        settle=settle_words(proposal),
        gain_meaning=GAIN_MEANING,
        counted=[counted_words(one, saving) for one in proposal.counted],
        figures=figure_rows(saving),
        full=full,
        assumed=assumed_rows(assumed, names, display.units),
    )


def _pictures(
    proposal: MachineProposal, answers: Sequence[Answer], display: Display
) -> list[dict[str, Any]]:
    """Return plan and elevation of both machines to one scale, and what they show in words."""
    lines = (proposal.before, proposal.after)
    drawn: dict[str, list[Any]] = {}
    for name, draw in _DRAWN.items():
        pairs = [draw(found, line, display) for found, line in zip(answers, lines, strict=True)]
        small = side_by_side(pairs, HALF_MM, _UP_MM[name])
        drawn[name] = [svg_markup(drawing_svg(one)) for one in small]
    return [
        {
            "head": head,
            "plan": drawn["plan"][k],
            "elevation": drawn["elevation"][k],
            "words": _shown(answers[k], display),
        }
        for k, head in enumerate(STATES)
    ]


def _shown(found: Answer, display: Display) -> str:
    """Say what the two pictures of one machine show."""
    other, width = Display("inch" if display.metric else "metric"), found.pack.clear_width_mm

    def told(key: str) -> str:
        one = quantity(key)
        return display.show(one.kind, one.of(found))

    return (
        f"{pack_words(found, display.length)} in {display.setting(width)} "
        f"({other.setting(width)}). Slack at most {told('loosest_slack_mm')}, allowed "
        f"{told('allowed_slack_mm')}. A can at the guide can lean {told('lean_edge_deg')}, "
        f"and tips at {told('balance_angle_deg')}: {found.tipping.verdict}."
    )


def _first(lines: Sequence[str]) -> list[str]:
    """Return the lines there is room for, and how many more there are."""
    if len(lines) <= MOST_LINES:
        return list(lines) or ["nothing"]
    return [*lines[: MOST_LINES - 1], f"{len(lines) - MOST_LINES + 1} more, in the appendix"]


def _changes(comparison: Comparison, display: Display) -> list[str]:
    """Say what is different on the machine, lengths that are set in both systems of units."""
    other = Display("inch" if display.metric else "metric")
    said = []
    both_units = (machine_table(comparison, units)[1] for units in (display, other))
    for (what, (where, now, then, *_)), (_, (_, *again)) in zip(*both_units, strict=True):
        both = f" ({again[0]} → {again[1]})" if again[:2] != [now, then] else ""
        both = "" if any(sign in f"{now}{then}" for sign in (",", " from ")) else both
        said.append(f"{what}, {where}: {now} → {then}{both}")
    return said
