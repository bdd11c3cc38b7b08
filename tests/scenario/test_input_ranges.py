"""Every number that an answer depends on has a range, and can be set to another value."""

from __future__ import annotations

import dataclasses
import pickle
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.line.input_range import range_of, with_value
from packsim.scenario import load_scenario, parse_scenario
from packsim.scenario.keys import keys
from packsim.scenario.known.table_inputs import TABLES, documented
from packsim.scenario.tables import FittedTable

SHIPPED = sorted((Path(__file__).resolve().parents[2] / "scenarios").glob("*.toml"))
LINES = {path.stem: load_scenario(path) for path in SHIPPED}

DECIDED = {
    r"factor": "how careful to be is a choice",
    r"rule_step_mm": "the step of a rule is a choice",
    r"stages\.\d+\.guides\.setting_step_mm": "the step of a rule is a choice",
    r"stages\.\d+\.settings\..*": "a setting on record is where to go, not where things stand",
    r"history\..*": "what was counted, and at which widths, is evidence",
    r"stages\.\d+\.headers\.\d+\.nozzle\.measured_rad\.\d+": "angles chosen to measure at",
}
"""Numbers without a range, and why."""


def numbers(thing: object, path: str = "") -> Iterator[tuple[str, float]]:
    """Yield the path of every float of a noun and its parts, and the float."""
    if isinstance(thing, float):
        yield path, thing
    elif isinstance(thing, tuple):
        for i, each in enumerate(thing):
            yield from numbers(each, f"{path}.{i}".lstrip("."))
    elif dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        for one in dataclasses.fields(thing):
            if one.name not in ("ranges", "assumed", "unlikely"):
                yield from numbers(getattr(thing, one.name), f"{path}.{one.name}".lstrip("."))


def covered(line: Scenario) -> str:
    """Return an expression that any number with a range matches."""
    verbs = {
        "clear_width()": r"guides.brackets.\d+.(left|right)_mm",
        "bracket_spacing()": r"guides.brackets.\d+.station_mm",
        "water_in_dome()": r"water_in_dome.\d+",
        "length()": "length_mm",
    }
    found = []
    for place in (place for one in line.ranges for place in one.places):
        owner, _, verb = place.rpartition(".")
        found.append(f"{owner}.{verbs[verb]}" if verb in verbs else place)
    return "|".join(each.replace(".", r"\.").replace(r"\\.d", r"\d") for each in found)


def unused(line: Scenario, path: str) -> bool:
    """Whether a number of a header means nothing for its pattern, or for a pipe unknown."""
    if ".headers." not in path:
        return False
    _, i, _, j, *rest = path.split(".")
    header = line.stages[int(i)].headers[int(j)]
    name, flat = rest[-1], header.nozzle.pattern in ("fan", "slot")
    return (
        (name in ("thin_angle_rad", "twist_rad") and not flat)
        or (name == "hollow_share" and header.nozzle.pattern != "hollow cone")
        or (name == "pipe_roughness_mm" and header.pipe_mm is None)
    )


@pytest.mark.parametrize("name", LINES)
def test_every_number_has_a_range(name: str) -> None:
    line = LINES[name]
    known = re.compile(covered(line))
    decided = re.compile("|".join(DECIDED))
    left = [
        path
        for path, _ in numbers(line)
        if not known.fullmatch(path) and not decided.fullmatch(path) and not unused(line, path)
    ]
    assert left == []


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=pytest.mark.all if name in ("swing_line", "imperial_line") else ())
        for name in LINES
    ],
)
def test_every_input_can_be_anything_in_its_range(name: str) -> None:
    line = LINES[name]
    for one in line.ranges:
        for value in {one.low, one.value, one.high}:
            changed = with_value(line, one.key, value)
            assert [r.key for r in changed.ranges] == [r.key for r in line.ranges]
            if value != one.value and not one.key.endswith(("bracket_spacing", "water_in_dome")):
                assert changed != line, one.key
            if value == one.value and "water" not in one.key and "spacing" not in one.key:
                assert dict(numbers(changed)) == pytest.approx(dict(numbers(line)), abs=1e-12)


