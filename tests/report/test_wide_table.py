"""A wide table on a narrow terminal loses no digit."""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console

from packsim.report.terminal.parts import WideTable


def shown(table: WideTable, width: int) -> str:
    out = io.StringIO()
    Console(file=out, width=width, highlight=False).print(table)
    return out.getvalue()


def table() -> WideTable:
    made = WideTable("stage")
    for i in range(12):
        made.add_column(f"column\nno {i}")
    made.add_column("verdict", "left")
    made.add_row("pre-wash", *(f"{1000.5 + i}" for i in range(12)), "can tip")
    made.add_row("DI rinse [/b]", *(f"{2000.5 + i}" for i in range(12)), "held [old]")
    return made


@pytest.mark.parametrize("width", [30, 40, 79, 80, 100, 132, 300])
def test_every_cell_is_whole_and_no_line_too_long(width: int) -> None:
    text = shown(table(), width)
    assert "…" not in text
    assert all(len(line) <= width for line in text.splitlines())
    for i in range(12):
        assert text.count(f"{1000.5 + i}") == 1
        assert text.count(f"{2000.5 + i}") == 1
        assert f"no {i}" in text


def test_a_wide_terminal_gets_one_table_and_brackets_stay() -> None:
    text = shown(table(), 300)
    assert text.count("pre-wash") == 1
    assert "DI rinse [/b]" in text
    assert "held [old]" in text


def test_every_part_names_its_rows() -> None:
    text = shown(table(), 80)
    parts = text.count("stage")
    assert parts >= 2
    assert text.count("pre-wash") == parts


@given(
    width=st.integers(20, 160),
    cells=st.lists(st.text("0123456789.–°", min_size=1, max_size=9), min_size=1, max_size=15),
    name=st.text("abc -", min_size=1, max_size=60),
)
def test_cells_survive_any_width(width: int, cells: list[str], name: str) -> None:
    made = WideTable("stage")
    for i in range(len(cells)):
        made.add_column(str(i))
    made.add_row(name, *cells)
    text = shown(made, width)
    assert "…" not in text
    assert all(len(line) <= width for line in text.splitlines())
    words = text.split()
    assert all(cell in words for cell in cells)
