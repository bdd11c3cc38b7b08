"""The files the tests rest on: published values well formed and sourced, the bibliography sound."""

from __future__ import annotations

import math
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

UNITS = {
    "1", "%", "1/K", "1/d", "N", "d", "d^2", "deg", "ft", "g", "gpm", "kPa", "kT/d^2", "kg/m3",
    "kg/s", "L", "lbf", "length", "m", "m/s", "m3/s", "mm", "psi", "r", "r^2", "s",
}  # fmt: skip


# --- the file ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def rows(root: Path) -> list[dict[str, Any]]:
    with (root / "shared" / "published.toml").open("rb") as file:
        return list(tomllib.load(file)["check"])


def test_every_row_is_well_formed(rows: list[dict[str, Any]]) -> None:
    assert len({row["id"] for row in rows}) == len(rows) > 100
    for row in rows:
        assert re.fullmatch(r"[A-Z]\d\d", row["id"])
        assert isinstance(row["value"], float)
        assert math.isfinite(row["value"])
        assert isinstance(row["tolerance"], float)
        assert 0.0 <= row["tolerance"] <= max(0.05 * abs(row["value"]), 1e-5)
        assert row["where"] in ("read", "memory")
        assert row["number_from"] in ("published", "computed")
        assert row["unit"] in UNITS
        assert isinstance(row["inputs"], dict)
        assert row["what"]
        assert row["formula"]
        assert len(row["source"]) > 5


def test_no_source_names_a_host(rows: list[dict[str, Any]], root: Path) -> None:
    host = re.compile(r"https?:|www\.|\.(com|org|net|io|cc|edu|gov)\b")
    for row in rows:
        assert not host.search(" ".join((row["source"], row["what"], row["formula"]))), row["id"]
    assert not host.search((root / "shared" / "sources.bib").read_text(encoding="utf-8"))


# --- the bibliography -------------------------------------------------------------------------


def bib_entries(text: str) -> list[tuple[str, str, dict[str, str]]]:
    """Kind, key and fields of every entry, by counting braces."""
    found = []
    for head in re.finditer(r"^@(\w+)\{([^,\s]+),", text, flags=re.M):
        depth, at = 1, head.end()
        while depth:
            depth += {"{": 1, "}": -1}.get(text[at], 0)
            at += 1
        body = text[head.end() : at - 1]
        fields = dict(re.findall(r"^  (\w+)\s*= (.+?),?$", body, flags=re.M))
        found.append((head[1], head[2], fields))
    return found


def test_bibliography_parses_and_its_keys_are_unique(root: Path) -> None:
    text = (root / "shared" / "sources.bib").read_text(encoding="utf-8")
    entries = bib_entries(text)
    keys = [key for _, key, _ in entries]
    assert len(entries) == text.count("\n@") >= 25
    assert len(set(keys)) == len(keys)
    for kind, key, fields in entries:
        assert kind in ("article", "book", "misc", "techreport")
        assert "author" in fields or "institution" in fields, key
        assert "title" in fields or {"journal", "volume", "pages"} <= set(fields), key
        if kind == "article":
            assert {"journal", "year"} <= set(fields), key
        year = re.search(r"\d{4}", key)
        assert year is None or fields["year"] == "{" + year[0] + "}", key


def test_every_citation_is_in_the_bibliography_and_every_entry_is_cited(root: Path) -> None:
    places = [*(root / "packsim").rglob("*.py"), *(root / "packsim").rglob("*.toml")]
    places += [*(root / "viewer").rglob("*.py"), *(root / "tests").rglob("*.py")]
    places.append(root / "shared" / "published.toml")
    cited = {
        key
        for path in places
        for key in re.findall(r"\[(\w+)\]_", path.read_text(encoding="utf-8"))
    }
    text = (root / "shared" / "sources.bib").read_text(encoding="utf-8")
    assert cited == {key for _, key, _ in bib_entries(text)}
