"""``packsim why``: what an engineer reads, and what a program gets."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Run = Callable[..., Any]
SWING = "scenarios/swing_line.toml"


@pytest.fixture
def swing(root: Path) -> str:
    return str(root / SWING)


def values(text: str) -> dict[str, str]:
    """Name and value of every row."""
    found = re.findall(r"^  (\S.*?)  +(\S.*?)(?:  |$)", text, re.MULTILINE)
    return dict(reversed(found))  # the first of a name counts


def test_every_question_is_answered_term_by_term(packsim: Run, swing: str) -> None:
    result = packsim("why", swing, "--stage", "wash", "--size", "211 body")
    assert (result.returncode, result.stderr) == (0, "")
    for head in (
        "How wide",
        "How much slack",
        "How high",
        "What the sprays do",
        "Energy needed to tip a can",
        "If a can leans",
        "Assumed",
        "Caution",
    ):
        assert f"\n{head}" in result.stdout
    assert "nan" not in result.stdout
    rows = values(result.stdout)
    # the scenario's own words: 24 lanes of 66.09 mm need 1382.5 mm, 6 mm are left of 1388.5
    assert rows["pack width"] == "1382.5"
    assert rows["slack as set"] == "6.0"
    assert "these height ranges do not overlap" in result.stdout
    # terms add up to what they say, to the digit shown
    line = next(row for row in result.stdout.splitlines() if "least slack  " in row)
    _, value, how = re.split(r"  +", line.strip(), maxsplit=2)
    how += " " + result.stdout.split(line)[1].strip().splitlines()[0]
    terms = re.findall(r"([+−]?) ?(\d+\.\d) ", how.split("worst-case slack")[0] + " ")
    total = sum((-1.0 if sign == "−" else 1.0) * float(number) for sign, number in terms)
    assert total == pytest.approx(float(value.split(" ")[0]), abs=0.051 * len(terms))


def test_the_stage_with_least_safe_slack_if_none_is_named(packsim: Run, swing: str) -> None:
    asked = [
        json.loads(packsim("why", swing, "--json", "-", *more).stdout)
        for more in ((), ("--stage", "rinse", "--size", "sleek body"))
    ]
    assert [one["stage"] for one in asked] == ["wash", "rinse"]
    assert [one["answer"]["size"] for one in asked] == ["211 body", "sleek body"]
    wash = asked[0]
    stands = wash["answer"]["stance"]  # the dome as full as is worst under the sprays
    rest = math.degrees(math.atan2(stands["diameter_mm"] / 2.0, stands["cg_mm"]))
    sprayed = rest - wash["spray"]["lost_deg"]
    assert sprayed == pytest.approx(wash["answer"]["balance_angle_deg"])
    budget = wash["answer"]["slack_mm"] + sum(
        t["loosest_mm"] for t in wash["answer"]["budget"]["terms"]
    )
    assert budget == pytest.approx(wash["answer"]["loosest_slack_mm"])


def test_inches(packsim: Run, swing: str) -> None:
    result = packsim("why", swing, "--stage", "wash", "--units", "inch")
    assert "lengths in in" in result.stdout
    assert values(result.stdout)["pack width"] == f"{66.09 * (1 + 23 * 0.75**0.5) / 25.4:.3f}"


def test_crosswise_pockets_and_no_sprays(packsim: Run, root: Path) -> None:
    result = packsim("why", str(root / "scenarios/oven_lane.toml"), "--stage", "bake")
    assert "short rows" in result.stdout
    assert "What the sprays do" not in result.stdout


def test_a_stage_that_is_not_there(packsim: Run, swing: str) -> None:
    result = packsim("why", swing, "--stage", "spin")
    assert result.returncode == 2
    assert re.search(r"'spin'.*pre-rinse, pre-wash", result.stderr)


def test_stage_and_size_are_complained_of_at_once(packsim: Run, root: Path) -> None:
    file = str(root / "scenarios/first_look.toml")
    for command in (
        ["why", file],
        ["sweep", file, "--over", "fill", "--lowest=0.8", "--highest=1"],
    ):
        found = packsim(*command, "--stage", "x", "--size", "y")
        assert found.returncode == 2
        assert "--stage: got 'x'; needs one of" in found.stderr
        assert "--size: got 'y'; needs one of" in found.stderr
