"""The page of a session to hand out: settings, changes, tips and pictures in one HTML file."""

import base64
from collections.abc import Sequence
from pathlib import Path

from packsim.report.files.stamp import stamped
from packsim.report.page.page_parts import rendered
from packsim.report.words.numbers import thousands
from packsim.write import write_bytes
from viewer.session.changes import free_name
from viewer.session.playback import clock_words
from viewer.session.session import Session
from viewer.session.source import Live, Source
from viewer.views.tip import tip_words
from viewer.views.told import Setting, changes_made, settings_seen
from viewer.views.why import why_text
from viewer.window.capture import picture_of, picture_words, png_bytes, stamp_of_session

MOST_TIPS = 12
"""So many tips of each pack are told, the last ones."""


def save_session_page(session: Session) -> Path:
    """Write the page of a session under a name not yet taken."""
    path = free_name(session.folder, f"{session.stem}-session", ".html")
    write_bytes(path, session_page(session))
    return path


def session_page(session: Session) -> bytes:
    """Return what was tried in a session, what happened, and its pictures, as one HTML page.

    Parameters
    ----------
    session : Session
        The session; its pictures are those saved in it, and the present one.

    Returns
    -------
    bytes
        HTML in UTF-8 with style and pictures in it; the same session gives the same bytes.
    """
    pack, display = session.packs[0], session.display
    source, name = pack.source, pack.source.loaded.scenario.name
    counted = source.counted if isinstance(source, Live) else None
    settings = settings_seen(counted, pack.first, display) if counted else []
    runs = changes_made(counted, display) if counted else []
    now = (picture_words(session), png_bytes(picture_of(session)))
    text = rendered(
        "session.html",
        display,
        name=name,
        in_short=_in_short(source, settings),
        settings=settings,
        runs=runs,
        tips=[row for number in range(len(session.packs)) for row in _tips(session, number)],
        pictures=[(words, _inline(png)) for words, png in (*session.pictures, now)],
        why=why_text,
        clock=clock_words,
    )
    return stamped(text.encode(), ".html", stamp_of_session(session, pack))


def _in_short(source: Source, settings: Sequence[Setting]) -> str:
    if not isinstance(source, Live):
        return f"A recording of the {source.loaded.size}, watched again."
    cans, tips = sum(one.cans for one in settings), sum(one.tipped for one in settings)
    many = "one setting" if len(settings) == 1 else f"{len(settings)} settings"
    tipped = f"{thousands(tips)} tipped" if tips else "none tipped"
    return f"{thousands(cans)} cans came in under {many}: {tipped}."


def _tips(session: Session, number: int) -> list[tuple[str, str, str]]:
    """Return time, place and reason of the last tips of a pack, the latest first."""
    pack = session.packs[number]
    stages, name = pack.source.line_map.stages, session.name_of(pack)
    return [
        (
            clock_words(event.time_s),
            f"{stages[event.stage]}, {event.place}{name}",
            tip_words(event, 0, session.display),
        )
        for event in reversed(pack.source.events[-MOST_TIPS:])
    ]


def _inline(png: bytes) -> str:
    return f"data:image/png;base64,{base64.b64encode(png).decode()}"
