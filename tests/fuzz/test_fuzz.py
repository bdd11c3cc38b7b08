"""Cases thrown at the commands: a hundred here, ten thousand by ``python -m tests.fuzz``.

Below that what was found, each pinned by itself.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import numpy as np
import pytest

from packsim.errors import InputError
from packsim.findings.finding import quoted
from packsim.passage.store import load_record, save_record
from packsim.scenario.values.quantities import split_quantity
from tests.fuzz import other_files
from tests.fuzz.case import SCENARIOS
from tests.fuzz.kinds import KINDS
from tests.fuzz.pool import ended_cases

CASES = 100
LINE = SCENARIOS / "first_look.toml"


@pytest.mark.all
@pytest.mark.skipif(os.name != "posix", reason="the limits are those of POSIX")
def test_a_hundred_cases_end_as_they_should() -> None:
    ends = list(ended_cases(211, range(CASES), workers=1))
    assert [end["number"] for end in ends] == list(range(CASES))
    assert {end["kind"] for end in ends} == set(KINDS)
    assert [end for end in ends if end["wrong"]] == []


def said(*words: object, answers: str = "") -> tuple[int, str, str]:
    child = pytest.importorskip("tests.fuzz.child", reason="the limits are those of POSIX")
    return child.run(tuple(map(str, words)), answers)  # type: ignore[no-any-return]


def test_a_refusal_is_short_and_harmless() -> None:
    long = str(InputError("k" * 9000, "v" * 9000, "n" * 9000, "f" * 9000))
    assert len(long) < 3000
    assert str(InputError("a\tb", "\x1b[31m", "c\n", "d\x1b")).isprintable()
    assert "thousands of digits" in str(InputError("count", 10**5000, "at most 5"))


def test_an_unknown_can_is_named_beside_all_else(tmp_path: Path) -> None:
    text = LINE.read_text(encoding="utf-8").replace('width = "700 mm"', 'width = "7 bar"')
    (tmp_path / "bad.toml").write_text(
        text.replace('"us_12oz_std"', '"no such can"'), encoding="utf-8"
    )
    code, _, err = said("packsim", "study", tmp_path / "bad.toml")
    assert code == 2
    assert [": mat.width: got" in err, ": sizes[0].catalogue: got" in err] == [True, True]


@pytest.mark.parametrize("text", ["1/0 mm", "5 1/0 mm", "5 1/000 mm"])
def test_nothing_is_divided_by_nothing(text: str) -> None:
    assert split_quantity(text) is None
    assert split_quantity(text.replace("/0", "/08")) is not None


SHEET = "key,place,in_file,unit,reading_1,reading_2,plus_minus\n"


@pytest.mark.parametrize(
    ("row", "where"),
    [
        ("stages[0].clear_width,wash,588 mm,mm,588,588,1/0 mm", "column G (plus_minus)"),
        ("[b],,,,5 mm,,", "column A (key): got [b]; needs a key"),
        (f"stages[{'9' * 5000}].length,,,,5 m,,", "column A (key)"),
    ],
)
def test_a_sheet_of_readings(row: str, where: str, tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text(SHEET + row + "\n", encoding="utf-8")
    out = tmp_path / "new.toml"
    code, _, err = said("packsim", "measured", LINE, tmp_path / "r.csv", "-o", out)
    assert (code, where in err, out.exists()) == (2, True, False)


@pytest.mark.parametrize(
    "rows", ["\n" * 400_000, "x,,,y,z,a,b,c\n" * 3000, "x" + ",y" * 90_000, "x,5 mm\n" * 9000]
)
def test_a_sheet_of_far_too_much_is_refused_in_few_words(rows: str, tmp_path: Path) -> None:
    (tmp_path / "r.csv").write_text("key,reading_1,reading_2\n" + rows, encoding="utf-8")
    code, _, err = said("packsim", "measured", LINE, tmp_path / "r.csv", "-o", tmp_path / "a.toml")
    assert (code, err.count("\n") < 1010) == (2, True)


def test_an_option_of_thousands_of_digits_is_refused_in_few_words() -> None:
    for words in (("study", LINE, "--units"), ("run", LINE, "--cans"), ("study", LINE), ()):
        code, _, err = said("packsim", *words, "9" * 5000)
        assert (code, len(err) < 600) == (2, True), words


def test_a_name_does_nothing_to_the_terminal_and_the_shell(tmp_path: Path) -> None:
    file = tmp_path / "line\x1b[31m.toml"
    file.write_bytes(LINE.read_bytes())
    for words in (("study", file), ("doubt", file), ("report", file, "-o", tmp_path / "\x1b.html")):
        code, out, err = said("packsim", *words)
        assert (code, "\x1b" in out + err) == (0, False), words
    assert [quoted("wash"), quoted("DI rinse")] == ["wash", '"DI rinse"']
    assert quoted("$(rm x)`y`") == "'$(rm x)`y`'"


@pytest.mark.parametrize(
    ("name", "spoil"),
    [
        ("head", lambda was: np.frombuffer(b"[" * 9000, np.uint8)),
        ("head", lambda was: _head(was, seed=1.5)),
        ("head", lambda was: _head(was, time_s=float("nan"))),
        ("head", lambda was: _head(was, slice_mm=1e300)),
        ("left_mm", lambda was: was.astype(complex)),
        ("left_mm", lambda was: was[:0]),
        ("left_mm", lambda was: was + 588.0),
        ("right_mm", lambda was: was * np.nan),
        ("station_mm", lambda was: -was),
        ("tipped", lambda was: was * 0.5),
        ("kicks", lambda was: -was),
        ("frame_x_mm", lambda was: was * np.inf),
        ("frame_role", lambda was: was + 200),
        ("frame_times", lambda was: was * np.nan),
        ("profile_station_mm", lambda was: np.zeros(3)),
    ],
)
def test_a_record_that_cannot_be(name: str, spoil, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    save_record(other_files.made_up_record(), tmp_path / "r.npz")
    load_record(tmp_path / "r.npz")
    with np.load(tmp_path / "r.npz") as file:
        arrays = {each: file[each] for each in file.files}
    arrays[name] = spoil(arrays.get(name))
    np.savez_compressed(tmp_path / "bad.npz", **arrays)
    with pytest.raises(InputError, match=r"bad\.npz"):
        load_record(tmp_path / "bad.npz")


def _head(was: np.ndarray, **changes: object) -> np.ndarray:
    head = json.loads(was.tobytes()) | changes
    return np.frombuffer(json.dumps(head).encode(), np.uint8)


@pytest.mark.parametrize("shape", ["(10000000000000,)", "(-1,)"])
def test_a_record_that_asks_for_all_memory(shape: str, tmp_path: Path) -> None:
    (tmp_path / "bad.npz").write_bytes(other_files.npz_of_shape(shape))
    with pytest.raises(InputError, match=r"bad\.npz"):
        load_record(tmp_path / "bad.npz")
