"""The handout of a lesson: its questions on one page, with room to write, its answers behind."""

from dataclasses import dataclass
from pathlib import Path

from packsim.report.files.stamp import stamp_of, stamped
from packsim.report.page.page_parts import rendered
from packsim.write import check_target, write_bytes
from viewer.lessons.play import NO_ANSWER, LessonPlay
from viewer.session.actions import tick
from viewer.session.lesson_scenes import show_scene
from viewer.session.session import Session


@dataclass(frozen=True, slots=True)
class Told:
    """What a scene says: before it runs, and after, ``told``; none where the reader has a hand."""

    number: int
    caption: str
    ask: str
    choices: tuple[str, ...]
    hands: bool
    told: tuple[str, ...]


def save_handout(session: Session, play: LessonPlay, out: Path, *, replace_old: bool) -> Path:
    """Write the handout of the lesson that a session plays; it is run once, for its answers.

    Raises `InputError` if ``out`` exists and is not to be replaced, or cannot be written.
    """
    check_target(out, replace=replace_old)
    write_bytes(out, handout(session, play), replace=replace_old)
    return out


def handout(session: Session, play: LessonPlay) -> bytes:
    """Return the handout of a lesson as one HTML page to print.

    Parameters
    ----------
    session : Session
        The session that plays it, at its beginning.
    play : LessonPlay
        The lesson.

    Returns
    -------
    bytes
        HTML in UTF-8; the same lesson gives the same bytes.
    """
    session.overlay = ""
    scenario = play.lesson.start.scenario
    scenes = [_told(session, play, at) for at in range(len(play.lesson.scenes))]
    text = rendered(
        "lesson.html",
        session.display,
        title=play.lesson.title,
        goal=play.goal,
        takeaway=play.takeaway,
        line=scenario.name,
        about=scenario.about,
        scenes=scenes,
        seed=session.seed,
    )
    command = f"packsim-viewer --lesson {session.stem}.toml --handout"
    stamp = stamp_of(command, scenario, seed=session.seed)
    return stamped(text.encode(), ".html", stamp)


def _told(session: Session, play: LessonPlay, at: int) -> Told:
    """Show a scene to its end, with nobody to answer; one in the reader's hands is not run."""
    show_scene(session, play, at)
    hands = play.scene.row.hands
    said = (at + 1, play.caption, play.ask, play.choices, hands)
    if play.asking:
        play.answered = NO_ANSWER
    while not hands and not play.over:
        tick(session, session.now_s + 1.0, most=None)
    if not hands:
        tick(session, session.now_s)
    return Told(*said, play.told)
