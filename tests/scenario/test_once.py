"""A file that says a thing once is the file that says it everywhere; it complains at its place."""

from __future__ import annotations

import re
import tracemalloc

import pytest

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.scenario import parse_scenario

HEAD = """\
schema = 2
name = "small"
mat = { width = "700 mm", speed = "6 m/min" }
sizes = [{ name = "body", catalogue = "us_12oz_std" }]
guides = { wire_heights = ["30 mm", "65 mm", "100 mm"] }
"""
NOZZLES = """\
first_nozzle = "92 mm"
pitch = "57.2 mm"
count = 10
pattern = "cone"
angle = "60 deg"
rated_flow = "2 L/min"
rated_pressure = "2 bar"
"""
STAGE = """
[[stages]]
name = "wash"
duty = "flood"
length = "3 m"
clear_width = "588 mm"
"""


def header(side: str, at: str, distance: str, pressure: str) -> str:
    return f"""
[[stages.headers]]
side = "{side}"
from_stage_start = "{at}"
nozzle_to_mat = "{distance}"
pressure = "{pressure}"
{NOZZLES}"""


PAIR = f"""
[header_patterns.strong]
side = "both"
nozzle_to_mat = "240 mm"
pressure = "2 bar"
{NOZZLES}
[header_patterns.strong.below]
nozzle_to_mat = "150 mm"
pressure = "1.5 bar"
"""
LONG = (
    HEAD
    + STAGE
    + header("above", "1 m", "240 mm", "2 bar")
    + header("below", "1 m", "150 mm", "1.5 bar")
    + header("above", "2 m", "240 mm", "2 bar")
    + header("below", "2 m", "150 mm", "1.5 bar")
)
SHORT = HEAD + PAIR + STAGE + 'headers = [{ like = "strong", from_stage_start = ["1 m", "2 m"] }]\n'


