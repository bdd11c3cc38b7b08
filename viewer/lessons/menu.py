"""The list of lessons to choose from: those of a folder."""

from dataclasses import dataclass
from pathlib import Path

from packsim.errors import InputError
from packsim.scenario.lesson_tables import LessonFile, read_lesson_file

USUAL_FOLDER = Path("scenarios/lessons")
"""Where lessons are looked for if nobody names a folder."""


@dataclass
class LessonMenu:
    """Lessons of a folder, in order of their files; ``at`` is the one marked.

    The files are read, and their lessons tried only when one is opened.
    """

    rows: tuple[tuple[Path, LessonFile], ...]
    at: int = 0

    def move(self, by: int) -> None:
        """Mark another one, round at the ends."""
        self.at = (self.at + by) % len(self.rows)


def read_menu(folder: Path) -> LessonMenu:
    """Read the lessons of a folder.

    Raises `InputError` if there are none, or one cannot be read: it names the file and the key.
    """
    files = sorted(folder.glob("*.toml")) if folder.is_dir() else []
    if not files:
        raise InputError(
            "--lesson", folder, f"a lesson, or a folder of them such as {USUAL_FOLDER}"
        )
    return LessonMenu(tuple((path, read_lesson_file(path)) for path in files))
