"""New headers beside today's, as tables and sentences for the terminal."""

import math
from collections.abc import Sequence

import numpy as np
from rich.console import Group, RenderableType
from rich.text import Text

from packsim.headers import HeaderDesign, Proposal
from packsim.headers.row_search import whole
from packsim.line import Scenario
from packsim.report.terminal.parts import WideTable, block, closing, points
from packsim.report.words.display import Display
from packsim.report.words.drilling import PROPOSALS, shop_text
from packsim.report.words.header_words import PIPE_MEANING, pipe_words
from packsim.report.words.numbers import money, percent, signed, stage_words

WORTH_A_WORD = 0.015
"""Loss of the spray tip margin that shows once it is rounded."""

LEGEND = (
    (
        "even spread",
        "dose of the worst lane of the worse size over what an even spread of the same flow over "
        "the pack's width would give: what is made greatest",
    ),
    PIPE_MEANING,
    ("worst mL", "least any can gets, the pack anywhere in its wander, holes within tolerance"),
    ("mean mL", "what the mean can gets in the stage named first, pack and holes in their places"),
    ("even", "Christiansen's uniformity over the lanes; 100 % when all get the same"),
    ("off", "how far the worst lane is from its nearest nozzle; shifted: at the pack's best shift"),
    ("tip margin", "share of its resistance to tipping a can keeps under the sprays; 0: it tips"),
    ("nearest to lanes", "the pitch whose worst lane is nearest to a nozzle, over all sizes"),
)


def design_report(scenario: Scenario, designs: Sequence[HeaderDesign], display: Display) -> Group:
    """Return new headers for the terminal: what to drill, what else was looked at, the holes."""
    parts: list[RenderableType] = [Text(scenario.name, style="bold"), Text()]
    for one in designs:
        parts += [*_design(one, scenario, display), Text()]
    assumed = [a for one in designs for a in one.assumed]
    return Group(*parts, closing(LEGEND, assumed, scenario, display))


def _design(one: HeaderDesign, scenario: Scenario, display: Display) -> list[RenderableType]:
    of = [stage.name for stage in scenario.stages if stage.headers]
    stages = stage_words(one.stages, of)
    where = stages if len(one.stages) == 1 else f"{stages} (numbers: {one.lead})"
    lanes = " and ".join(
        f"{n} lanes of {size}" for n, size in zip(one.lanes, one.sizes, strict=True)
    )
    rows = len(one.best.nozzles_mm)
    heads = "the header" if rows == 1 else f"{rows} headers"
    title = f"{where}: {heads} {one.side}, {one.place} {lanes}"
    return [
        Text(title, style="bold"),
        points(verdict(one, display)),
        _table(one, display),
        _holes(one, display),
    ]


def drilled(one: Proposal, display: Display) -> str:
    """Return how many nozzles and where, in words: ``23 nozzles 63.90 mm apart, from 97.5 mm``."""
    pitch = "spaced as below" if math.isnan(one.pitch_mm) else f"{display.fine(one.pitch_mm)} apart"
    firsts = [float(row[0]) for row in one.nozzles_mm]
    first = f"{_place(firsts[0], display)} {display.length_unit}"
    if not one.in_line:
        first = " / ".join(_place(x, display) for x in firsts) + f" {display.length_unit}, header "
        first += "by header"
    return f"{one.count} nozzles {pitch}, the first {first} from the mat's left edge"


def _place(mm: float, display: Display) -> str:
    """Return a hole's place from the mat's left edge as sheet and file for the shop have it."""
    return shop_text(float(whole(mm)), display.length_unit)


