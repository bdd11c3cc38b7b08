"""What a photograph says of the pack, beside what the scenario predicts, for the terminal."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Final

from rich.console import Group, RenderableType
from rich.text import Text

from packsim.answers import Answer
from packsim.answers.quantities import quantity
from packsim.errors import printable
from packsim.findings import quoted
from packsim.look.beside import Beside
from packsim.look.counts import DiameterSpread
from packsim.look.known import Known
from packsim.look.measure import Looked
from packsim.look.seen import LEANS_FROM_DEG
from packsim.report.terminal.parts import VERDICT_STYLE, block, caution, grid, points
from packsim.report.words.chance_words import rate_text
from packsim.report.words.display import Display
from packsim.report.words.numbers import percent, signed, span
from packsim.scenario.sheets.measured import Measured
from packsim.study import Turned

_WAYS: Final = {"lengthwise": "along the guides", "crosswise": "straight across"}

_TIPS: Final = ("verdict", "tip_index", "index_gathered", "gathered_slack_mm", "index_own")
"""What is told of the very cans and of those that the line predicts."""

_UNLIKE: Final = 0.03
"""Share of the clear width beyond which nobody sets guides by mistake: a lane is as much."""

_ONE_CAN: Final = (
    "can tip is said of one can alone beside an open place: the pack about it holds. A scenario "
    "has no such place, so packsim study of the saved file judges the pack without it"
)

Row = tuple[str, str, str]
"""What it is, as it was seen, and as the line predicts it; empty where it does not."""


def look_report(
    looked: Looked,
    beside: Beside | None,
    saved: Measured | None,
    turned: Sequence[Turned],
    names: tuple[str, str],
    display: Display,
) -> Group:
    """Return what was seen, what could not be, and what was saved.

    Parameters
    ----------
    looked : Looked
        What the photograph says.
    beside : Beside or None
        Its cans on their line.
    saved : Measured or None
        The scenario with what was seen.
    turned : sequence of Turned
        The verdicts that turns.
    names : tuple of str
        Name of the can size, and of the file that is saved.
    display : Display
        Unit system.
    """
    seen, predicted = looked.seen, None if beside is None else beside.predicted
    head = f"{printable(seen.photo)}: {len(seen):,} cans, {printable(names[0])}"
    parts: list[RenderableType] = [Text(f"{head}, {seen.px_per_mm:.1f} px to a mm", "bold")]
    rows = list(_rows(looked, predicted, display))
    parts.append(_table(f"The pack ({display.lengths_in}; ± 95 %)", rows, predicted))
    if beside is not None:
        stage = printable(beside.predicted.stage)
        title = f"Can it tip, {stage}: the very cans that were seen"
        parts.append(_table(title, list(_tips(beside, display)), predicted))
        if _by_one_can(beside.as_seen):
            parts.append(points([_ONE_CAN]))
    unlike = [] if predicted is None else _unlike(looked, predicted, printable(names[0]), display)
    if unlike:
        parts.append(block("Look again", points(unlike)))
    if looked.not_seen:
        parts.append(block("Not seen", points(map(printable, looked.not_seen))))
    if saved is not None:
        parts.append(_saved(saved, turned, names[1]))
    parts.append(caution())
    return Group(*parts)


def _table(title: str, rows: Sequence[Row], predicted: Answer | None) -> RenderableType:
    """Return rows under a title, without the column of a line where there is none."""
    if predicted is None:
        return block(title, grid([row[:2] for row in rows]))
    styled = [
        [Text(cell, VERDICT_STYLE.get(cell, "")) for cell in row]
        for row in (("", "seen", "predicted"), *rows)
    ]
    return block(title, grid(styled))


def _told(answer: Answer | None, key: str, display: Display) -> str:
    """Return what the line predicts of a quantity; nothing without a line."""
    one = quantity(key)
    return "" if answer is None else display.show(one.kind, one.of(answer), unit=False)


def _rows(looked: Looked, predicted: Answer | None, display: Display) -> Iterator[Row]:
    """Yield what was seen of the pack, and what the line predicts."""

    def row(key: str, seen: str) -> Row:
        return quantity(key).heading, seen, _told(predicted, key, display)

    turned = known_text(looked.rows.turned_rad, signed, 2, math.degrees(1.0))
    run = "" if predicted is None else _WAYS[predicted.pack.layout]
    yield quantity("layout").heading, f"{_WAYS[looked.layout]}, turned {turned}°", run
    yield row("lanes", f"{looked.lanes}{'' if looked.whole_width else ' or more'}")
    times, unit = (1.0, " /m") if display.metric else (0.3048, " /ft")
    yield row("cans_per_metre", known_text(looked.cans_per_metre, signed, 1, times, unit))
    yield row("fill", known_text(looked.fill, signed, 1, 100.0, " %"))
    width = known_length(looked.clear_width_mm, display)
    if looked.clear_width_mm is None:
        width += f"; {known_length(looked.least_width_mm, display)} or more"
    yield row("clear_width_mm", width)
    yield row("slack_mm", known_length(looked.slack_mm, display))
    yield from ((name, seen, "") for name, seen in _gap_rows(looked, display))
    if looked.pack is not None and looked.voids is not None:
        yield row("largest_void_mm", display.bare(looked.voids.largest_circle_mm))
        kinds = looked.voids.by_place.items()
        counts = ", ".join(f"{n} {place}" for place, n in kinds if place != "interstice")
        yield "voids", f"{counts}, in {display.along(looked.pack.length_mm)}", ""
    leaning = f"{looked.leaning} leaning {LEANS_FROM_DEG:g}° or more"
    yield "cans", f"{looked.missing} missing, {leaning}, {looked.down} down", ""
    if looked.spread is not None:
        yield "diameters differ", _spread(looked.spread, display), ""


def _gap_rows(looked: Looked, display: Display) -> Iterator[tuple[str, str]]:
    """Yield where a row's slack stands, and how it is shared out."""
    gaps = looked.gaps
    if gaps is None:
        return
    yield (
        "slack of a row",
        f"{known_length(gaps.row_slack_mm, display)}, most: {looked.slack_stands}",
    )
    yield "  at the left guide", known_length(gaps.left_mm, display)
    yield "  between cans", known_length(gaps.inside_mm, display)
    yield "  at the right guide", known_length(gaps.right_mm, display)
    spread, one = (display.bare(mm) for mm in (gaps.widest_spread_mm, gaps.widest_gathered_mm))
    widest = known_length(gaps.widest_mm, display)
    yield "  widest gap", f"{widest}; spread at random {spread}, all in one gap {one}"
    if gaps.gathered is not None:
        share = known_text(gaps.gathered, signed, 0, 100.0, " %")
        yield "  gathered", f"{share}: 0 is at random, 100 all in one gap"