def refused(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        parse_scenario(text, "line.toml")
    return [str(one) for one in caught.value.each]


def line_of(text: str, start: str) -> int:
    return next(i for i, line in enumerate(text.splitlines(), 1) if line.startswith(start))


def without_name(line: Scenario, index: int) -> str:
    return re.sub(r"name='[^']*'", "", repr(line.stages[index]))


def test_a_pattern_for_pairs_at_a_list_of_stations_is_each_header_written_out() -> None:
    assert parse_scenario(SHORT) == parse_scenario(LONG)


def test_what_a_header_says_itself_goes_before_its_pattern_and_below_before_both() -> None:
    own = SHORT.replace('{ like = "strong",', '{ like = "strong", pressure = "1 bar",')
    line = parse_scenario(own)
    assert [h.pressure_MPa for h in line.stages[0].headers] == pytest.approx([0.1, 0.15] * 2)


@pytest.mark.parametrize("side", ["above", "below"])
def test_one_side_of_a_pair_is_taken_by_naming_it(side: str) -> None:
    one = SHORT.replace('{ like = "strong",', f'{{ like = "strong", side = "{side}",')
    every = parse_scenario(LONG).stages[0].headers
    found = parse_scenario(one).stages[0].headers
    assert found == tuple(header for header in every if header.side == side)


def test_a_nozzle_of_another_kind_has_nothing_of_the_first_one_alone() -> None:
    fan = 'pattern = "fan"\nfan_turn = "15 deg"\n'
    text = SHORT.replace('pattern = "cone"\n', fan, 1)
    text = text.replace("below]\n", 'below]\npattern = "cone"\n')
    above, below, *_ = parse_scenario(text).stages[0].headers
    assert above.nozzle.twist_rad > 0.0 == below.nozzle.twist_rad


def test_the_header_below_may_stand_elsewhere() -> None:
    shifted = SHORT.replace('"2 m"] }', '"2 m"], below = { from_stage_start = "1.5 m" } }')
    found = parse_scenario(shifted).stages[0].headers
    assert [(h.side, h.station_mm) for h in found] == [
        ("above", 1000.0),
        ("below", 1500.0),
        ("above", 2000.0),
    ]


def test_a_pattern_like_an_earlier_one_says_only_what_differs() -> None:
    second = '[header_patterns.weak]\nlike = "strong"\npressure = "1 bar"\n'
    weak = SHORT.replace(STAGE, second + STAGE).replace('[{ like = "strong"', '[{ like = "weak"')
    found = parse_scenario(weak).stages[0].headers
    assert [h.pressure_MPa for h in found[:2]] == pytest.approx([0.1, 0.15])


def test_a_stage_like_another_differs_in_its_name_alone() -> None:
    line = parse_scenario(SHORT + '\n[[stages]]\nname = "second"\nlike = "wash"\n')
    assert without_name(line, 1) == without_name(line, 0)
    assert line.stages[1].name == "second"


def test_a_stage_like_another_changes_what_it_says_itself_and_no_more() -> None:
    more = 'headers = []\nkicks = { energy = "0.07 mJ" }\nguides = { tension = "700 N" }\n'
    first = STAGE + 'kicks = { energy = "0.05 mJ", kicks_per_second = "3 1/s" }\n'
    line = parse_scenario(HEAD + first + f'\n[[stages]]\nname = "second"\nlike = "wash"\n{more}')
    one, two = line.stages
    assert (two.kicks.energy_mJ, two.kicks.rate_per_s) == (0.07, 3.0)
    assert (one.guides.wires.tension_N, two.guides.wires.tension_N) == (600.0, 700.0)
    assert two.headers == ()
    assert two.guides.brackets == one.guides.brackets


def test_listed_brackets_and_one_width_stand_instead_of_each_other() -> None:
    listed = 'brackets = [{ from_stage_start = "0 m", left = "56 mm", right = "640 mm" }]\n'
    second = '\n[[stages]]\nname = "second"\nlike = "wash"\n'
    own = parse_scenario(HEAD + STAGE + second + listed)
    assert [b.right_mm for b in own.stages[1].guides.brackets] == [640.0]
    back = STAGE.replace('clear_width = "588 mm"\n', listed)
    again = parse_scenario(HEAD + back + second + 'clear_width = "590 mm"\n')
    assert again.stages[1].guides.narrowest_mm == 590.0


def test_an_energy_of_its_own_is_not_the_trial_of_another_stage() -> None:
    first = STAGE + 'kicks = { energy = "0.05 mJ", trial = "week 12" }\n'
    second = '\n[[stages]]\nname = "second"\nlike = "wash"\n'
    line = parse_scenario(HEAD + first + second + 'kicks.energy = "0.07 mJ"\n')
    assert [stage.kicks.trial for stage in line.stages] == ["week 12", ""]
    assert "stages[1].kicks.energy" in [entry.key for entry in line.assumed]


def test_what_every_stage_has_is_the_last_to_be_asked() -> None:
    shared = '[every_stage]\npack_fill = 0.9\nclear_width = "588 mm"\nkicks.energy = "0.07 mJ"\n'
    bare = STAGE.replace('clear_width = "588 mm"\n', "")
    more = '\n[[stages]]\nname = "b"\nlike = "wash"\npack_fill = 0.8\n'
    last = '\n[[stages]]\nname = "c"\nlike = "b"\n'
    line = parse_scenario(HEAD + shared + bare + more + last)
    assert [stage.fill for stage in line.stages] == [0.9, 0.8, 0.8]
    assert {stage.kicks.energy_mJ for stage in line.stages} == {0.07}


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"2 bar"\nfirst', '"2 mm"\nfirst', "header_patterns.strong.pressure: got 2 mm"),
        ('pressure = "1.5 bar"', 'presure = "1 bar"', "header_patterns.strong.below.presure: got"),
        ('"2 m"]', '"4 m"]', "stages[0].headers[0].from_stage_start[1]: got 4 m"),
        ('"2 m"]', "[3]]", "stages[0].headers[0].from_stage_start[1]: got a list of 1"),
        ('["1 m", "2 m"]', "[]", "stages[0].headers[0].from_stage_start: got a list of 0"),
        ('{ like = "strong"', '{ like = "stong"', "stages[0].headers[0].like: got stong; needs"),
        ('side = "both"\n', 'side = "above"\n', "header_patterns.strong.below: got a table"),
        ('side = "both"\n', "", "stages[0].headers[0].side: got nothing"),
        ("below]\n", 'below]\nside = "above"\n', "header_patterns.strong.below.side: got an unk"),
        ('name = "wash"', 'name = "wash"\nlike = "wash"', "stages[0].like: got wash; needs"),
        ("side = ", 'like = "strong"\nside = ', "header_patterns.strong.like: got strong; needs"),
    ],
)
def test_a_complaint_names_the_place_of_the_file_once(old: str, new: str, said: str) -> None:
    assert old in SHORT
    text = SHORT.replace(old, new, 1)
    found = refused(text + '\n[[stages]]\nname = "second"\nlike = "wash"\n')
    assert len([one for one in found if said in one]) == 1, found
    assert all(one.startswith("line.toml, line ") for one in found)
    assert all("parts" not in one for one in found)


