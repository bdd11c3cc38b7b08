"""Names, lanes and stages as text."""

from collections.abc import Callable, Iterable, Sequence

from packsim.answers import Answer


def printable(text: str) -> str:
    r"""Return a text with control characters turned into spaces: nothing may act on them.

    Examples
    --------
    >>> printable("wash\n1")
    'wash 1'
    """
    return "".join(letter if letter.isprintable() else " " for letter in text)


def pack_words(answer: Answer, length: Callable[[float], str]) -> str:
    """Return the lanes that are judged, and those that may stand there squeezed instead."""
    if not answer.pack.fits:
        return "does not fit"
    other, lanes = answer.might_be, f"{answer.pack.lanes} lanes"
    if other is None:
        return lanes
    by = f" by {length(other.squeezed_mm)}" if other.squeezed_mm else ""
    return f"{lanes}, or {other.lanes} {other.state}{by}"


def lane_words(lanes: Iterable[int]) -> str:
    """Return lanes, counted from 0, as a person counts them; a dash for none.

    Examples
    --------
    >>> lane_words([0, 1, 2, 23])
    '1–3, 24'
    """
    runs: list[list[int]] = []
    for lane in sorted(lanes):
        if runs and runs[-1][1] == lane:
            runs[-1][1] = lane + 1
        else:
            runs.append([lane + 1, lane + 1])
    words = [f"{a}" if a == b else f"{a}, {b}" if b == a + 1 else f"{a}–{b}" for a, b in runs]
    return ", ".join(words) or "–"


def stage_words(stages: Sequence[str], of: Sequence[object]) -> str:
    """Return stages in words, all of them as one phrase."""
    return "every stage" if len(stages) == len(of) > 1 else ", ".join(stages)
