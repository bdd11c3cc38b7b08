"""What a quantity of an answer is: its key, its heading, what it means and where it comes from."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from packsim.answers.answer import Answer

KINDS: Final = {
    "length": "number",
    "setting": "number",
    "signed setting": "number",
    "signed length": "number",
    "angle": "number",
    "share": "number",
    "index": "number",
    "margin": "number",
    "force": "number",
    "dose": "number",
    "flow": "number",
    "speed": "number",
    "time": "number",
    "rate": "number",
    "per metre": "number",
    "per million": "number",
    "count": "integer",
    "yes or no": "boolean",
    "word": "string",
    "counts": "object",
}
"""Sorts of quantities a display knows how to show, and what JSON holds for them."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """One thing an answer tells about a stage with one can size.

    Parameters
    ----------
    key : str
        Its name in JSON and CSV; ends in the unit where there is one.
    heading : str
        What a person calls it.
    kind : str
        One of `KINDS`.
    of : callable
        Returns it from an `Answer` in the units inside the package; None or a number that is not
        finite where there is none.
    meaning : str
        What it is, in a sentence.
    """

    key: str
    heading: str
    kind: str
    of: Callable[[Answer], Any]
    meaning: str

    def plain(self, answer: Answer) -> Any:
        """Return the value as JSON and CSV hold it: angles in degrees, None where there is none."""
        value = self.of(answer)
        if value is None or (isinstance(value, float) and not math.isfinite(value)):
            return None
        return math.degrees(value) if self.kind == "angle" else value
