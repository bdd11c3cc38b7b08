"""What the words of a study mean."""

from __future__ import annotations

from typing import Final

LEGEND: Final = (
    ("slack", "as set; in the loosest case of the budget"),
    (
        "balance",
        "the lean a can comes back from: at rest, and at the worst moment under the sprays",
    ),
    ("tip index", "lean over balance in the loosest case, all slack in one place; 1 tips"),
    (
        "guide window",
        "from no slack in the tightest case to safe slack over the factor in the loosest",
    ),
    ("verdict", "held: within safe slack over the factor; loose; can tip; tight"),
    ("nozzles off", "worst lane from its nearest nozzle, now and after the best shift of the pack"),
    ("hold margin", "hold the sprays leave a can: 1 without spray, 0 turns it over"),
    ("hold-down", "clearance over the can tops, and whether it keeps cans from tipping"),
    (
        "tips per million",
        "row model: slack as set shared out at random / all of it in the worst gap; a run counts "
        "between the two; no credit for the hold-down",
    ),
)
"""Each word with its meaning, for the terminal and the page."""
