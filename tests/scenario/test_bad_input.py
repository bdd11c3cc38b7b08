"""Whatever is wrong with a scenario is one line: file, key path, what was there, what is needed."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from packsim.errors import InputError
from packsim.scenario import load_scenario, parse_scenario
from packsim.scenario.text_files import MAX_BYTES, read_toml

WIDTH = 'clear_width = "588 mm"'
WIRES = 'wire_heights = ["30 mm", "65 mm", "100 mm"]'
SIZE = 'catalogue = "us_12oz_std"'
AT_START = "{ from_stage_start = 0, left = 10, right = 600 }"
TWO = "[" + AT_START + ", { from_stage_start = %s, left = %s, right = %s }]"
TWICE = SIZE + '\n[[sizes]]\nname = "body"\n' + SIZE
SECOND_STAGE = (
    WIDTH + '\n[[stages]]\nname = "wash"\nduty = "drain"\nlength = "9 m"\nclear_width = 588'
)
SPECK = "\n".join(
    f"{key} = {value}"
    for key, value in {
        "diameter": '"0.1 mm"',
        "height": '"120 mm"',
        "mass": '"1 g"',
        "cg_height": '"60 mm"',
        "dome_depth": 0,
        "dome_rim_radius": 0,
        "diameter_tol": 0,
    }.items()
)

CENTRE = "pack_centre_from_left"
AT, B1, H0 = "stages[0].clear_width", "stages[0].brackets[1]", "stages[0].headers[0]"

CASES = [
    # what stood there, what replaces it, key path, got, a part of what is allowed
    (WIDTH, 'clear_widht = "588 mm"', "stages[0].clear_widht", "an unknown key", "clear_width,"),
    (WIDTH, "", AT, "nothing", "the clear width, or brackets"),
    (WIDTH, 'clear_width = "588 bar"', AT, "588 bar", "a length"),
    (WIDTH, 'clear_width = "588"', AT, "588", "has no unit"),
    (WIDTH, 'clear_width = "-588 mm"', AT, "-588 mm", "above 0"),
    (WIDTH, 'clear_width = "nan mm"', AT, "nan mm", "a length"),
    (WIDTH, "clear_width = nan", AT, "nan", "a length"),
    (WIDTH, "clear_width = -inf", AT, "-inf", "a length"),
    (WIDTH, "clear_width = true", AT, "true", "a length"),
    (WIDTH, "clear_width = [1]", AT, "a list of 1", "a length"),
    (WIDTH, "clear_width = {a=1}", AT, "a table", "a length"),
    (WIDTH, "clear_width = 2026-01-31", AT, "2026-01-31", "a length"),
    (WIDTH, "clear_width = 0x" + "f" * 5000, AT, "a whole number of", "a len"),
    (WIDTH, 'clear_width = "65 mm"', AT, "65 mm", "room for one can, 66.09"),
    (WIDTH, 'clear_width = "701 mm"', AT, "701 mm", "width, 700 mm"),
    (WIDTH, WIDTH + f'\n{CENTRE} = "0.1 m"', f"stages[0].{CENTRE}", "0.1 m", "294 to 406 mm"),
    (WIDTH, WIDTH + "\nbracket_spacing = 1e-9", "stages[0].bracket_spacing", "1e-09", "at most"),
    (WIDTH, WIDTH + "\nbrackets = []", "stages[0].brackets", "a list of 0", "at least 1"),
    (WIDTH, WIDTH + "\nbrackets = " + TWO % (9, 10, 600), AT, "588 mm", "either"),
    (WIDTH, "brackets = [{ statoin = 0 }]", "stages[0].brackets[0].statoin", "an unk",
     "from_stage_start,"),
    (WIDTH, "brackets = [{ from_stage_start = 0 }]", "stages[0].brackets[0].left", "nothing",
     "a value"),
    (WIDTH, "brackets = [3]", "stages[0].brackets[0]", "3", "a table"),
    (WIDTH, "brackets = " + TWO % (0, 10, 600), B1 + ".from_stage_start", "0", "more than"),
    (WIDTH, "brackets = " + TWO % ('"9 m"', 10, 600), B1 + ".from_stage_start", "9 m", "0 to"),
    (WIDTH, "brackets = " + TWO % (9, 10, 701), B1 + ".right", "701", "on the mat"),
    (WIDTH, "brackets = " + TWO % (9, -1, 600), B1 + ".left", "-1", "on the mat"),
    (WIDTH, "brackets = " + TWO % (9, 50, 50), B1 + ".right", "50", "more than left"),
    (WIDTH, "brackets = " + TWO % (9, 50, 100), B1 + ".right", "100", "room for one"),
    (WIDTH, SECOND_STAGE, "stages[1].name", "wash", "a name not used before"),
    (WIDTH, WIDTH + "\n[stages.guides]\nwire_heights = [65, 65]", "stages[0].guides.wire_heights",
     "65, 65 mm", "rising"),
    (WIRES, "", "guides.wire_heights", "nothing", "heights above the mat"),
    (WIRES, "wire_heights = []", "guides.wire_heights", "a list of 0", "at least 1"),
    (WIRES, 'wire_heights = [30, "4 bar"]', "guides.wire_heights[1]", "4 bar", "a length"),
    (WIRES, 'wire_heights = ["5 in"]', "guides.wire_heights[0]", "5 in", "tallest can, 124.3 mm"),
    (WIRES, WIRES + "\nbracket_min = 9", "guides.bracket_max", "nothing", "both"),
    (WIRES, WIRES + "\nbracket_min = 9\nbracket_max = 9", "guides.bracket_max", "9", "more than"),
    (WIRES, WIRES + "\nwire_ends_fixed = 1", "guides.wire_ends_fixed", "1", "true or false"),
    ("60 degC", "60 K", "stages[0].temperature", "60 K", "-50 to 600 degC"),
    ("60 degC", "60 delta_degC", "stages[0].temperature", "60 delta_degC", "a temperature"),
    ("schema = 2", "schema = 3", "schema", "3", "the whole number 2"),
    ("schema = 2", "schema = true", "schema", "true", "the whole number 2"),
    ("schema = 2", "", "schema", "nothing", "a value here"),
    ("schema = 2", "schema = 2\nseed = -1", "seed", "-1", "from 0 to 9223372036854775807"),
    ("schema = 2", f"schema = 2\nseed = {2**63}", "seed", str(2**63), "from 0 to"),
    ("schema = 2", "schema = 2\nseed = 1.0", "seed", "1.0", "a whole number"),
    ("schema = 2", "schema = 2\nsafety_factor = 0.9", "safety_factor", "0.9", "from 1 to"),
    ("schema = 2", 'schema = 2\nguides_set_for = "x"', "guides_set_for", "x", "one of the sizes"),
    ("schema = 2", 'schema = 2\ninclude = "x"', "include", "x", "no file"),
    ("schema = 2", 'schema = 2\n"a\\nb" = 1', "'a\\nb'", "an unknown key", "one of the keys"),
    ('name = "small"', 'name = " "', "name", "' '", "not blank"),
    ('name = "small"', "name = 3", "name", "3", "a text"),
    ("[mat]", "[matt]", "matt", "an unknown key", "the key mat,"),
    ("[mat]\n", "[mat]\nfriction = -1\n", "mat.friction", "-1", "from 0 to 10"),
    ("[[stages]]", "[stages]", "stages", "a table", "[[ ]]"),
    ('duty = "flood"', 'duty = "flod"', "stages[0].duty", "flod", '"flood", "rinse"'),
    (SIZE, 'catalogue = "us_12oz"', "sizes[0].catalogue", "us_12oz", "us_12oz_std"),
    (SIZE, "", "sizes[0].diameter", "nothing", "an id under the key catalogue"),
    (SIZE, SIZE + "\ngauges = { bse = 1 }", "sizes[0].gauges.bse", "an unknown key", "base,"),
    (SIZE, "diameter = 66", "sizes[0].height", "nothing", "an id under the key catalogue"),
    (SIZE, SIZE + "\ncg_height = 124", "sizes[0].cg_height", "124", "from"),
    (SIZE, SIZE + '\nmetal = "tin"', "sizes[0].metal", "tin", '"aluminium", "steel"'),
    (SIZE, SPECK, "sizes[0].diameter", "0.1 mm", "at most 2000000 cans on the mat"),
    (SIZE, TWICE, "sizes[1].name", "body", "not used before"),
    ("count = 10", "count = 10\ncuont = 10", H0 + ".cuont", "an unknown key", "the key count,"),
    ("count = 10", "count = 2001", H0 + ".count", "2001", "from 1 to 2000"),
    ("count = 10", 'count = "10"', H0 + ".count", "10", "a whole number"),
    ('pressure = "2 bar"', 'pressure = "2 mm"', H0 + ".pressure", "2 mm", "a pressure"),
    ('pressure = "2 bar"', 'pressure = "-2 bar"', H0 + ".pressure", "-2 bar", "from 0"),
    ('start = "1 m"', 'start = "3.1 m"', H0 + ".from_stage_start", "3.1 m", "0 to 3000 mm"),
    ('"2 1/s"', '"30 rpm"', "stages[0].kicks.kicks_per_second", "30 rpm", "a rate"),
    ('energy = "0.05 mJ"', "enrgy = 1", "stages[0].kicks.enrgy", "an unknown key", "energy,"),
    ('energy = "0.05 mJ"', "energy = -1", "stages[0].kicks.energy", "-1", "from 0"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "key", "got", "allowed"), CASES)
def test_one_complaint(small: str, old: str, new: str, key: str, got: str, allowed: str) -> None:
    assert small.count(old) >= 1
    with pytest.raises(InputError) as caught:
        parse_scenario(small.replace(old, new, 1), file="line.toml")
    problem = caught.value
    assert (problem.file, problem.key) == ("line.toml", key)
    assert str(problem.got).startswith(got)
    assert allowed in problem.allowed
    assert all(line.startswith("line.toml") for line in str(problem).splitlines())
    assert len(str(problem).splitlines()) == len(problem.each)
    assert problem.__cause__ is None


def test_all_are_said_at_once_in_the_order_of_the_file(small: str) -> None:
    text = small.replace("2 bar", "2 mm").replace("60 deg", "60 mm")
    with pytest.raises(InputError) as caught:
        parse_scenario(text, "line.toml")
    lines = str(caught.value).splitlines()
    assert len(lines) == len(caught.value.each) == 4
    keys = ("temperature", "pressure", "angle", "rated_pressure")
    found = [text[: text.index(f"\n{key} =")].count("\n") + 2 for key in keys]
    assert [line.split(", column")[0] for line in lines] == [
        f"line.toml, line {place}" for place in found
    ]


def test_what_makes_no_sense_is_said_at_once_too(small: str) -> None:
    text = small.replace("588 mm", "702 mm").replace('"1 m"', '"4 m"')
    text = text.replace('name = "small"', 'name = "small"\nguides_set_for = "x"')
    with pytest.raises(InputError) as caught:
        parse_scenario(text)
    assert {one.key for one in caught.value.each} == {
        "guides_set_for",
        "stages[0].clear_width",
        "stages[0].headers[0].from_stage_start",
    }
    assert all(one.place for one in caught.value.each)


def test_no_file_gets_more_complaints_than_can_be_read(small: str) -> None:
    text = small + "".join(f"x{i} = 1\n" for i in range(500))
    with pytest.raises(InputError, match="450 more such places"):
        parse_scenario(text)


@pytest.mark.parametrize(
    ("text", "key", "got"),
    [
        ("", "", "an empty file"),
        (" \n\t\n", "", "an empty file"),
        ("schema = 2\nname = \n", "line 2, column 8", "name ="),
        ("schema = 2\nschema = 2\n", "line 2, column 11", "schema = 2"),
        ("a = " + "[" * 5000, "", "lists nested very deep"),
        ("a = " + "{a=" * 5000, "", "lists nested very deep"),
        ("a" + ".a" * 5000 + " = 1", "line 1", "a line of 10005 characters"),
        ("#" * 150_000, "line 1", "a line of 150000 characters"),
        ("a = " + "9" * 5000, "", "Exceeds the limit"),
        ("#\n" * MAX_BYTES, "", f"{2 * MAX_BYTES} characters"),
    ],
)
def test_text_that_is_no_scenario(text: str, key: str, got: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_scenario(text, file="line.toml")
    assert (caught.value.file, caught.value.key) == ("line.toml", key)
    assert str(caught.value.got).startswith(got)


def test_a_key_of_many_parts_that_is_let_through_is_still_refused() -> None:
    with pytest.raises(InputError):
        parse_scenario("mat" + ".a" * 1900 + " = 1")


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    large, latin, pipe = (tmp_path / name for name in ("large.toml", "latin.toml", "pipe"))
    large.write_bytes(b"#" * (MAX_BYTES + 1))
    latin.write_bytes('name = "Füllung"'.encode("latin-1"))
    os.mkfifo(pipe)
    for path, got in (
        (tmp_path, "a folder"),
        (tmp_path / "none.toml", "no file of this name"),
        (tmp_path / "a\0b", "no file of this name"),
        (tmp_path / ("x" * 5000), ""),
        (pipe, "a device or a pipe"),
        (large, f"more than {MAX_BYTES} bytes"),
        (latin, "byte 0xfc at place 9"),
    ):
        with pytest.raises(InputError) as caught:
            load_scenario(path)
        assert str(caught.value.got).startswith(got)
        assert caught.value.file
        assert str(caught.value).isprintable()


def test_a_file_nobody_may_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "locked.toml"
    path.write_text("schema = 2")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(InputError, match=r"locked\.toml: got Permission denied; needs a file"):
        load_scenario(path)


def test_a_byte_order_mark_and_windows_line_ends_are_harmless(tmp_path: Path, small: str) -> None:
    path = tmp_path / "line.toml"
    path.write_bytes(b"\xef\xbb\xbf" + small.replace("\n", "\r\n").encode())
    assert load_scenario(path) == parse_scenario(small)


@pytest.mark.parametrize(
    ("line", "hint"),
    [
        ("cans = 1,400,000", "no comma"),
        ("width = 54,5", "no comma"),
        ("width = 54 in", "stands in quotes"),
        ("name = Ridge", "stands in quotes"),
        ('width = "2 1/8""', '"2 1/8 in"'),
    ],
)
def test_what_is_no_toml_is_shown_with_what_to_write_instead(line: str, hint: str) -> None:
    with pytest.raises(InputError) as caught:
        read_toml(f"schema = 2\n{line}\n", "line.toml")
    said = str(caught.value)
    assert said.startswith("line.toml: line 2, column ")
    assert f"got {line}; needs TOML (" in said
    assert hint in said
    with pytest.raises(InputError, match=r"got a = 2; needs TOML \(cannot overwrite a value\)$"):
        read_toml("a = 1\na = 2\n", "line.toml")