def _spread(spread: DiameterSpread, display: Display) -> str:
    """Say how much diameters differ, or that their error hides it."""
    if spread.told:
        known = spread.spread_mm
        value, within = (display.fine(one, unit=False) for one in (known.value, known.within))
        return f"by {value} ± {within}, one standard deviation"
    least, rim = display.fine(spread.least_mm), display.fine(spread.rim_error_mm)
    return f"by less than {least}: the error of a rim, {rim}, hides it"


def _tips(found: Beside, display: Display) -> Iterator[Row]:
    """Yield how near the very cans are to tipping, and those that the line predicts."""
    for key in _TIPS:
        seen, predicted = (_told(one, key, display) for one in (found.as_seen, found.predicted))
        if key == "tip_index":
            seen += f" ({span(*(display.index(end) for end in found.tip_index_interval))})"
        yield quantity(key).heading, seen, predicted
    if found.as_seen.pack.fits:
        yield "  which can", _which(found.as_seen, display), _which(found.predicted, display)
    if found.least_energy_mJ is not None:
        energy = found.least_energy_mJ
        said = f"{energy:.3f} mJ" if math.isfinite(energy) else "no can has the room"
        yield "least energy, to a guide", said, ""
    if found.chance is not None and found.predicted_chance is not None:
        yield "tips per million", rate_text(found.chance), rate_text(found.predicted_chance)


def _by_one_can(answer: Answer) -> bool:
    """Return whether only the room of one can by itself makes the verdict ``can tip``."""
    tips = answer.tipping
    others = tips.loosest.verdict == "can tip" or tips.gathered.index >= 1.0
    return tips.verdict == "can tip" and not others


def _unlike(looked: Looked, predicted: Answer, size: str, display: Display) -> list[str]:
    """Say where the picture is so unlike the line that it may be of another one."""
    width, said = looked.clear_width_mm, predicted.set_stage.guides.narrowest_mm
    if width is None or abs(width.value - said) <= max(_UNLIKE * said, width.within):
        return []
    off = percent(abs(width.value / said - 1.0))
    more = "farther" if width.value > said else "less far"
    return [
        f"the guides stand {off} {more} apart than the {display.length(said)} of the scenario: "
        f"is it {size} in the picture, and this stage?"
    ]


def _which(answer: Answer, display: Display) -> str:
    """Say which can has most room by itself, and where to."""
    own = answer.tipping.own
    across = display.bare(own.across_mm)
    return f"{across} from the left guide, {own.towards}"


def known_text(
    known: Known | None,
    show: Callable[[float, int], str],
    digits: int,
    times: float = 1.0,
    unit: str = "",
) -> str:
    """Format a number and its error, with so many digits or as many as the error asks for."""
    if known is None:
        return "not seen"
    value, within = known.value * times, known.within * times
    if 0.0 < within < 0.95 * 10.0**-digits:
        digits = min(digits + 2, math.ceil(-math.log10(within)))
    return f"{show(value, digits)} ± {show(within, digits)}{unit}"


def known_length(known: Known | None, display: Display) -> str:
    """Format a length and its error without their unit."""

    def show(value: float, digits: int) -> str:
        return signed(value, digits).replace(",", "")  # as every length is shown

    times = display.length_value(1.0)
    return known_text(known, show, 1 if display.metric else 3, times)


def _saved(saved: Measured, turned: Sequence[Turned], where: str) -> RenderableType:
    """Return what was written, which verdicts that turns, and what to do next."""
    file = quoted(where)
    rows = [
        (one.key, printable(one.before) or "not in the file", one.after) for one in saved.changes
    ]
    said = [f"the file knows better, or as well: {', '.join(saved.same)}"] if saved.same else []
    said += [f"{one.size}, {one.stage}: {one.before} → {one.after}" for one in turned]
    said += [*map(printable, saved.unlikely), f"what follows: packsim study {file}"]
    said.append(f"how sure that is: packsim doubt {file}")
    changed = grid([("key", "before", "now"), *rows]) if rows else Text("nothing changes")
    return block(f"Written to {printable(where)}", Group(changed, points(said)))
