"""The advice on nozzle pitches as tables and sentences for the terminal."""

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.headers import Candidate, PitchAdvice
from packsim.line import Scenario
from packsim.report.terminal.parts import WideTable, block, closing, points
from packsim.report.words.display import Display
from packsim.report.words.numbers import percent, stage_words

NO_AIM = 0.8
"""Share of half a pitch from which the worst lane counts as not aligned at all: half a pitch is the
most any lane inside a row of nozzles can be off."""

LEGEND = (
    ("off", "how far the worst lane is from its nearest nozzle, the pack at its own best shift"),
    (
        "even",
        "least Christiansen uniformity over the lanes that any header of these stages gives, "
        "its present nozzles drilled at that pitch",
    ),
    ("nozzles", "holes from the first to the last lane of all sizes, with those asked for beyond"),
    ("longer", "best pitch that needs fewer nozzles than the row above"),
    ("best", "the pitch whose worst size is least off, each size times its weight"),
)


def pitch_report(scenario: Scenario, advice: Sequence[PitchAdvice], display: Display) -> Group:
    """Return the advice on pitches for the terminal."""
    parts: list[RenderableType] = [Text(scenario.name, style="bold"), Text()]
    of = [name for one in advice for name in one.stages]
    for one in advice:
        parts += [*_group(one, of, display), Text()]
    names = {size.can.name for one in advice for size in one.sizes}
    cans = [can for can in scenario.sizes if can.name in names]
    assumed = [a for can in cans for a in can.assumed if a.key.endswith((".diameter", ".height"))]
    return Group(*parts, closing(LEGEND, assumed, scenario, display))


def _group(advice: PitchAdvice, of: Sequence[str], display: Display) -> list[RenderableType]:
    stages = stage_words(advice.stages, of)
    sizes = "; ".join(
        f"{s.can.name} {s.lanes} lanes {display.fine(s.line_pitch_mm)} apart" for s in advice.sizes
    )
    parts: list[RenderableType] = [Text(f"{stages}: {sizes}", style="bold")]
    parts.append(points(verdict(advice, display)))
    parts += [_candidates(advice, display), _exact(advice, display), _holes(advice, display)]
    return parts


def verdict(advice: PitchAdvice, display: Display) -> list[str]:
    """Return the answer: the pitch, its band, what each size loses, whether any pitch suits."""
    length, best = display.length, advice.best
    low, high = best.band_mm
    top = advice.candidates[0]
    lines = [
        f"best pitch between {length(advice.low_mm)} and {length(advice.high_mm)}: "
        f"{display.fine(best.pitch_mm)}, {top.count} nozzles; any pitch from "
        f"{display.fine(low, unit=False)} to {display.fine(high)} is within "
        f"{length(advice.allowance_mm)} of the best",
        "; ".join(
            f"{s.can.name} {length(off)} off ({length(s.alone.worst_mm)} if the pitch were chosen "
            "for this size only)"
            for s, off in zip(advice.sizes, best.per_size_worst_mm, strict=True)
        ),
    ]
    for today in (one for one in advice.candidates if one.what == "today"):
        changes = "; ".join(
            f"{s.can.name} {length(off - was, signed=True)}"
            for s, off, was in zip(
                advice.sizes, best.per_size_worst_mm, today.worst_mm, strict=True
            )
        )
        lines.append(
            f"against today's {display.fine(today.pitch_mm)} at its best shifts: {changes}"
        )
    if float(max(best.per_size_worst_mm)) > NO_AIM * best.pitch_mm / 2.0:
        lines.append(
            "no single pitch here aligns every size: a lane exactly between two nozzles is off by "
            f"half a pitch, {length(best.pitch_mm / 2.0)}. Give the size that matters most a "
            "larger weight (--weight), or choose by the column 'even'"
        )
    return lines


def _candidates(advice: PitchAdvice, display: Display) -> RenderableType:
    heads = [display.length_unit, "nozzles"]
    for size in advice.sizes:
        heads += [f"{size.can.name}\noff", "\nrms", "\neven"]
    table = WideTable("pitch", heads)
    for one in advice.candidates:
        cells: list[str] = []
        for off, rms, even in zip(one.worst_mm, one.rms_mm, one.even, strict=True):
            cells += [display.bare(float(x)) for x in (off, rms)]
            cells.append(percent(float(even)))
        pitch = display.fine(one.pitch_mm, unit=False)
        table.add_row(_name(one), pitch, str(one.count), *cells)
    return table


def _name(one: Candidate) -> str:
    return {
        "best": "best",
        "longer": "longer",
        "today": "today's",
        "own": f"lanes of {one.size}",
        "asked": "asked for",
    }[one.what]


def _exact(advice: PitchAdvice, display: Display) -> RenderableType:
    """Name the pitches in a small whole-number ratio to each size's lanes."""
    lines = []
    for size in advice.sizes:
        shown = ", ".join(
            f"{e.lines}/{e.pitches} = {display.fine(e.pitch_mm)} ({display.length(e.worst_mm)} off)"
            for e in size.exact
        )
        words = shown or "none in this range"
        lines.append(Text(f"  pitches that repeat with the lanes of {size.can.name}: {words}"))
    return Group(*lines)


def _holes(advice: PitchAdvice, display: Display) -> RenderableType:
    row = advice.drilling
    head = (
        f"Holes at {display.fine(row.pitch_mm)}, {len(row.positions_mm)} of them, each within "
        f"{display.length(row.tolerance_mm)} of its place from the mat's left edge"
    )
    places = "  ".join(display.bare(float(x)) for x in row.positions_mm)
    moves = "; ".join(
        f"{size.can.name} {display.length(shift, signed=True)}, then {display.length(worst)} off "
        f"at worst ({display.length(most)} with the tolerance)"
        for size, shift, worst, most in zip(
            advice.sizes, row.shifts_mm, row.worst_mm, row.worst_with_tolerance_mm, strict=True
        )
    )
    return Group(
        Text(),
        block(head, Text(f"{places}\nshift each pack by: {moves}")),
    )
