"""Files of schema 1 are still read, and renewed with their comments; a half-renamed one is not."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from packsim.errors import InputError
from packsim.scenario import load_scenario, parse_scenario
from packsim.scenario.keys import keys
from packsim.scenario.renew import NEW_WORDS, OldNames, new_name, new_path, renewed
from packsim.scenario.stage_tables import HeaderTable, KicksTable, StageTable

ROOT = Path(__file__).resolve().parents[2]
SHIPPED = sorted((ROOT / "scenarios").glob("*.toml"))

OLD = """\
# a line of schema 1
schema = 1
name = "old"
factor = 3                      # half held back

[mat]
width = "700 mm"
speed = "6 m/min"

[[sizes]]
name = "body"
catalogue = "us_12oz_std"

[guides]
wire_heights = ["30 mm", "65 mm"]
wear = "0.2 mm"                 # each side
travel_near = 10
travel_far = 90

[[stages]]
name = "wash"
duty = "flood"
length = "3 m"
layout = "crosswise"            # straight across
fill = 0.9
brackets = [
  { station = 0, left = 50, right = 650 },   # first
  { station = "3 m", left = 50, right = 650 },
]
kicks = { rate = "3 1/s", step = "0.1 mm" }

[[assumed]]
key = "stages[0].kicks.rate"
value = "3 1/s"
why = "seen once"
"""


def test_an_old_file_is_read_with_a_note_of_the_new_names() -> None:
    with pytest.warns(OldNames, match=r"old\.toml.*fill is now pack_fill.*packsim renew FILE"):
        scenario = parse_scenario(OLD, "old.toml")
    stage = scenario.stages[0]
    assert (scenario.factor, stage.layout, stage.fill) == (3.0, "crosswise", 0.9)
    assert (stage.kicks.rate_per_s, stage.kicks.step_mm) == (3.0, 0.1)
    assert stage.guides.wear_mm == 0.2
    assert stage.guides.travel_mm == (10.0, 90.0)
    assert [b.station_mm for b in stage.guides.brackets] == [0.0, 3000.0]
    why = {entry.key: entry.why for entry in scenario.assumed}
    assert why["stages[0].kicks.kicks_per_second"] == "seen once"


def test_renewing_keeps_comments_lines_and_values() -> None:
    new = renewed(OLD, "old.toml")
    assert parse_scenario(new.text).stages[0].layout == "crosswise"
    assert re.findall("#.*", new.text) == re.findall("#.*", OLD)
    assert len(new.text.splitlines()) == len(OLD.splitlines())
    assert 'rows = "along"' not in new.text
    assert 'rows = "across"                 # straight across' in new.text  # in its column
    assert "safety_factor = 3               # half held back" in new.text
    assert renewed(new.text, "x").text == new.text
    assert not renewed(new.text, "x").names


def _values(table: object) -> list[object]:
    if isinstance(table, dict):
        return [value for each in table.values() for value in _values(each)]
    if isinstance(table, list):
        return [value for each in table for value in _values(each)]
    return [table]


def test_only_names_change() -> None:
    old, new = (_values(tomllib.loads(text)) for text in (OLD, renewed(OLD, "x").text))
    changed = [(a, b) for a, b in zip(old, new, strict=True) if a != b]
    kicks = ("stages[0].kicks.rate", "stages[0].kicks.kicks_per_second")
    assert changed == [(1, 2), ("crosswise", "across"), kicks]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_what_we_ship_has_nothing_to_renew(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert renewed(text, path.name).text == text


def test_both_names_of_one_key_are_refused_each() -> None:
    half = OLD.replace("fill = 0.9", "fill = 0.9\npack_fill = 0.8").replace(
        "factor = 3", "factor = 3\nsafety_factor = 2"
    )
    with pytest.raises(InputError) as caught:
        parse_scenario(half, "half.toml")
    assert [one.key for one in caught.value.each] == ["factor", "stages.fill"]
    assert "both fill and pack_fill" in str(caught.value)


def test_an_old_name_in_a_new_file_is_told_its_new_one(small: str) -> None:
    text = small.replace("rated_flow", "flow").replace("kicks_per_second", "rate")
    with pytest.raises(InputError) as caught:
        parse_scenario(text)
    said = str(caught.value).splitlines()
    assert len(said) == 2
    assert "needs the key kicks_per_second; `packsim renew FILE`" in said[0]
    assert "needs the key rated_flow; `packsim renew FILE`" in said[1]
    assert parse_scenario(renewed(text, "x").text) == parse_scenario(small)


def test_old_fitted_kicks_are_read_with_a_note(tmp_path: Path, small: str) -> None:
    (tmp_path / "line.toml").write_text('include = "f.toml"\n' + small)
    fitted = '[kicks.flood]\nenergy = "0.08 mJ"\nrate = "3 1/s"\ntrial = "week 12"\n'
    (tmp_path / "f.toml").write_text(fitted)
    with pytest.warns(OldNames, match="rate is now kicks_per_second"):
        scenario = load_scenario(tmp_path / "line.toml")
    assert scenario.stages[0].kicks.rate_per_s == 3.0


def test_every_new_name_is_a_key_and_no_old_one_is() -> None:
    tables = {"stages": StageTable, "kicks": KicksTable, "headers": HeaderTable}
    for name, table in tables.items():
        assert not [key for key in keys(table) if new_name((name, key))]
    for old, table in (("fill", StageTable), ("rate", KicksTable), ("flow", HeaderTable)):
        where = next(name for name, each in tables.items() if each is table)
        assert new_name((where, old)) in keys(table)
    assert set(NEW_WORDS) <= set(keys(StageTable))
    assert new_path("headers.thin_angle") == "headers.fan_thickness_angle"
    assert new_path("stages[3].centre") == "stages[3].pack_centre_from_left"
