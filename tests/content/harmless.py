"""Whether what was written can do harm: judged by readers that are not ours."""

from __future__ import annotations

import csv
import io
import json
import re
import unicodedata
import xml.etree.ElementTree as ET
from collections.abc import Callable
from html.parser import HTMLParser

import ezdxf
from PIL import Image

from packsim.scenario.load import parse_scenario

Shape = frozenset[tuple[str, tuple[str, ...]]]
"""Elements with the names of their attributes."""

CONTROL = ("Cc", "Cf", "Zl", "Zp")
"""Unicode's kinds of what is not seen but acts: control, format, line and paragraph ends."""


class _Elements(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: set[tuple[str, tuple[str, ...]]] = set()
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.add((tag, tuple(sorted(key for key, _ in attrs))))
        self.links += [value or "" for key, value in attrs if key in ("href", "src")]


def acting(text: str, allowed: str = "\n") -> list[str]:
    """Return the letters of a text that act unseen, but for those allowed."""
    return sorted({c for c in text if unicodedata.category(c) in CONTROL and c not in allowed})


def of_page(data: bytes, plain: bytes) -> list[str]:
    """Say what is wrong with an HTML page: it has no elements that the plain one has not."""
    shapes = []
    for each in (data, plain):
        reader = _Elements()
        reader.feed(each.decode())
        shapes.append(reader)
    wrong = [f"element {one}" for one in sorted(shapes[0].found - shapes[1].found)]
    wrong += [f"link {one[:60]}" for one in shapes[0].links if one[:1] != "#"]
    return wrong + [f"letter {one!r}" for one in acting(data.decode())]


def of_svg(data: bytes, plain: bytes) -> list[str]:
    """Say what is wrong with an SVG: well-formed XML, no element that the plain one has not."""
    new, old = (_shape(ET.fromstring(each)) for each in (data, plain))  # noqa: S314
    wrong = [f"element {one}" for one in sorted(new - old)]
    return wrong + [f"letter {one!r}" for one in acting(data.decode())]


def _shape(root: ET.Element) -> Shape:
    return frozenset((one.tag, tuple(sorted(one.attrib))) for one in root.iter())


NUMBER = re.compile(r"[-+]?[\d.,]+(e[-+]?\d+)?")


def of_csv(data: bytes, plain: bytes) -> list[str]:
    """Say what is wrong with a CSV: no cell is a formula, and it has as many rows and columns."""
    tables = [list(csv.reader(io.StringIO(each.decode("utf-8-sig")))) for each in (data, plain)]
    wrong = [] if [len(r) for r in tables[0]] == [len(r) for r in tables[1]] else ["another shape"]
    for cell in (cell for row in tables[0] for cell in row):
        if cell.lstrip()[:1] in tuple("=+-@") and not NUMBER.fullmatch(cell.strip()):
            wrong.append(f"formula {cell[:40]!r}")
        wrong += [f"letter {one!r}" for one in acting(cell, "")]
    return wrong


def of_dxf(data: bytes, plain: bytes) -> list[str]:
    """Say what is wrong with a DXF: another reader opens it, finds no fault, and as many things."""
    documents = [ezdxf.read(io.StringIO(each.decode())) for each in (data, plain)]
    wrong = [str(error.message) for error in documents[0].audit().errors]
    counts = [sorted(e.dxftype() for e in document.modelspace()) for document in documents]
    wrong += [] if counts[0] == counts[1] else ["other things drawn"]
    for entity in documents[0].modelspace().query("TEXT MTEXT"):
        text = entity.dxf.text if entity.dxftype() == "TEXT" else entity.text
        wrong += [f"code in {text[:40]!r}"] if "%%" in text else []
        wrong += [f"letter {one!r}" for one in acting(text, "")]
    return wrong


def of_json(data: bytes, plain: bytes) -> list[str]:
    """Say what is wrong with JSON: it is read, and has the keys that the plain one has."""
    new, old = (_keys(json.loads(each)) for each in (data, plain))
    return [f"key {one}" for one in sorted(new ^ old)]


OWN = (" w", " r", " a", " b")
"""How names of stages and sizes end, see `hostile.line_with`."""


def _keys(value: object) -> set[str]:
    if isinstance(value, dict):
        named = {key for key in value if key[-2:] in OWN}  # names of stages and sizes are keys too
        return set(value) - named | {key for one in value.values() for key in _keys(one)}
    if isinstance(value, list):
        return {key for one in value for key in _keys(one)}
    return set()


def of_png(data: bytes, _plain: bytes) -> list[str]:
    """Say what is wrong with a picture: another reader opens all of it."""
    with Image.open(io.BytesIO(data)) as picture:
        picture.load()
        return [] if min(picture.size) > 0 else ["empty"]


def of_pdf(data: bytes, _plain: bytes) -> list[str]:
    """Say what is wrong with a PDF: nothing in it acts."""
    found = re.findall(rb"/(JavaScript|JS|Launch|URI|OpenAction|EmbeddedFile)\b", data)
    return [f"/{one.decode()}" for one in found] + ([] if data.startswith(b"%PDF") else ["no PDF"])


def of_toml(data: bytes, _plain: bytes) -> list[str]:
    """Say what is wrong with a saved line: packsim reads it again."""
    scenario = parse_scenario(data.decode(), file="saved.toml")
    return [f"letter {one!r}" for can in scenario.sizes for one in acting(can.name, "")]


READERS: dict[str, Callable[[bytes, bytes], list[str]]] = {
    ".html": of_page,
    ".svg": of_svg,
    ".csv": of_csv,
    ".dxf": of_dxf,
    ".json": of_json,
    ".png": of_png,
    ".pdf": of_pdf,
    ".toml": of_toml,
}
