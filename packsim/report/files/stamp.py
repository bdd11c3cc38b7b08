"""Where a written file comes from: worded here and nowhere else, put into files of every kind.

No date: the same command on the same scenario gives the same bytes.
"""

import json
import struct
import tomllib
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256
from html import escape
from pathlib import Path

from packsim.errors import printable
from packsim.line import Scenario
from packsim.scenario.text_files import read_text
from packsim.version import program_version


@dataclass(frozen=True, slots=True)
class Stamp:
    """Where a file comes from.

    Parameters
    ----------
    title : str
        Name of the scenario, or of the command where there is none.
    command : str
        The command that makes the file anew; where it is written and paths of files are left out.
    program : str
        Name and version of the program.
    seed : int or None
        Seed of everything random.
    scenario_hash : str
        See `scenario_hash`; empty without a scenario.
    """

    title: str
    command: str
    program: str
    seed: int | None = None
    scenario_hash: str = ""

    @property
    def line(self) -> str:
        """Say it in one line."""
        parts = [self.title, self.program]
        if self.scenario_hash:
            parts.append(f"scenario {self.scenario_hash}")
        if self.seed is not None:
            parts.append(f"seed {self.seed}")
        return printable("; ".join([*parts, self.command]))


def stamp_of(
    command: str, scenario: Scenario | None, digest: str = "", seed: int | None = None
) -> Stamp:
    """Return the stamp of what a command makes of a scenario, with its `scenario_hash`.

    The seed is the scenario's where none is given.
    """
    program = f"packsim {program_version()}"
    if scenario is None:
        return Stamp("packsim", command, program)
    return Stamp(scenario.name, command, program, scenario.seed if seed is None else seed, digest)


def scenario_hash(
    path: str | Path, fitted: str | Path | None = None, beside: Iterable[str | Path] = ()
) -> str:
    """Return the first 12 digits of the SHA-256 of what a scenario file and its kicks say.

    So do the files ``beside`` it, such as the lines it is compared with.

    Of keys and values alone, in one order: comments, blanks and line ends do not count, nor does
    the version of the program.
    """
    data = [tomllib.loads(read_text(Path(path)))]
    include = data[0].get("include")
    kicks = Path(path).parent / include if include and fitted is None else fitted
    if kicks is not None:
        data.append(tomllib.loads(read_text(Path(kicks))))
    data += [tomllib.loads(read_text(Path(one))) for one in beside]
    told = json.dumps(data, sort_keys=True, default=str, ensure_ascii=False)
    return sha256(told.encode()).hexdigest()[:12]


def stamped(data: bytes, ending: str, stamp: Stamp) -> bytes:
    """Return a file with its stamp, by its ending; as it is where its writer has put it in.

    SVG has it as ``<metadata>``, PNG as text chunks, a page as its last line. CSV has it as its
    first line (`csv_note`).
    """
    line = stamp.line
    match ending:
        case ".svg":
            head, mark, rest = data.partition(b"</title>" if b"</title>" in data else b">")
            return head + mark + f"<metadata>{escape(line)}</metadata>".encode() + rest
        case ".html" | ".htm":
            head, end, rest = data.rpartition(b"</body>")
            return head + f'<p class="quiet">{escape(line)}</p>\n'.encode() + end + rest
        case ".csv":
            return csv_note(line).encode() + data
        case ".png":
            return _png(data, stamp)
    return data


def csv_note(text: str) -> str:
    """Return a line of CSV that is not data, after a #.

    `packsim trial fit` passes such lines over, a spreadsheet shows it in one cell (so it has
    neither comma nor quotation mark), other programs are told of the sign.
    """
    return f"# {text.replace(',', ';').replace(chr(34), chr(39))}\r\n"


def _png(data: bytes, stamp: Stamp) -> bytes:
    """Put text chunks after the head of a PNG, as PNG 1.2, 11.3.4 lays them out."""
    texts = {"Title": stamp.title, "Software": stamp.program, "Comment": stamp.line}
    chunks = b""
    for key, text in texts.items():
        # international text (UTF-8), not compressed, no language
        part = b"iTXt" + key.encode() + b"\0\0\0\0\0" + printable(text).encode()
        chunks += struct.pack(">I", len(part) - 4) + part + struct.pack(">I", zlib.crc32(part))
    end = 8 + 25  # signature and IHDR
    return data[:end] + chunks + data[end:]
