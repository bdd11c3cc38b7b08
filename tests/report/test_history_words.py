"""The line's own history in words."""

from __future__ import annotations

import math

from packsim.chance import Cause, Compared, History, Rate
from packsim.line import PastCount
from packsim.report.words.chance_words import against_history, history_lines
from packsim.report.words.display import Display

PAST = PastCount("sleek body", 2_000_000, 1000, "last year", "wash")
METRIC = Display("metric")


def history(expected: float, *causes: Cause, factor: float = 1.0) -> History:
    rate = Rate(expected, (0.8 * expected, 1.25 * expected), 0.1)
    one = Compared(PAST, (469.0, 532.0), rate, (0.75 * expected, 1.3 * expected), causes)
    return History((one,), factor, (0.9 * factor, 1.1 * factor))


def test_an_explained_count_is_said_so_and_no_forecast_is_doubted() -> None:
    found = history(480.0)
    assert history_lines(found, METRIC) == [
        "last year, sleek body, wash: counted 500 (469–532) per million, expected 480 (384–600): "
        "explained",
        "Kick energies that fit all of it: 1.00 (0.90–1.10) times those of the scenario.",
    ]
    assert against_history(found, []) == []


def test_what_would_explain_a_count_is_told_cause_by_cause() -> None:
    found = history(
        3.0,
        Cause("kick energy", 2.3, (2.1, 2.6)),
        Cause("kick rate", 167.0, (120.0, 220.0)),
        Cause("pack enters", "left"),
        Cause("clear width", 3.14),
        Cause("fill", 0.957),
        factor=2.3,
    )
    (line, fit) = history_lines(found, METRIC)
    assert line.endswith(
        "not explained. It would be by 2.30 (2.10–2.60) times the energy of the kicks; or "
        "167 (120–220) times the kicks; or a pack that enters left; or guides 3.1 mm wider than "
        "noted; or an infeed that fills 95.7 %"
    )
    assert "2.30 (2.07–2.53) times" in fit


def test_where_nothing_explains_a_count_it_says_where_to_look_and_warns_of_forecasts() -> None:
    found = history(3.0, factor=math.nan)
    (line, fit) = history_lines(found, METRIC)
    assert "not explained. Nor would other kicks" in line
    assert line.endswith("look at rows, stages and counts")
    assert fit == "No one kick energy fits these counts."
    (warning,) = against_history(found, [])
    assert "contradict the line's own history" in warning
