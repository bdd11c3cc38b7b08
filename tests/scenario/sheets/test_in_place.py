"""Values put into a file in place: the data are those asked for, and all else stays."""

from __future__ import annotations

import copy
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from packsim.scenario.sheets.in_place import Loc, put_values, value_at

ROOT = Path(__file__).resolve().parents[3]
FILES = [*sorted((ROOT / "scenarios").glob("*.toml")), ROOT / "tests" / "trial" / "small_line.toml"]


def tables(data: Any, loc: Loc = ()) -> list[Loc]:
    """Return the place of every table of a file but those of [[assumed]]."""
    found: list[Loc] = []
    if isinstance(data, dict):
        found = [loc]
        for key, value in data.items():
            found += [] if key == "assumed" else tables(value, (*loc, key))
    elif isinstance(data, list):
        found = [one for i, value in enumerate(data) for one in tables(value, (*loc, i))]
    return found


@settings(max_examples=min(20, settings().max_examples))
@given(data=st.data())
@pytest.mark.parametrize(
    "file",
    [
        pytest.param(file, marks=() if file.stem == "imperial_line" else pytest.mark.all)
        for file in FILES
    ],
    ids=lambda path: path.stem,
)
def test_only_the_value_asked_for_changes(file: Path, data: st.DataObject) -> None:
    text = file.read_text(encoding="utf-8")
    before = tomllib.loads(text)
    values: dict[Loc, tuple[Any, str]] = {}
    for table in data.draw(st.lists(st.sampled_from(tables(before)), min_size=1, max_size=4)):
        known = [k for k, v in value_at(before, table).items() if not isinstance(v, dict | list)]
        key = data.draw(st.sampled_from([*known, "new_key"]))
        value = data.draw(st.sampled_from(["6.5 mm ± 1 mm", 0.5, ["1 mm", "2 mm"], True]))
        values[(*table, key)] = value, data.draw(st.sampled_from(["", "measured 2026-03-12"]))
    after = put_values(text, values)
    wanted = copy.deepcopy(before)
    for loc, (value, _) in values.items():
        value_at(wanted, loc[:-1])[loc[-1]] = value
    assert tomllib.loads(after) == wanted
    for comment in re.findall(r"#.*", text):
        assert comment in after
    kept = [line for line in text.splitlines() if line.lstrip().startswith(("#", "["))]
    assert [line for line in after.splitlines() if line in kept] == kept


def test_a_new_key_stands_behind_the_last_one_and_not_behind_the_comment_of_the_next_table() -> (
    None
):
    text = '[mat]\nwidth = 1\n\n# the sizes\n[[sizes]]\nname = "a" # mine\n'
    values = {("mat", "speed"): ("6 m/min", "measured"), ("sizes", 0, "name"): ("b", "measured")}
    assert put_values(text, values) == (
        '[mat]\nwidth = 1\nspeed = "6 m/min" # measured\n\n'
        '# the sizes\n[[sizes]]\nname = "b" # mine\n'
    )


def test_a_table_that_lacks_is_made() -> None:
    after = put_values("[[stages]]\nname = 1\n", {("stages", 0, "kicks", "energy"): ("1 mJ", "")})
    assert tomllib.loads(after) == {"stages": [{"name": 1, "kicks": {"energy": "1 mJ"}}]}


def test_what_is_measured_now_is_no_longer_on_the_list_of_what_nobody_measured() -> None:
    text = """[mat]
friction = 0.5
[[sizes]]
name = "slim"
mass = 10
[[sizes.assumed]]
key = "sizes[slim].mass"
[[sizes.assumed]]
key = ["mass", "height"]
[[assumed]]  # invented
key = "mat.friction"
[[assumed]]
key = [
  "mat.friction",
  "mat.speed",
]
"""
    after = put_values(text, {("mat", "friction"): (0.4, ""), ("sizes", 0, "mass"): ("10 g", "")})
    assert tomllib.loads(after) == {
        "mat": {"friction": 0.4},
        "sizes": [{"name": "slim", "mass": "10 g", "assumed": [{"key": ["height"]}]}],
        "assumed": [{"key": ["mat.speed"]}],
    }
    assert '[\n  "mat.speed",\n]' in after


def test_an_entry_of_many_keys_loses_those_measured_and_a_remark_its_nobody() -> None:
    text = """\
[mat]
width = "1600 mm"  # usable; nobody knows: a usual one
speed = "6 m/min"  # nobody knows: a usual one

[[assumed]]
key = [
  "mat.width",
  "stages[0].length",
]
value = "1600 mm"
why = "usual"

[[assumed]]
key = ["mat.speed"]
value = "6 m/min"
why = "usual"
"""
    loc = ("mat", "width"), ("mat", "speed")
    new = put_values(text, {loc[0]: ("1590 mm", ""), loc[1]: ("7 m/min", "")})
    assert new.splitlines()[:3] == [
        "[mat]",
        'width = "1590 mm"  # usable',
        'speed = "7 m/min"',
    ]
    data = tomllib.loads(new)
    assert [entry["key"] for entry in data["assumed"]] == [["stages[0].length"]]
