"""TOML files spoilt: by line, by value, by byte, and as the file system has them."""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np

from tests.fuzz.case import chance, pick
from tests.fuzz.values import TEXTS, nudged, quantity, value, written

_SET = re.compile(r"^(\s*[\w.\"-]+\s*=\s*)(.+?)(\s+#.*)?$")
_HEADS = ("[every_stage]", "[every_stage.kicks]", "[header_patterns.a]",
          "[header_patterns.a.below]",
          "[[stages]]", "[[stages.headers]]", "[stages.headers.below]", "[stages.kicks]",
          "[[stages.brackets]]", "[[assumed]]", "[[history]]", "[[sizes]]", "[mat]", "[a.b.c]",
          "[gauges]", "[[stages.settings]]", "[guides.brackets]", "[[every_stage]]")  # fmt: skip
_SETS = ('like = "a"', 'like = "wash"', 'like = "pre-rinse"', 'like = ""', "like = 3",
         'side = "both"',
         'side = "above"', "below.pressure = 3", 'below.like = "a"', "below = 5", 'name = "wash"',
         'from_stage_start = ["1 mm", "2 m"]', "from_stage_start = []", "from_stage_start = [[]]",
         'clear_width = ["588 mm", "587 mm", "589 mm"]', 'clear_width = "588 mm ± 1 mm"',
         'clear_width = "588, 587, 589 mm"', 'diameter = "66.1 mm ± 0.1 mm"', "count = 1000000",
         'water_in_dome = "100 to 0 %"', 'pack_fill = "98 % ± 5 %"', 'include = "."', "schema = 1",
         'include = "bad.toml"', 'kicks.trial = "x"', 'rows = "across"', "headers = 5",
         "kicks = []",
         'bracket_spacing = "0.001 mm"', 'length = "1e5 m"', "stages = 1",
         "every_stage = 1")  # fmt: skip


def lines_spoilt(rng: np.random.Generator, text: str) -> str:
    """Between one and four lines deleted, doubled, swapped, added or given another value."""
    lines, gentle = text.splitlines(), chance(rng, 0.5)
    for _ in range(int(rng.integers(1, 3 if gentle else 5))):
        full = [i for i, line in enumerate(lines) if line.strip() and not line.startswith("#")]
        if not full:
            return pick(rng, TEXTS)
        at, other = pick(rng, full), pick(rng, full)
        what = int(rng.integers(5 if gentle else 0, 8))
        if what == 0:
            del lines[at]
        elif what == 1:
            lines.insert(other, lines[at])
        elif what == 2:
            lines[at], lines[other] = lines[other], lines[at]
        elif what == 3:
            lines.insert(at, pick(rng, _SETS))
        elif what == 4:
            lines[at:at] = [pick(rng, _HEADS), pick(rng, _SETS), pick(rng, _SETS)]
        else:
            found = _SET.match(lines[at])
            if found:
                was = found[2].strip('"')
                lines[at] = found[1] + written(nudged(rng, was) if gentle else value(rng, was))
    return "\n".join(lines) + "\n"


def scraps(rng: np.random.Generator, text: str) -> str:
    """A text with scraps put in at random places."""
    for _ in range(int(rng.integers(1, 4))):
        at = int(rng.integers(len(text) + 1))
        text = text[:at] + pick(rng, [*TEXTS, quantity(rng)]) + text[at + int(rng.integers(9)) :]
    return text


def many(rng: np.random.Generator, text: str) -> str:
    """A text of far too many, far too long or far too deep things."""
    shapes: list[Callable[[], str]] = [
        lambda: text + "[[stages]]\n" * 1_000_000,
        lambda: text + "[[stages]]\n" * 100_000,
        lambda: text + '[[stages]]\nlike = "wash"\n' * 60_000,
        lambda: text + '\n[[stages.headers]]\nlike = "wash"\n' * 30_000,
        lambda: text + f"\nx = {'[' * 5000}{']' * 5000}\n",
        lambda: text + f"\nx = {'{a=' * 2000}1{'}' * 2000}\n",
        lambda: text + f"\n[{'a.' * 900}a]\n" * 20,
        lambda: text + "".join(f"[header_patterns.p{i}]\nlike = 'p{i + 1}'\n" for i in range(9000)),
        lambda: text + "".join(f"k{i} = {i}\n" for i in range(120_000)),
        lambda: text + "[[assumed]]\nkey='a'\nvalue='b'\nwhy='c'\n" * 40_000,
        lambda: text + f"x = [{'[],' * 30_000}]\n" * 15,
        lambda: text.replace("mm", "mm" * 40_000, 1),
        lambda: text.replace(" mm", " mm, 588 mm" * 1000, 3),
        lambda: "#" * 50_000_000,
        lambda: text + ("# " + "é" * 900 + "\n") * 1000,
        lambda: text + "[" + "a" * 90_000 + "]\n",
    ]
    return pick(rng, shapes)()


def as_bytes(rng: np.random.Generator, text: str) -> bytes:
    """A text in an encoding or with line ends it should or should not have, or no text at all."""
    raw = text.encode()
    cut = int(rng.integers(len(raw) + 1))
    at = int(rng.integers(max(1, len(raw))))
    return pick(
        rng,
        [
            b"\xef\xbb\xbf" + raw,
            b"\xef\xbb\xbf" * 2 + raw,
            text.replace("\n", "\r\n").encode(),
            text.replace("\n", "\r").encode(),
            text.encode("utf-16"),
            text.encode("utf-16-be"),
            text.encode("utf-32"),
            text.encode("cp1252", "replace"),
            raw[:cut],
            raw[:at] + rng.bytes(40) + raw[at:],
            rng.bytes(4000),
            b"",
            b"\x00" * 5000,
            b"PK\x03\x04" + raw,
            b"\n" * 1_900_000,
            raw.replace(b" ", b"\xc2\xa0"),
        ],
    )


def put(rng: np.random.Generator, raw: bytes, *, ending: str, odd: bool) -> str:
    """Put a file into the folder one is in; where ``odd`` as something that is no plain file."""
    names = [f"bad{ending}"] * 6 + [
        f"b\u00e4d 名{ending}",
        f"-bad{ending}",
        f"a\nb{ending}",
        f"bad\x1b{ending}",
    ]
    name = pick(rng, names)
    place = Path(name)
    kind = int(rng.integers(9)) if odd else -1
    if kind == 0:
        place.mkdir()
    elif kind == 1:
        place.symlink_to(place.name)
    elif kind == 2:
        place.symlink_to("nowhere")
    elif kind == 3:
        Path("real").write_bytes(raw)
        place.symlink_to("real")
    elif kind == 4:
        os.mkfifo(place)
    elif kind == 5:
        return pick(rng, ["/dev/zero", "/dev/null", "/proc/self/mem", "/dev/stdin", "", ".", "/"])
    elif kind == 6:
        return pick(rng, ["n" * 300, "no/such/folder", "\ud800", f"{name}/x", "~", "*"])
    else:
        place.write_bytes(raw)
        if kind == 7:
            with contextlib.suppress(OSError):
                place.chmod(0)  # root reads it all the same
    return f"./{name}" if name.startswith("-") else name
