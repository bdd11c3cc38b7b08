"""One line on top: what the chosen stage does to its cans, and why, with the numbers."""

import re

from packsim.answers import Answer
from packsim.errors import InputError
from packsim.findings.window_rules import tips_first
from packsim.report.words.display import Display
from viewer.lessons.play import LETTER_PX
from viewer.screen.drawing import NO_BREAK, Writer, wrapped
from viewer.screen.layout import Box
from viewer.session.session import Session
from viewer.views.answers import ALARMING, crushes


def why_line(session: Session, w: Writer) -> None:
    """Write the line of the chosen stage of the pack that is watched."""
    box, pack = session.layout.why, session.watched
    found = pack.source.answers[session.stage]
    w.fill(box, "chosen")
    stage = pack.source.line_map.stages[session.stage] + session.name_of(pack)
    inner = box.inset(w.px(12), w.px(3))
    alarm = crushes(found) or isinstance(found, InputError) or found.tipping.verdict in ALARMING
    said = f"{stage}: {why_text(found, session.display)}"
    ink, size = "alarm" if alarm else "text", "small" if session.presenting else "body"
    sentence(w, said, inner, ink, size)


SMALL_LETTER_PX = 5.9
"""Mean width of a letter of small text, in layout pixels, a little generous."""


def sentence_lines(w: Writer, said: str, wide_px: int, size: str) -> list[str]:
    """Break a sentence into lines of a width, small or body text; a number keeps its unit."""
    letter = SMALL_LETTER_PX if size == "small" else LETTER_PX
    kept = re.sub(r"(?<=\d) (?=mm|mJ|in\b|m\b|N\b)", NO_BREAK, said)
    return wrapped(kept, max(1, int(wide_px / (letter * w.scale))))


def sentence(w: Writer, said: str, box: Box, role: str, size: str) -> None:
    """Write a sentence in the rows of a box, small or as body text.

    What there is no row for goes on in the last: it ends there in an ellipsis, not unseen.
    """
    lines = sentence_lines(w, said, box.w, size)
    fits = max(1, int(box.h / ((17 if size == "small" else 19) * w.scale) + 0.05))
    rows = [*lines[: fits - 1], " ".join(lines[fits - 1 :])]
    each = box.h // (min(fits, max(1, len(lines))) if size == "small" else fits)
    for i, line in enumerate(rows):
        w.text(line, box.row(i, each), role, size)


def why_text(found: Answer | InputError, display: Display) -> str:
    """Say why cans tip, lean or stand, from packsim's answer."""
    if isinstance(found, InputError):
        return f"no answer: {found}"
    tipping, length = found.tipping, display.length
    if crushes(found) and found.hold_down is not None:
        low = length(-found.hold_down.clearance_mm)
        return f"the hold-down hangs {low} lower than the can tops: it crushes cans."
    if tipping.verdict == "tight":
        return f"the guides stand {length(-found.pack.slack_mm)} too close: the pack does not fit."
    sprays = " with sprays" if found.sprayed else ""
    angle = f"at worst {display.angle(tipping.worst.balance_rad)}{sprays}"
    most, safe = tipping.loosest_slack_mm, tipping.safe.slack_mm
    if most > safe:
        said = f"slack can reach {length(most)}; more than {length(safe)} lets a can past its tip"
        first = tips_first(found)
        if tipping.blocked:
            first = "only the hold-down stops it"
        return f"{said} angle, {angle}; {first}."
    if tipping.verdict == "can tip":
        return f"where the pack parts, one can finds room to lean past its tip angle, {angle}."
    said = f"slack can reach {length(most)}, allowed is {length(tipping.allowed_slack_mm)}"
    if tipping.verdict == "held":
        return f"{said}: no can gets past the safe lean; tip angle {angle}."
    return f"{said}: cans get past the safe lean, short of their tip angle, {angle}."
