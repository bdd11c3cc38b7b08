"""``packsim``: how it starts and how it ends.

Exit code 0: answered. 2: the input is wrong. 1: anything else, such as a full disk. 130: Ctrl-C;
129 and 143: ended from outside, by a terminal that closes or by who asks it to end.
Nothing is imported before `main` guards it, so that Ctrl-C shows no traceback at start-up either.
"""

import atexit
import errno
import gc
import os
import sys
from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from itertools import pairwise
from types import FrameType
from typing import Final

_GARBAGE_AFTER = 1_000_000
"""Objects that are made before Python looks for garbage among them: more than any short answer
makes. What is loaded stays, and looking through it, time and again and once more at the end, took
a tenth of `packsim study`."""


CANS: Final = 5000
"""Cans that ``packsim run`` counts in each run when nobody says how many ..."""

REPEATS: Final = 4
"""... and the number of runs."""


def main() -> None:
    """Run the command line in ``sys.argv`` and leave with its exit code."""
    handled = []
    usual, unraisable = gc.get_threshold(), sys.unraisablehook
    gc.set_threshold(_GARBAGE_AFTER)
    atexit.register(gc.freeze)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # others would wait, busily, for nothing
    try:
        _open_closed()
        if os.name == "posix":
            sys.unraisablehook = lambda told: _sent_again(told) or unraisable(told)
        handled = _end_in_order()
        from packsim.errors import ends_raised

        with ends_raised(), begun(sys.argv[1:]):
            from packsim.cli.commands import ended

            code = ended(sys.argv[1:])
    except KeyboardInterrupt:
        code = 130
    except OSError as error:
        # files complain as InputError; this is standard output. Python would flush it once more at
        # the end and complain again, so that it goes nowhere now
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        # a reader that has enough, as `| head`, is nothing to talk about; Windows calls it EINVAL
        if not isinstance(error, BrokenPipeError) and error.errno != errno.EINVAL:
            _say(f"packsim: cannot write: {error.strerror}\n")
        code = 1
    finally:
        _as_before(handled)
        sys.unraisablehook = unraisable
        gc.freeze()  # and melt: nothing is counted as new now, which would be looked through
        gc.unfreeze()
        gc.set_threshold(*usual)
    sys.exit(code)


def begun(words: Sequence[str]) -> AbstractContextManager[None]:
    """Let another process load what counting takes, while this one finds out what is to be counted.

    Parameters
    ----------
    words : sequence of str
        The command and its words. Of ``run`` some numbers are looked at: what cannot be read counts
        as left out, and is refused when all are read.

    Returns
    -------
    context manager
        In which the command is run.
    """
    if list(words[:1]) != ["run"] or "--help" in words or sys.platform != "linux":
        return nullcontext()
    from packsim.counts.many import ready_to_count

    settings = sum(word.partition("=")[0] == "--guides" for word in words) or 1
    cans = _number(words, "--cans", CANS) * _number(words, "--repeats", REPEATS) * settings
    return ready_to_count(cans, _number(words, "--workers", 0) or None)


def _number(words: Sequence[str], option: str, usual: int) -> int:
    given = [after for word, after in pairwise(words) if word == option]
    given += [word.partition("=")[2] for word in words if word.startswith(f"{option}=")]
    try:
        return int(given[-1]) if given else usual
    except ValueError:
        return usual


def _say(text: str) -> None:
    """Write to standard error; where that cannot be written either, nobody can be told."""
    try:
        sys.stderr.write(text)
        sys.stderr.flush()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stderr.fileno())


def _open_closed() -> None:
    """Open what a program was started without: no file that is opened may come in its place.

    An answer to a closed standard output cannot be written, and that is said; complaints to a
    closed one go nowhere.
    """
    for name, how in (("stdin", os.O_RDONLY), ("stdout", os.O_RDONLY), ("stderr", os.O_WRONLY)):
        if getattr(sys, name) is None:
            there = os.open(os.devnull, how)
            mode = "r" if name == "stdin" else "w"
            file = os.fdopen(there, mode, encoding="utf-8", errors="backslashreplace")
            setattr(sys, name, file)


def _end_in_order() -> list[int]:
    """Let an end from outside put away what is half-written and end the workers, as Ctrl-C does.

    Returns the signals that do; one that is ignored, as under ``nohup``, stays so.
    """
    import signal
    from threading import current_thread, main_thread

    if current_thread() is not main_thread():  # only there may a signal be handled
        return []
    numbers = [getattr(signal, name, None) for name in ("SIGTERM", "SIGHUP")]
    handled = [one for one in numbers if one and signal.getsignal(one) is signal.SIG_DFL]
    for number in handled:
        signal.signal(number, _end)
    return handled


def _end(number: int, _frame: FrameType | None) -> None:
    sys.exit(128 + number)


def _sent_again(told: "sys.UnraisableHookArgs") -> bool:
    """Send an end once more that came where Python lets nothing out, as while an object goes."""
    import signal
    from threading import Timer

    ended = told.exc_value
    if isinstance(ended, KeyboardInterrupt):
        number = int(signal.SIGINT)
    elif isinstance(ended, SystemExit) and isinstance(ended.code, int) and ended.code > 128:
        number = ended.code - 128  # as `_end` does
    else:
        return False
    later = Timer(0.01, os.kill, (os.getpid(), number))
    later.daemon = True
    later.start()
    return True


def _as_before(handled: list[int]) -> None:
    for number in handled:
        import signal

        signal.signal(number, signal.SIG_DFL)
