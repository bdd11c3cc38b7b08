"""A line small enough to work out by hand."""

from __future__ import annotations

from packsim.can import Can
from packsim.line import Bracket, Guides, Kicks, Mat, Scenario, Stage, Wires

BIG = Can("big", 66.0, 120.0, 0.010, 72.0, 0.0, 0.0)
SMALL = Can("small", 52.0, 120.0, 0.010, 72.0, 0.0, 0.0)
TALL = Can("tall", 52.0, 140.0, 0.010, 80.0, 0.0, 0.0)


def small_stage(
    name: str = "wash", left: float = 205.0, right: float = 795.0, **more: object
) -> Stage:
    """Nothing but the setting step widens or narrows the slack: cold, unworn, exact cans."""
    guides_keys = ("setting_step_mm", "travel_mm")
    guides = Guides(
        (Bracket(0.0, left, right), Bracket(2000.0, left, right)),
        Wires((30.0, 90.0), 600.0, 0.0, 1.3e6),
        **({"setting_step_mm": 0.5} | {k: more.pop(k) for k in guides_keys if k in more}),  # type: ignore[arg-type]
    )
    return Stage(name, "drain", 2000.0, guides, Kicks(0.05, 1.0), **more)  # type: ignore[arg-type]


def small_line(*stages: Stage, mat: float = 1000.0) -> Scenario:
    return Scenario("small line", "", Mat(mat, 100.0), stages, (BIG, SMALL, TALL), "big")
