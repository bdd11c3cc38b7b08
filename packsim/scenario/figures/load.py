"""A file of figures in, `Figures` out; all that is wrong with it is one error."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated

from packsim.errors import InputError, InputErrors
from packsim.line import Scenario
from packsim.line.input_range import InputRange
from packsim.money.figures import Figures, SizeFigures
from packsim.scenario.complaints import written
from packsim.scenario.figures.amount import Amount
from packsim.scenario.keys import Ledger, Table, key, must
from packsim.scenario.load import checked_tables
from packsim.scenario.places import TomlPlaces, placed
from packsim.scenario.renew import SCHEMA
from packsim.scenario.tables import MAX_SIZES, count_key
from packsim.scenario.text_files import current, read_text, shown
from packsim.scenario.values import fields as f
from packsim.scenario.values.quantities import Kind

Money = Annotated[
    InputRange,
    Amount(Kind("an amount without its currency", "", 0.0, 1e12, '18000 or "18000 ± 10 %"')),
]
Number = Annotated[InputRange, Amount(Kind("a number", "", 0.0, 1e6, '40 or "30 to 50"'))]
Cans = Annotated[
    InputRange,
    Amount(Kind("a number of cans", "", 0.0, 1e12, '"400 million ± 10 %"', above=True)),
]
Minutes = Annotated[
    InputRange, Amount(Kind("a time", "min", 0.0, 1e5, '"4 min" or "4 min ± 1 min"'))
]
Years = Annotated[InputRange, Amount(Kind("a number of years", "", 1.0, 50.0, "5"))]
Share = Annotated[InputRange, Amount(Kind("a share", "", 0.0, 1.0, '"8 %" or "8 % ± 2 %"'))]


class SizeRow(Table):
    """What is known of one can size."""

    size: f.Name = must("Can size, as in the scenario.", example="211 body")
    cans_a_year: Cans = must("Cans of it that pass in a year.", example="400 million ± 10 %")
    cans_counted: int | None = count_key("Cans passed while those that were down were counted.")
    cans_down: int | None = count_key(
        "Of these the cans down at the stages of the scenario, whatever made them fall."
    )
    tipped_share: Share | None = key(
        "Which share of these had tipped, as far as anybody looked; others were dented or lay down "
        "before. Where left out, what the model says is taken to hold for all of them.",
        example="50 to 70 %",
    )


class FiguresFile(Table):
    """Your own figures: what a can, an hour and the change cost. None of them is ever assumed."""

    schema_: int = must(f"Layout of this file: {SCHEMA}.", alias="schema", example=SCHEMA)
    about: f.Text = key("Where the figures come from.", default="")
    currency: f.Name = must("What amounts are in, in your own words.", example="EUR")
    can_value: Money | None = key("Value of a can that is lost.", example="0.06 ± 0.01")
    cleaning: Money | None = key("Cleaning up after a can that is down.", example="0.5 to 1")
    metal: Money | None = key(
        "Metal of a can that is lost less what scrap pays, where the value of a can leaves it out.",
        example=0.01,
    )
    jam_minutes: Minutes | None = key(
        "How long the line stands for a can that is down, the mean of all of them. A plain number "
        "is in minutes.",
        example="0.05 min",
    )
    size_changes_a_year: Number | None = key("Size changes in a year.", example=40)
    minutes_a_bracket: Minutes | None = key(
        "How long the line stands at a size change for one bracket, both sides.", example="4 min"
    )
    minutes_a_bracket_after: Minutes | None = key(
        "The same once the machine is changed; as before where left out.", example="1 min"
    )
    line_hour: Money | None = key(
        "What the line would have earned in an hour in which it stands.", example="900 ± 200"
    )
    crew_hour: Money | None = key(
        "What the crew costs in an hour in which the line stands, all of it together.", example=120
    )
    price_of_change: Money | None = key(
        "Price of the change: parts, work and the time the line stands for it.",
        example="18000 ± 10 %",
    )
    years: Years | None = key("How many years the change is to serve.", example="4 to 6")
    discount_rate: Share | None = key("What money costs in a year.", example="8 %")
    sizes: list[SizeRow] = must("One table for each can size.", min_length=1, max_length=MAX_SIZES)


def load_figures(path: str | Path, scenario: Scenario) -> Figures:
    """Read a file of figures.

    Parameters
    ----------
    path : str or Path
        A TOML file in the layout of shared/figures.schema.json.
    scenario : Scenario
        The line they are of.

    Returns
    -------
    Figures
        Where the file has no counts of a size, those of the scenario's history are taken that are
        of the whole line as it is now.

    Raises
    ------
    InputError
        Naming the file, the key, what was there and what is allowed.
    """
    place = Path(path)
    text, data = current(read_text(place, "a file of figures"), shown(place), "figures")
    try:
        return _built(checked_tables(data, FiguresFile), scenario)
    except InputError as problem:
        raise placed(problem, shown(place), data, TomlPlaces(text).of) from None


def _built(tables: FiguresFile, scenario: Scenario) -> Figures:
    ledger, sizes = Ledger(), []
    for i, row in enumerate(tables.sizes):
        with ledger.complaining():
            sizes.append(_size(row, f"sizes[{i}]", scenario))
            if any(row.size == other.size for other in tables.sizes[:i]):
                raise InputError(f"sizes[{i}].size", written(row.size), "each size once")
    if ledger.complaints:
        raise InputErrors(ledger.complaints)
    given = {name: replace(one, key=name) for name, one in tables if isinstance(one, InputRange)}
    return Figures(tables.currency, tuple(sizes), given)


def _size(row: SizeRow, here: str, scenario: Scenario) -> SizeFigures:
    names = [can.name for can in scenario.sizes]
    if row.size not in names:
        raise InputError(f"{here}.size", written(row.size), f"one of {', '.join(names)}")
    counted, down = row.cans_counted, row.cans_down
    if counted is None and down is None:
        past = [one for one in scenario.history if one.size == row.size and one.as_now]
        counted, down = sum(one.cans for one in past), sum(one.tipped for one in past)
    if counted is None or down is None:
        lacks = "cans_down" if down is None else "cans_counted"
        allowed = "both cans_counted and cans_down, or neither"
        raise InputError(f"{here}.{lacks}", "nothing", allowed)
    try:
        return SizeFigures(
            size=row.size,
            cans_a_year=replace(row.cans_a_year, key="cans_a_year"),
            cans_counted=counted,
            cans_down=down,
            tipped_share=row.tipped_share and replace(row.tipped_share, key="tipped_share"),
        )
    except InputError as problem:
        raise problem.under(here) from None
