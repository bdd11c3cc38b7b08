"""Figures as a file has them: every way to write one, and all that is wrong with it at once."""

from __future__ import annotations

import tomllib
from pathlib import Path

import jsonschema
import pytest

from packsim.errors import InputError
from packsim.line import Scenario
from packsim.scenario import load_scenario
from packsim.scenario.figures import load_figures
from packsim.scenario.figures.load import FiguresFile
from tests.scenario_schema import schema_of

FOLDER = Path(__file__).parents[2] / "scenarios" / "proposal"
LEAST = 'schema = 2\ncurrency = "crowns"\n'
ONE = '[[sizes]]\nsize = "sleek body"\ncans_a_year = 1e8\n'


@pytest.fixture(scope="module")
def line() -> Scenario:
    return load_scenario(FOLDER / "today.toml")


def read(line: Scenario, folder: Path, text: str, sizes: str = ONE):
    file = folder / "figures.toml"
    file.write_text(LEAST + text + "\n" + sizes, encoding="utf-8")
    return load_figures(file, line)


@pytest.mark.parametrize(
    ("written", "value", "low", "high", "shape"),
    [
        ("18000", 18000.0, 18000.0, 18000.0, "even"),
        ('"18 000.5"', 18000.5, 18000.5, 18000.5, "even"),
        ('"18 thousand ± 10 %"', 18000.0, 16200.0, 19800.0, "normal"),
        ('"18000 ± 500"', 18000.0, 17500.0, 18500.0, "normal"),
        ('"1 to 3 million"', 2e6, 1e6, 3e6, "even"),
        ('"2 ± 1 million"', 2e6, 1e6, 3e6, "normal"),
        ('["1 thousand", 4000]', 2500.0, 1000.0, 4000.0, "even"),
        ("0", 0.0, 0.0, 0.0, "even"),
    ],
)
def test_an_amount(
    line: Scenario,
    tmp_path: Path,
    written: str,
    value: float,
    low: float,
    high: float,
    shape: str,
) -> None:
    found = read(line, tmp_path, f"price_of_change = {written}").given["price_of_change"]
    assert (found.key, found.shape) == ("price_of_change", shape)
    assert (found.value, found.low, found.high) == pytest.approx((value, low, high))


@pytest.mark.parametrize(
    ("written", "low", "high"),
    [
        ('minutes_a_bracket = "240 s ± 1 min"', 3.0, 5.0),
        ('minutes_a_bracket = "3 to 5 min"', 3.0, 5.0),
        ('minutes_a_bracket = "4 ± 1 min"', 3.0, 5.0),
        ('minutes_a_bracket = "4 min ± 25 %"', 3.0, 5.0),
        ('discount_rate = "8 % ± 2 %"', 0.06, 0.1),
        ('discount_rate = "6 to 10 %"', 0.06, 0.1),
    ],
)
def test_figures_with_units(
    line: Scenario, tmp_path: Path, written: str, low: float, high: float
) -> None:
    (found,) = read(line, tmp_path, written).given.values()
    assert (found.low, found.high) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("can_value = -1", "can_value: got -1; needs an amount without its currency from 0"),
        ('can_value = "5 EUR"', "can_value: got 5 EUR; needs an amount without its currency"),
        ('can_value = "0,05"', "can_value: got 0,05; needs an amount"),
        ('can_value = "1,250"', "can_value: got 1,250; needs an amount"),
        ('can_value = "2 ± 3"', "can_value: got 2 ± 3; needs an amount"),
        ('can_value = "3 to 2"', "can_value: got 3 to 2; needs an amount"),
        ('can_value = "1 ± 1 ± 1"', "can_value: got 1 ± 1 ± 1; needs an amount"),
        ("can_value = nan", "can_value: got nan; needs an amount"),
        ("can_value = true", "can_value: got true; needs an amount"),
        ("can_value = [1, 2, 3]", "can_value: got a list of 3; needs an amount"),
        ('jam_minutes = "4 bar"', "jam_minutes: got 4 bar; needs a time from 0 to 100000 min"),
        ('discount_rate = "180 %"', "discount_rate: got 180 %; needs a share from 0 to 1"),
        ("years = 0", "years: got 0; needs a number of years from 1 to 50"),
        ("wages = 3", "wages: got an unknown key; needs one of the keys schema, about, currency"),
    ],
)
def test_what_cannot_be_is_told_with_its_key(
    line: Scenario, tmp_path: Path, written: str, said: str
) -> None:
    with pytest.raises(InputError) as refused:
        read(line, tmp_path, written)
    assert str(refused.value).startswith(f"{tmp_path / 'figures.toml'}, line 3")
    assert said in str(refused.value)


def test_all_that_is_wrong_is_told_at_once(line: Scenario, tmp_path: Path) -> None:
    with pytest.raises(InputError) as refused:
        read(line, tmp_path, "can_value = -1\nyears = 0", "[[sizes]]\ncans_a_year = 0\n")
    keys = [one.key for one in refused.value.each]
    assert keys == ["can_value", "years", "sizes[0].size", "sizes[0].cans_a_year"]


@pytest.mark.parametrize(
    ("sizes", "said"),
    [
        (ONE.replace("sleek", "stout"), "sizes[0].size: got stout body; needs one of sleek body"),
        (ONE + ONE, "sizes[1].size: got sleek body; needs each size once"),
        (ONE + "cans_down = 3\n", "sizes[0].cans_counted: got nothing; needs both"),
        (ONE + "cans_counted = 2\ncans_down = 3\n", "sizes[0].cans_down: got 3; needs no more"),
    ],
)
def test_sizes_and_their_counts(line: Scenario, tmp_path: Path, sizes: str, said: str) -> None:
    with pytest.raises(InputError) as refused:
        read(line, tmp_path, "", sizes)
    assert said in str(refused.value)


def test_counts_come_from_the_history_where_the_figures_have_none(tmp_path: Path) -> None:
    text = (FOLDER / "today.toml").read_text(encoding="utf-8")
    count = '[[history]]\nsize = "sleek body"\ncans = 1000\ntipped = '
    file = tmp_path / "line.toml"
    file.write_text(f'{text}\n{count}2\n{count}3\n{count}900\nstage = "wash"\n', encoding="utf-8")
    (own,) = read(load_scenario(file), tmp_path, "").sizes
    assert (own.cans_counted, own.cans_down) == (2000, 5)
    (given,) = read(
        load_scenario(file), tmp_path, "", ONE + "cans_counted = 9\ncans_down = 1\n"
    ).sizes
    assert (given.cans_counted, given.cans_down) == (9, 1)


def test_a_file_that_is_not_there_or_no_toml(line: Scenario, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="needs a file of figures"):
        load_figures(tmp_path / "none.toml", line)
    with pytest.raises(InputError, match="needs TOML"):
        read(line, tmp_path, "can_value = = 3")
    file = tmp_path / "old.toml"
    file.write_text("schema = 7\n", encoding="utf-8")
    with pytest.raises(InputError, match="schema: got 7; needs the whole number 2"):
        load_figures(file, line)


def test_the_shipped_figures_agree_with_the_published_schema(line: Scenario) -> None:
    file = FOLDER / "figures.toml"
    data = tomllib.loads(file.read_text(encoding="utf-8"))
    jsonschema.validate(data, schema_of(FiguresFile))
    found = load_figures(file, line)
    assert found.missing == ("metal",)
    assert found.currency == "EUR"
