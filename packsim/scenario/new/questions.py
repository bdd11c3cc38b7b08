"""The few questions a first scenario needs, in order; each can be left open."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from packsim.scenario.known.table_inputs import documented
from packsim.scenario.new import readers
from packsim.scenario.new.readers import Answers
from packsim.scenario.new.usual import length_in
from packsim.scenario.values import fields as f
from packsim.scenario.values.ranges import IN_US, in_us

_LENGTH: Final = f.kind_of(f.Length)


@dataclass(frozen=True, slots=True)
class Question:
    """One question.

    Parameters
    ----------
    name : str
        Under which the answer is kept, and complaints are made.
    ask : str
        The question.
    example : dict of str
        An answer, by unit system.
    read : callable
        Text and answers so far to the answer; raises `InputError`.
    unknown : str
        What is done where nobody knows.
    when : callable
        Whether it is to be asked, by the answers so far.
    key : str
        Whose documented range then stands: ``mat.speed``; empty where there is none.
    """

    name: str
    ask: str
    example: Mapping[str, str]
    read: Callable[[str, Answers], Any]
    unknown: str
    when: Callable[[Answers], bool] = lambda _: True
    key: str = ""

    def left_open(self, units: str) -> str:
        """Say what is done where nobody knows, and within what the value may lie."""
        if not self.key:
            return self.unknown
        said = documented()[self.key]
        within = "may be" if " to " in said.assumed else "may be off by"
        near = f"{within} {_range_in(units, said.assumed)}: {said.if_not}"
        return f"{self.unknown}; {'either' if said.assumed == 'any' else near}"

    def shown(self, units: str) -> str:
        """Return the question with an example in a unit system."""
        example = self.example.get(units, self.example.get("", ""))
        return f"{self.ask}\n  such as: {example}" if example else self.ask


def _range_in(units: str, text: str) -> str:
    """Return a documented range such as ``25 mm`` or ``10 to 70 degC`` in a unit system."""
    numbers, _, unit = text.rpartition(" ")
    if units != "inch" or unit not in IN_US:
        return text
    ends = [float(number) for number in numbers.split(" to ")]
    if unit == "mm":
        return " to ".join(length_in(units, end) for end in ends)
    return f"{' to '.join(f'{in_us(end, unit)[0]:g}' for end in ends)} {IN_US[unit]}"


_BODY: Final = "us_12oz_std; or the body's diameter: "
_OF_SIZE: Final = {
    "metric": f"{_BODY}66.05, 66.12, 66.08 mm (readings) or 66.09 ± 0.05 mm",
    "inch": f"{_BODY}2.600, 2.603, 2.602 in (readings) or 2.602 ± 0.002 in",
}
_HEIGHT: Final = {"metric": "124.3 mm", "inch": "4.894 in"}

QUESTIONS: Final = (
    Question(
        "name", "What is the line called?", {"": "Line 3"}, lambda text, _: text.strip(), "New line"
    ),
    Question(
        "units",
        "Do you speak in inches or in millimetres? Bare numbers are read so.",
        {"": "inches"},
        readers.units,
        "millimetres",
    ),
    Question(
        "size",
        "Which can does it run? A size of the catalogue (packsim sizes), or its diameter.",
        _OF_SIZE,
        readers.size("size"),
        "the 12 oz can of the catalogue, us_12oz_std",
    ),
    Question(
        "height",
        "How high is that body, trimmed and not necked?",
        _HEIGHT,
        readers.quantity("height", _LENGTH),
        "that of the catalogue's can of the nearest diameter",
        when=readers.own("size"),
    ),
    Question(
        "next size",
        "Which other can is it to run? The same way; leave it empty for none.",
        _OF_SIZE,
        readers.size("next size"),
        "none",
    ),
    Question(
        "next height",
        "How high is that body, trimmed and not necked?",
        _HEIGHT,
        readers.quantity("next height", _LENGTH),
        "that of the catalogue's can of the nearest diameter",
        when=readers.own("next size"),
    ),
    Question(
        "mat width",
        "How wide is the mat?",
        {"metric": "1600 mm", "inch": "63 in"},
        readers.quantity("mat width", _LENGTH),
        "a usual one",
        key="mat.width",
    ),
    Question(
        "mat speed",
        "How fast does the mat run?",
        {"metric": "6 m/min", "inch": "20 ft/min"},
        readers.quantity("mat speed", f.kind_of(f.Speed)),
        "a usual one",
        key="mat.speed",
    ),
    Question(
        "stages",
        "Which stages does a can pass, in order, and how long is each?",
        {
            "metric": "pre-wash 2500 mm, wash 4 m, rinse 2 m",
            "inch": "pre-wash 8 ft, wash 12 ft, rinse 6 ft",
        },
        readers.stages,
        "six usual ones: " + ", ".join(name for name, _, _ in readers.USUAL),
    ),
    Question(
        "clear width",
        "How far apart are the side guides, face to face? Once for all, or stage by stage.",
        {"metric": "1391 mm ± 1 mm", "inch": "54 3/4 in; or: pre-wash 54 3/4 in, wash 54 5/8 in"},
        readers.clear_width,
        "half a per cent more than the lanes that fit the mat need",
        key="stages.clear_width",
    ),
    Question(
        "rows",
        "How do the rows of touching cans run: along the guides, or straight across the mat?",
        {"": "along"},
        readers.rows,
        "left out: the answers take along, and it may be either",
    ),
    Question(
        "wires",
        "How high above the mat are the guide wires, lowest first?",
        {"metric": "30, 72, 114 mm", "inch": "1 1/4, 2 3/4, 4 1/4 in"},
        readers.wires,
        "three, spread over the height of the can",
        key="guides.wire_heights",
    ),
    Question(
        "headers",
        "How many pairs of spray headers, one above and one below, has each stage?",
        {"": "wash 4, rinse 2, pre-rinse 1 above; or one number for all"},
        readers.headers,
        "one pair for each 0.6 m (2 ft) of a stage that sprays",
        when=lambda said: bool(readers.stage_names(said, spraying=True)),
    ),
    Question(
        "pressures",
        "What is the spray pressure? Once for all, or stage by stage.",
        {"metric": "wash 2.2 bar, rinse 1 bar", "inch": "wash 32 psi, rinse 15 psi"},
        readers.each("pressures", f.kind_of(f.Pressure), spraying=True),
        "a usual one",
        when=lambda said: any(count for count, _ in (said["headers"] or {"": (1, "")}).values()),
        key="headers.pressure",
    ),
    Question(
        "temperatures",
        "How hot is it? Once for all, or stage by stage.",
        {"metric": "wash 60, rinse 25 degC", "inch": "wash 140 degF, rinse 80 degF"},
        readers.each("temperatures", f.kind_of(f.Temperature)),
        "left out: taken as cold",
        key="stages.temperature",
    ),
)
"""Every question, in the order they are asked."""