def verdict(one: HeaderDesign, display: Display) -> list[str]:
    """Return the answer: what to drill, what it gives and takes, how good it could be at most."""
    best, today = one.best, one.proposal("today")
    if best.what == "today":
        return [
            "keep today's headers: no others within what is asked give the worst lane as much; "
            "another --pitch or --most, or other pipe's ends, would let more be tried, and a "
            "--least-dose below 1 shows what they give"
        ]
    lines = [f"drill {drilled(best, display)}"]
    if today is not None:
        gains = "; ".join(
            f"{now.size} {now.worst_mL:.1f} mL, today {was.worst_mL:.1f}"
            for now, was in zip(best.doses, today.doses, strict=True)
        )
        unit = display.flow_value(0.0)[1]
        flows = [display.flow_value(each.flow_L_per_min)[0] for each in (best, today)]
        lines.append(
            f"worst lane {one.place}: {gains}; with {flows[0]:.1f} {unit}, today {flows[1]:.1f}"
        )
        lines.append(
            f"worst lane over the mean can: {percent(best.least_share, 0)}, "
            f"today {percent(today.least_share, 0)}"
        )
    lines.append(
        f"no such nozzles, however many and wherever drilled, can give the worst lane more than "
        f"{percent(one.bound)} of an even spread; these give {percent(best.even_share)}"
    )
    was = [d.hold_margin - d.hold_margin_change for d in best.doses]
    both = "; ".join(
        f"{size} {signed(hold, 2)}, today {signed(before, 2)}"
        for size, hold, before in zip(one.sizes, one.hold_together, was, strict=True)
    )
    lines.append(f"spray tip margin once all that is recommended here is drilled: {both}")
    if any(h < b - WORTH_A_WORD for h, b in zip(one.hold_together, was, strict=True)):
        lines.append("cans stand less firmly under them: --least-hold asks for more")
    return lines


def _table(one: HeaderDesign, display: Display) -> RenderableType:
    flow = display.flow_value(0.0)[1]
    heads = ["nozzles", f"pitch\n{display.length_unit}", flow]
    heads += [f"smallest\npipe {display.length_unit}", "even\nspread"]
    priced = one.best.cost is not None
    heads += ["cost"] * priced
    heads += ["worst\nmL", "mean\nmL", "worst /\nmean", "even"]
    heads += [f"off\n{display.length_unit}", "off,\nshifted", "tip\nmargin", "change"]
    table = WideTable("header: size", heads)
    for row in one.proposals:
        pitch = "–" if math.isnan(row.pitch_mm) else display.fine(row.pitch_mm, unit=False)
        mine = [str(row.count), pitch, f"{display.flow_value(row.flow_L_per_min)[0]:.1f}"]
        mine += [pipe_words(row.smallest_pipe, display), percent(row.even_share)]
        mine += [money(row.cost or 0.0)] * priced
        for k, dose in enumerate(row.doses):
            table.add_row(
                f"{PROPOSALS[row.what]}: {dose.size}" if k == 0 else f"  {dose.size}",
                *(mine if k == 0 else [""] * len(mine)),
                f"{dose.worst_mL:.2f}",
                f"{dose.mean_mL:.2f}",
                percent(dose.least_share),
                percent(dose.uniformity),
                display.bare(dose.nozzle_offset_mm),
                display.bare(dose.nozzle_offset_shifted_mm),
                signed(dose.hold_margin, 2),
                signed(dose.hold_margin_change, 2, plus=True),
            )
    return table


def _holes(one: HeaderDesign, display: Display) -> RenderableType:
    """Name the holes of the recommended headers, those drilled alike together."""
    alike: dict[tuple[float, ...], list[str]] = {}
    for k, row in enumerate(one.best.nozzles_mm):
        alike.setdefault(tuple(np.round(row, 6).tolist()), []).append(str(k + 1))
    head = (
        f"Holes from the mat's left edge [{display.length_unit}], each within "
        f"{display.length(one.tolerance_mm)} of its place"
    )
    lines = []
    for places, headers in alike.items():
        name = f"header {', '.join(headers)}: " if len(alike) > 1 else ""
        lines.append(Text(name + "  ".join(_place(x, display) for x in places)))
    return block(head, Group(*lines))