def test_it_names_the_line_and_says_which_stage_it_does_not_fit() -> None:
    text = SHORT + '\n[[stages]]\nname = "second"\nlike = "wash"\nlength = "1.5 m"\n'
    (said,) = refused(text)
    assert f"line {line_of(text, 'headers')}, column" in said
    assert "stages[0].headers[0].from_stage_start[1]: got 2 m" in said
    assert said.endswith('0 to 1500 mm, in stage "second", which is like "wash"')


def test_what_nobody_uses_is_looked_at_too() -> None:
    text = SHORT.replace(
        STAGE, "[header_patterns.other]\npitchh = 3\n[every_stage]\nfil = 1\n" + STAGE
    )
    found = refused(text)
    assert [one.partition(": got")[0].rpartition(": ")[2] for one in found] == [
        "header_patterns.other.pitchh",
        "every_stage.fil",
    ]


@pytest.mark.parametrize("key", ["name", "like", "guides", "brackets", "headers", "settings"])
def test_every_stage_cannot_say_what_is_a_stages_own(key: str) -> None:
    found = refused(HEAD + f"[every_stage]\n{key} = 1\n" + STAGE)
    assert [f"every_stage.{key}: got" in one for one in found] == [True]


@pytest.mark.parametrize(
    "part", ["every_stage = 3", "header_patterns = 3", "header_patterns.a = 3"]
)
def test_what_is_no_table_is_refused(part: str) -> None:
    assert all("needs a table" in one for one in refused(f"{part}\n{HEAD}{STAGE}"))


def test_a_stage_cannot_be_like_a_later_one_nor_two_like_each_other() -> None:
    stages = STAGE.replace("duty", 'like = "second"\nduty')
    found = refused(HEAD + stages + '\n[[stages]]\nname = "second"\nlike = "wash"\n')
    assert len(found) == 1
    assert "stages[0].like: got second; needs the name of a stage before this one" in found[0]


def test_more_headers_than_any_line_has_are_refused_before_they_are_built() -> None:
    rows = "headers = [{ from_stage_start = [" + "1," * 4000 + "] }]\n"
    stages = "".join(f'\n[[stages]]\nname = "{n}"\nlike = "wash"\n' for n in range(150))
    (said,) = refused(HEAD + STAGE + rows + stages)
    assert "at most 5000 on the line" in said


@pytest.mark.parametrize(
    ("more", "key", "got", "most"),
    [
        pytest.param(
            STAGE.replace('[[stages]]\nname = "wash"', "[every_stage]") + "[[stages]]\n" * 20_000,
            "stages",
            "a list of 20001",
            600,
            marks=pytest.mark.all,
        ),
        pytest.param(
            "".join(f"[header_patterns.p{i}]\nlike = 'p{i + 1}'\n" for i in range(6000)),
            "header_patterns",
            "6000 tables",
            3000,
        ),
        (
            "".join(f"[header_patterns.p{i}]\nlike = 'p{i + 1}'\n" for i in range(4000)),
            "header_patterns.p0.like",
            "p1",
            3000,
        ),
    ],
)
def test_a_file_of_far_too_much_takes_little_memory(
    more: str, key: str, got: str, most: float
) -> None:
    """Not the tables of the file take it, of half a kilobyte each, but copies and complaints."""
    text = HEAD + STAGE + more
    tables = text.count("\n[")
    tracemalloc.start()
    try:
        with pytest.raises(InputError) as caught:
            parse_scenario(text)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert (key, got) in [(one.key, one.got) for one in caught.value.each]
    assert peak < most * tables, f"{peak / tables:.0f} bytes for each table"
