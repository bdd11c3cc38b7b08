"""What is no scenario: answers through a pipe, readings, trials, lessons, records."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from pathlib import Path

import numpy as np

from packsim.passage.record import Event, Frame, Record
from packsim.passage.store import save_record
from packsim.scenario.new import QUESTIONS
from tests.fuzz import texts
from tests.fuzz.case import SCENARIOS, Case, chance, pick
from tests.fuzz.values import TEXTS, nudged, quantity

Rng = np.random.Generator
_ANSWERS = ("", "?", "don't know", "inches", "mm", "us_12oz_std", "211", "66.05, 66.12, 66.08 mm",
            "66.09 ± 0.05 mm", "124.3 mm", "1600 mm", "63 in", "6 m/min", "1391 mm ± 1 mm", "along",
            "pre-wash 2500 mm, wash 4 m, rinse 2 m", "wash 12 ft", "54 3/4 in", "30, 65, 100 mm",
            "wash 32 psi, rinse 15 psi", "2 pairs", "wash 2 above", "600 N", "60 degC", "Line 3",
            "wash ?", "wash 0 m", "wash wash 1 m, wash 2 m", "(rinse) 5 m",
            "x" * 100_000)  # fmt: skip
_WRONG_ROWS = ("", "stages[0].clear_width", "nobody.knows,,,,,5 mm", ",,,,,1,2,3", '"', "#", ";;;;")


def new(rng: Rng) -> Case:
    """Answers typed into `packsim new` through a pipe, some wrong, too few or too many."""
    unit = pick(rng, ["metric", "inch"])
    wrong = pick(rng, [0.0, 0.03, 0.1, 0.5])
    answers = []
    for question in QUESTIONS:
        if question.name not in ("height", "next height"):
            right = question.example.get(unit, question.example.get("", ""))
            right = "sleek_355ml" if question.name == "next size" else right
            answers.append(pick(rng, [right.partition(";")[0], right.partition(";")[0], "", "?"]))
        if chance(rng, wrong):
            odd = [pick(rng, _ANSWERS), quantity(rng), pick(rng, TEXTS), nudged(rng, answers[-1])]
            answers[-1] = pick(rng, odd)
    answers += [""] * int(rng.integers(4))
    words = ["packsim", "new", "new.toml", *pick(rng, [(), (), ("--html", "n.html")])]
    text = pick(rng, ["\n", "\n", "\n", "\r\n"]).join(answers) + pick(rng, ["\n", ""])
    return Case(tuple(words), answers=text)


def measured(rng: Rng) -> Case:
    """A sheet of readings, filled in as people do or as nobody does."""
    place = SCENARIOS / pick(rng, ["first_look.toml", "lessons/lines/teaching_line.toml"])
    lines = _sheet(place).splitlines()
    gentle = chance(rng, 0.5)
    rows = [i for i in range(2, len(lines)) if not gentle or lines[i].split(",")[3][:1].isdigit()]
    for at in rng.permutation(rows)[: int(rng.integers(1, 12))].tolist():
        cells = next(csv.reader([lines[at]]))
        was = cells[3] or "588 mm"
        for _ in range(int(rng.integers(1, 6))):
            if gentle:
                near = re.sub(r"^[\d.]+", lambda n: f"{float(n[0]) * rng.normal(1, 1e-3):.5g}", was)
                cells[int(rng.integers(5, 15))] = pick(rng, [was, near, near.partition(" ")[0]])
            else:
                odd = [quantity(rng), nudged(rng, was), pick(rng, TEXTS)]
                cells[int(rng.integers(len(cells)))] = pick(rng, odd)
        lines[at] = ",".join(f'"{cell}"' if set(cell) & set(',"') else cell for cell in cells)
    if chance(rng, 0.2):
        lines.insert(int(rng.integers(len(lines))), pick(rng, _WRONG_ROWS))
    if chance(rng, 0.1):
        lines = lines * pick(rng, [2, 50, 900])
    text = "\n".join(lines)
    if chance(rng, 0.2):
        text = text.replace(",", pick(rng, [";", "\t", "|"]))
    raw = text.encode(errors="surrogatepass")
    if chance(rng, 0.2):
        raw = texts.as_bytes(rng, text)
    file = texts.put(rng, raw, ending=".csv", odd=chance(rng, 0.15))
    return Case(("packsim", "measured", str(place), file, "-o", "new.toml"))


def _sheet(place: Path) -> str:
    """The sheet `packsim visit` makes for a line, made once in a process."""
    if place not in _SHEETS:
        from packsim.doubt.measuring import ACTIONS
        from packsim.report.page.visit_page import visit_csv
        from packsim.report.words.display import Display
        from packsim.scenario import load_scenario
        from packsim.scenario.sheets.asked import what_to_ask

        asked = what_to_ask(place, load_scenario(place), tuple(ACTIONS))
        _SHEETS[place] = "# a line\n" + visit_csv(asked, Display("metric"))
    return _SHEETS[place]


_SHEETS: dict[Path, str] = {}


def trial(rng: Rng) -> Case:
    """A file of trials, spoilt so that a fit has no time to begin: a size no line has is in it."""
    kind = pick(rng, ["swing_line_trial.toml", "swing_line_totals.csv"])
    text = (SCENARIOS / "trials" / kind).read_text(encoding="utf-8")
    text = text.replace("sleek body", "no such body")
    way = (
        texts.scraps if chance(rng, 0.3) else _cells if kind.endswith("csv") else texts.lines_spoilt
    )
    text = way(rng, text)
    raw = text.encode(errors="surrogatepass")
    if chance(rng, 0.15):
        raw = texts.as_bytes(rng, text)
    if chance(rng, 0.1):
        raw = texts.many(rng, text).encode(errors="replace")
    file = texts.put(rng, raw, ending=Path(kind).suffix, odd=chance(rng, 0.15))
    line = SCENARIOS / "swing_line.toml"
    return Case(("packsim", "trial", "fit", str(line), file, "-o", "new.toml"), refused=False)


def figures(rng: Rng) -> Case:
    """Figures of a proposal, spoilt; what stands after them is wrong, so that no pack is run."""
    folder = SCENARIOS / "proposal"
    text = (folder / "figures.toml").read_text(encoding="utf-8")
    text = (texts.scraps if chance(rng, 0.3) else texts.lines_spoilt)(rng, text)
    raw = text.encode(errors="surrogatepass")
    if chance(rng, 0.15):
        raw = texts.as_bytes(rng, text)
    file = texts.put(rng, raw, ending=".toml", odd=chance(rng, 0.15))
    lines = (str(folder / "today.toml"), str(folder / "changed.toml"))
    words = ("packsim", "proposal", *lines, "--figures", file, "--logo", "none.png")
    return Case(words, refused=True)


def _cells(rng: Rng, text: str) -> str:
    lines = text.splitlines()
    for _ in range(int(rng.integers(1, 6))):
        at = int(rng.integers(1, len(lines)))
        cells = lines[at].split(",")
        cells[int(rng.integers(len(cells)))] = pick(rng, [quantity(rng), pick(rng, TEXTS), ""])
        lines[at] = ",".join(cells)
    return "\n".join(lines)


def lesson(rng: Rng) -> Case:
    """A spoilt lesson, or one whose line is."""
    place = pick(rng, sorted((SCENARIOS / "lessons").glob("*.toml")))
    text = place.read_text(encoding="utf-8").replace("lines/", f"{SCENARIOS}/lessons/lines/")
    text = pick(rng, [texts.lines_spoilt, texts.lines_spoilt, texts.scraps])(rng, text)
    raw = text.encode(errors="surrogatepass")
    if chance(rng, 0.15):
        raw = pick(rng, [texts.as_bytes(rng, text), texts.many(rng, text).encode(errors="replace")])
    file = texts.put(rng, raw, ending=".toml", odd=chance(rng, 0.15))
    return Case(_viewer("--lesson", file))


def _viewer(*words: str) -> tuple[str, ...]:
    small = ("--capture", "new.png", "--seconds", "0.01", "--window", "640x400")
    return ("packsim-viewer", *words, *small)


def record(rng: Rng) -> Case:
    """A recorded passage that is torn, unpacks to far too much, or holds what it must not."""
    stream = io.BytesIO()
    save_record(made_up_record(), Path("whole.npz"))
    raw = Path("whole.npz").read_bytes()
    Path("whole.npz").unlink()
    way = int(rng.integers(8))
    if way == 0:
        raw = raw[: int(rng.integers(len(raw)))]
    elif way == 1:
        at = int(rng.integers(len(raw)))
        raw = raw[:at] + rng.bytes(int(rng.integers(1, 60))) + raw[at + 8 :]
    elif way == 2:
        with (
            zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as file,
            file.open("head.npy", "w", force_zip64=True) as packed,
        ):
            for _ in range(pick(rng, [90, 1100])):
                packed.write(bytes(1_000_000))
        raw = stream.getvalue()
    elif way == 3:
        raw = npz_of_shape(pick(rng, ["(10000000000,)", "(-1,)", "(3, 100000000)", "(1e9,)"]))
    else:
        with np.load(io.BytesIO(raw)) as whole:
            arrays = {name: whole[name] for name in whole.files}
        for _ in range(int(rng.integers(1, 3))):
            name = pick(rng, sorted(arrays))
            arrays[name] = _other(rng, arrays[name])
        np.savez_compressed(stream, allow_pickle=True, **arrays)  # type: ignore[arg-type]
        raw = stream.getvalue()
    return Case(_viewer(texts.put(rng, raw, ending=".npz", odd=chance(rng, 0.1))))


def npz_of_shape(shape: str) -> bytes:
    """A record whose first array says it has a shape, and holds ten numbers."""
    stream = io.BytesIO()
    head = f"{{'descr': '<f8', 'fortran_order': False, 'shape': {shape}, }}".ljust(117) + "\n"
    with zipfile.ZipFile(stream, "w") as file:
        file.writestr("head.npy", b"\x93NUMPY\x01\x00\x76\x00" + head.encode() + bytes(80))
    return stream.getvalue()


class _Harm:
    """What would write a file if anybody unpickled it."""

    def __reduce__(self) -> tuple[object, ...]:
        return Path.touch, (Path("HARM"),)


def _other(rng: Rng, was: np.ndarray) -> np.ndarray:
    """Another array in the place of one."""
    if was.dtype.kind not in "fiu":  # spoilt before
        return np.zeros(0)
    if was.dtype == np.uint8 and was.size > 200 and chance(rng, 0.8):  # the head, as JSON
        text = was.tobytes().decode()
        spoilt = pick(rng, [text[:-9], text.replace("0", "-1"), text.replace("1", "1e999"),
                            text.replace("0.0", "NaN"), text.replace('"wash"', "5"), "[]", "{}",
                            text.replace("0", "9" * 30), text.replace("[", "[[", 1),
                            "[" * 9000])  # fmt: skip
        return np.frombuffer(spoilt.encode(), dtype=np.uint8)
    row = was.reshape(-1) if was.ndim == 0 else was
    shapes = [row[:-1], was.astype(str), was.reshape(-1)[:0], np.array(_Harm(), dtype=object),
              np.concatenate([row, row]), was * 0 - 1, was.T, np.zeros(()), np.full((3, 3),
              1e30)]  # fmt: skip
    if was.dtype.kind == "f":
        shapes += [was * np.nan, was * np.inf, was * 1e30, -was, was.astype(complex)] * 2
    return pick(rng, shapes)


def made_up_record() -> Record:
    """A passage of four cans in two pictures, made up."""
    x, y = np.array([100, 170, 240, 310], np.float32), np.array([50, 60, 50, 60], np.float32)
    still = np.zeros(4, np.float32)
    frames = tuple(
        Frame(t, 100.0 * t, x, y + 10, still + 33, still, still, np.zeros(4, np.uint8),
              np.arange(4, dtype=np.uint32))
        for t in (0.0, 0.1)
    )  # fmt: skip
    station = np.array([0.0, 3000.0])
    line = (SCENARIOS / "first_look.toml").read_text(encoding="utf-8")
    event = Event(0.1, 2, 0, "centre", 240.0, 60.0, 0.0, 0.05, 0.04)
    ones = np.ones((1, 2), np.int64)
    return Record("211 body", 1, "0", line, ("wash",), (0.0, 3000.0), station, station * 0 + 56,
                  station * 0 + 644, frames, 0.1, (event,), np.ones((1, 3), np.int64), ones, ones,
                  4, 0, 4, 0.1, 0.01, 0.1, 0.0)  # fmt: skip
