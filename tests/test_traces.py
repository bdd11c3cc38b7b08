"""The tool that counts the files of a walk counts what is called, and the walks stay short."""

from __future__ import annotations

from types import FrameType

from packsim.width.lane_rule import packs_at
from tests.traces import walk, walks

LIMITS = {"diameter": 18, "why": 62, "change": 75, "study": 89, "nozzles shift": 59}
"""Files of `packsim` a walk may pass. Lower one when a walk has become shorter; before raising one,
look (``python -m tests.traces --files``) for two small files that answer one question. A study, and
a change without a safe width, also say how sure they are: ranges, draws and answers in bulk. A
shift passes one more, the way into machine code, where tests before it have loaded that. The last
raise cut six files of over 300 lines; none of under 80 was left on a walk to put together."""


def test_no_walk_has_grown() -> None:
    found = {name: len(files) for name, files in walks().items()}
    assert found.keys() == LIMITS.keys()
    assert {name: count for name, count in found.items() if count > LIMITS[name]} == {}


def test_only_what_is_called_is_counted_and_only_once() -> None:
    found = walk(lambda: [packs_at(590.0, 60.0) for _ in range(3)])
    assert "packs_at" in found["width/lane_rule.py"]
    assert "width/guide_window.py" not in found
    assert walk(lambda: sorted([2, 1])) == {}


def test_a_walk_counts_only_calls_that_pass() -> None:
    def seen(width_mm: float) -> set[str]:
        def holds_it(frame: FrameType) -> bool:
            return any(type(v) is float and v == 590.5 for v in frame.f_locals.values())

        return set(walk(lambda: packs_at(width_mm, 60.0), holds_it))

    assert "width/lane_rule.py" in seen(590.5)
    assert seen(590.0) == set()
