"""Names nobody should give a line, a stage or a can, and every file and text a line can become."""

from __future__ import annotations

from pathlib import Path

from packsim.errors import printable
from tests.fuzz.values import quoted

LINE = Path(__file__).resolve().parents[2] / "scenarios/lessons/lines/teaching_line.toml"

PLAIN = "plain name"
"""What the rest is compared with."""

NAMES = {
    "plain": PLAIN,
    "script": "<script>alert(1)</script>",
    "closing tags": "</title></style></text></svg><img src=x onerror=alert(1)>",
    "attribute": '"\' onload=alert(1) x="><svg onload=alert(1)>',
    "entities": "&amp;&lt;b&gt;&#x3c;i&#x3e;]]>--><!--",
    "link": "javascript:alert(1)//http://example.invalid",
    "css": "}*{display:none}@import url(//x);\\22 \\a",
    "formula": "=1+1",
    "formula that calls": '=HYPERLINK("x";"y"),1',
    "plus": "+1+1",
    "minus": "-2+3",
    "at": "@SUM(1)",
    "formula after a blank": " \t=1+1",
    "terminal": "\x1b[31mred\x1b]0;title\x07\x9b31m",
    "lines": "one\ntwo\r\nthree\x0bfour\x0cfive\u2028six\u2029seven",
    "control": "a" + "".join(map(chr, range(1, 32))) + "\x7f\x80\x9f\ufeff\ufffe",
    "right to left": "\u202e\u2067drow\u2069\u202c\u200f שלום",
    "drawing codes": "%%c%%u%%d {\\H9;x}\\P\\~^J %<\\AcVar date>%",
    "mathematics": "$x_1^2$ $\\frac{$ \\mathtt{a} _^",
    "markup of a terminal": "[bold red]x[/] [link=x]y[/link] :skull:",
    "templates": "{{ 7*7 }} {% raw %} {lanes} {0} %s %(a)s ${x}",
    "paths": "../../x/..\\..\\con:|?*",
    "quotes": "\"\"\" ''' \\ \\\\ \\u0000 `rm`",
    "many marks": "a" + "\u0301\u0327" * 60,
    "wide": "名" * 190,
    "long": "m" * 190,
    "no break": "\u00a0\u200b\u2060x",
    "beyond": "😀🏴‍☠️\U000e0041",
}
"""Each stands in every name of a line at once, followed by what tells them apart."""

LONGEST = 200
"""Letters a name may have."""

TOO_LONG = "x" * 10_000


def line_with(name: str) -> str:
    """Return a line whose every name is this one, as TOML."""
    text = LINE.read_text(encoding="utf-8")
    named = {
        'name = "wash"': f"name = {quoted(name + ' w')}",
        'like = "wash"': f"like = {quoted(name + ' w')}",
        'name = "rinse"': f"name = {quoted(name + ' r')}",
        'name = "Teaching line"': f"name = {quoted(name)}",
        '"211 body"': quoted(name + " a"),
        '"sleek body"': quoted(name + " b"),
    }
    for was, now in named.items():
        assert was in text, was
        text = text.replace(was, now)
    return text


def commands(name: str) -> tuple[tuple[str, ...], ...]:
    """Return command lines that write everything the line can become, in the folder one is in."""
    name = printable(name)  # as it is read, shown and asked for
    wash, first, other = f"{name} w", f"{name} a", f"{name} b"
    line, p = "line.toml", "packsim"
    size, stage = ("--size", other), ("--stage", wash)
    width = ("--over", "clear-width", "--lowest", "582 mm", "--highest", "590 mm", "--steps", "3")
    return (
        (p, "study", line, "--all", "--json", "study.json"),
        (p, "why", line, *stage, *size, "--json", "why.json"),
        (p, "doubt", line, *stage, *size, "--json", "doubt.json", "--chart", "doubt.svg"),
        (p, "sweep", line, *width, *stage, *size, "--csv", "sweep.csv", "--chart", "sweep.svg"),
        (p, "change", line, "--to", other, "--html", "change.html", "--csv", "change.csv",
         "--save", "saved.toml"),
        (p, "change", line, "--from", other, "--to", first, "--json", "change.json"),
        (p, "compare", line, "saved.toml", "--all", *size, "--html", "compare.html", "--json",
         "compare.json"),
        (p, "report", line, "-o", "report.html"),
        (p, "draw", line, *stage, *size, "-o", "plan.dxf"),
        (p, "draw", line, *stage, *size, "-o", "plan.svg"),
        (p, "draw", line, *stage, *size, "--view", "elevation", "-o", "elevation.png"),
        (p, "oven-heat", line, "--mat-mass", "5 kg/m^2", "--mat-specific-heat", "500 J/(kg K)",
         "--name", name),
        (p, "visit", line, "-o", "visit.html", "--readings", "visit.csv"),
        (p, "nozzles", "check", line, "--csv", "check.csv", "--svg", "check.svg", "--json",
         "check.json"),
        (p, "nozzles", "shift", line, "--csv", "shift.csv", "--chart", "shift.svg"),
        (p, "nozzles", "design", line, *stage, "--side", "above", "--csv", "holes.csv", "--svg",
         "holes.svg", "--dxf", "holes.dxf", "--pdf", "holes.pdf", "--number", name, "--revision",
         name, "--date", name, "--hole", name),
        (p, "run", line, "--cans", "60", *size, "--workers", "1", "--chart", "run.svg", "--json",
         "run.json"),
        ("packsim-viewer", line, "--size", other, "--capture", "seen.png", "--seconds", "0.2",
         "--window", "640x400"),
    )  # fmt: skip