def test_a_shared_input_changes_wherever_it_holds() -> None:
    line = LINES["swing_line"]
    slack = with_value(line, "guides.tension", 500.0)
    assert {stage.guides.wires.tension_N for stage in slack.stages} == {500.0}
    own = with_value(line, "stages[2].headers[1].pressure", 0.1)
    changed = [
        (i, j)
        for i, stage in enumerate(own.stages)
        for j, header in enumerate(stage.headers)
        if header != line.stages[i].headers[j]
    ]
    assert changed == [(2, 1)]


def test_an_unknown_key_names_the_nearest() -> None:
    with pytest.raises(InputError, match=r"sizes\[0\]\.diameter"):
        with_value(LINES["swing_line"], "sizes[0].diametre", 66.0)


def test_what_the_line_cannot_have_is_refused_under_the_key() -> None:
    with pytest.raises(InputError) as caught:
        with_value(LINES["swing_line"], "sizes[0].diameter", -1.0)
    assert caught.value.key == "sizes[0].diameter"


def test_what_is_assumed_has_its_entry_and_its_range(small: str) -> None:
    line = parse_scenario(small)
    kinds = {one.key: one.kind for one in line.ranges}
    for entry in line.assumed:
        if entry.key in kinds:
            assert kinds[entry.key] == "assumed", entry.key
    without = {entry.key for entry in line.assumed} - kinds.keys()
    assert without == {
        "safety_factor",
        "guides.smallest_bracket_step",
        "guides.wire_heights",
        "stages[0].kicks.under_headers",
    } - {"guides.wire_heights"}


def test_a_word_takes_the_places_of_its_choices() -> None:
    line = LINES["first_look"]
    rows = range_of(line, "stages[0].rows")
    assert rows.choices == ("along", "across")
    assert with_value(line, rows.key, 1.0).stages[0].layout == "crosswise"
    with pytest.raises(InputError):
        with_value(line, rows.key, 0.5)


def test_fitted_kicks_have_the_interval_of_their_trial(small: str) -> None:
    fitted = {"flood": FittedTable(energy=0.07, low=0.06, high=0.1, trial="week 12")}
    energy = range_of(parse_scenario(small, fitted=fitted), "stages[0].kicks.energy")
    assert (energy.value, energy.low, energy.high) == (0.07, 0.06, 0.1)
    assert (energy.kind, energy.source) == ("measured", "fitted to trial week 12")


def test_every_reason_is_used(small: str) -> None:
    """The table names keys that are, and has a spread for each way a value may come to be."""
    known = {
        f"{name}.{key}": one for table, name in TABLES.items() for key, one in keys(table).items()
    }
    assert documented().keys() <= known.keys()
    for key, said in documented().items():
        required = known[key].assumed is None and key not in LEFT_OUT
        assert bool(said.assumed) == bool(said.if_not), key
        assert "" not in (said.given, said.why), key
        assert said.assumed or required, key


LEFT_OUT = {
    "mat.start_acceleration",
    "mat.odd_cans",
    "mat.odd_cans_narrower",
    "guides.step_at_brackets",
    "headers.fan_turn",
    "headers.splash_factor",
    "headers.pipe_roughness",
    "stages.joint_kick",
    "stages.slack_gathered",
}
"""Keys that stand for nothing where they are left out, and are not on record as assumed."""


@pytest.mark.parametrize("name", LINES)
def test_ranges_hold_their_value_and_survive_pickling(name: str) -> None:
    line = LINES[name]
    assert all(one.low <= one.value <= one.high for one in line.ranges)
    assert pickle.loads(pickle.dumps(line)).ranges == tuple(line.ranges)  # noqa: S301 own data
    keys_of = [one.key for one in line.ranges]
    assert len(set(keys_of)) == len(keys_of)
