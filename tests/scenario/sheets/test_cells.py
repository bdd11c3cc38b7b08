"""The same sheet in every way a spreadsheet saves it; cells named as the spreadsheet names them."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from packsim.errors import InputError
from packsim.scenario.sheets.cells import read_sheet, sheet_text

COLUMNS = ("key", "place", "unit", "remarks")
ROWS = [
    ["# made for a line", "", "", ""],
    ["key", "place", "unit", "reading_1"],
    ["", "", "", ""],
    ["sizes[0].diameter", 'körper, "211"', "mm", "66,09 ± 0,05"],
    ["mat.speed", "", "m/min", "6"],
]


def saved(rows: list[list[str]], divider: str) -> str:
    stream = io.StringIO(newline="")
    csv.writer(stream, delimiter=divider).writerows(rows)
    return stream.getvalue()


@pytest.mark.parametrize("divider", [",", ";", "\t"])
@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]
)
@pytest.mark.parametrize("extra", [0, 3])
def test_a_sheet_reads_alike_however_it_was_saved(
    tmp_path: Path, divider: str, encoding: str, extra: int
) -> None:
    rows = [row + [""] * extra for row in ROWS] + [[""] * (4 + extra)] * extra
    place = tmp_path / "sheet.csv"
    place.write_bytes(saved(rows, divider).encode(encoding))
    sheet = read_sheet(sheet_text(place, "a sheet"), "readings", COLUMNS, counted="reading")
    assert [(row.number, row.cells) for row in sheet.rows] == [
        (4, dict(zip(ROWS[1], ROWS[3], strict=True))),
        (5, {"key": "mat.speed", "unit": "m/min", "reading_1": "6"}),
    ]
    assert sheet.notes == ["made for a line"]
    assert sheet.divider == divider
    assert sheet.rows[0].where("reading_1") == "row 4, column D (reading_1)"


def test_what_else_spreadsheets_do_is_read() -> None:
    text = 'sep=;\r\nKey;Clear Place;reading 1\r\n="mat.speed";"two\r\nlines"; 6\u00a0\r\n'
    sheet = read_sheet(text, "readings", ("key", "clear_place"), counted="reading")
    (row,) = sheet.rows
    assert row.cells == {"key": "mat.speed", "clear_place": "two\r\nlines", "reading_1": "6"}
    assert row.number == 3


def test_all_that_is_wrong_with_a_header_is_said_at_once() -> None:
    with pytest.raises(InputError) as caught:
        read_sheet("kye,place,place\n", "readings", COLUMNS, ("key",))
    said = str(caught.value).splitlines()
    assert "row 1, column A: got an unknown column kye; needs the column key" in said[0]
    assert "row 1, column C: got place twice" in said[1]
    assert "row 1: got no column key" in said[2]


def test_values_beyond_the_header_are_named_by_their_cell() -> None:
    text = ",".join(["key", *(f"reading_{i}" for i in range(30))]) + "\n"
    text += "mat.speed" + "," * 30 + "6,7\n"
    sheet = read_sheet(text, "readings", COLUMNS, counted="reading")
    assert sheet.rows[0].where("reading_29") == "row 2, column AE (reading_29)"
    (one,) = sheet.complaints
    assert (one.key, one.got) == ("row 2, column AF", "7")


def test_commas_saved_by_a_spreadsheet_of_semicolons_are_refused_with_the_way_out() -> None:
    for text in (
        '"key,place,unit";;;\nmat.speed,,;6,5;\n',
        "# note;;\nkey,place;;\nmat.speed,;6,5;\n",
    ):
        with pytest.raises(InputError, match="Import it as text divided by commas"):
            read_sheet(text, "readings", COLUMNS)


def test_names_of_a_sheet_that_was_opened_in_the_wrong_encoding_are_read_as_they_were() -> None:
    for name in (
        "W\u00e4sche",
        "sp\u00fclen \u00b1",
        "Nettoyage \u00e0 l'eau",
        "\u017b\u00f3\u0142ty",
    ):
        garbled = name.encode("utf-8").decode("cp1252")
        for place in (name, garbled):
            (row,) = read_sheet(f"key,place\nmat.speed,{place}\n", "readings", COLUMNS).rows
            assert row.cells["place"] == name


def test_a_workbook_is_no_sheet(tmp_path: Path) -> None:
    place = tmp_path / "sheet.csv"
    place.write_bytes(b"PK\x03\x04rest")
    with pytest.raises(InputError, match="got a workbook; needs a sheet saved as CSV"):
        sheet_text(place, "a sheet")


@given(rows=st.lists(st.lists(st.text(max_size=8), min_size=2, max_size=2), max_size=5))
def test_any_cells_come_back_as_they_were(rows: list[list[str]]) -> None:
    kept = [[cell.strip(" \t\r\n\u00a0\u202f\ufeff") for cell in row] for row in rows]
    text = saved([["key", "place"], *rows], ",")
    if any(row[0].startswith(("#", '="')) or row[1].startswith('="') for row in kept):
        return
    found = read_sheet(text, "readings", COLUMNS).rows
    assert [[row.cells.get("key", ""), row.cells.get("place", "")] for row in found] == [
        row for row in kept if any(row)
    ]


@given(raw=st.binary(max_size=200))
def test_no_bytes_do_more_than_be_refused(
    tmp_path_factory: pytest.TempPathFactory, raw: bytes
) -> None:
    place = tmp_path_factory.mktemp("sheet") / "sheet.csv"
    place.write_bytes(raw)
    try:
        read_sheet(sheet_text(place, "a sheet"), "readings", COLUMNS, counted="reading")
    except InputError:
        return
