"""What goes with compiling: what numba need not load, a word to whoever waits, and no garbage."""

from __future__ import annotations

import gc
import mmap
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing import current_process, parent_process
from threading import active_count
from types import ModuleType
from typing import Any, Final, cast

SPEAKER: Final = "packsim that compiles"
"""Name of a process that says so for the one that started it; no other that was started does."""

_SAID: Final = mmap.mmap(-1, 1)
"""Whether it has been said, here or in a copy of this process: memory that they share."""

FIRST_TIME: Final = (
    "packsim: compiling its inner loops, once on this machine; this takes some seconds"
)


def ready_to_compile() -> None:
    """Import what numba compiles with, which looks whether scipy's linear algebra is there.

    To import that takes as long as numba itself. No kernel multiplies matrices. Other functions in
    this process that do still can: numba imports it again for them.
    """
    with without("scipy.linalg"):
        import numba.np.arraymath  # noqa: F401  (what looks for it)


@contextmanager
def without(unwanted: str) -> Iterator[None]:
    """Let an import of a module fail in here, unless it is there or a thread may want it now.

    Parameters
    ----------
    unwanted : str
        Name of the module.

    Yields
    ------
    None
        It can be imported again afterwards.
    """
    absent = unwanted not in sys.modules and active_count() == 1
    if absent:
        sys.modules[unwanted] = cast(ModuleType, None)
    try:
        yield
    finally:
        if absent and sys.modules.get(unwanted, sys) is None:
            del sys.modules[unwanted]


def look_after_compiling() -> None:
    """Do what goes with compiling a kernel that is not read from the disk, from here on.

    Once it is said on the screen for errors; of processes that others started one `SPEAKER` says
    it. Python looks for no garbage meanwhile, nor at once in what compiling left: that takes a
    thirtieth of the time.
    """
    with without("coverage"):  # of Python; numba would tell it of kernels, line by line
        from numba.core import event

    speaks = parent_process() is None or current_process().name == SPEAKER
    listener: Any = event.Listener

    class Around(listener):  # type: ignore[misc]
        within, collects = 0, False

        def on_start(self, _: Any) -> None:
            if speaks and not _SAID[0]:
                sys.stderr.write(FIRST_TIME + "\n")
                _SAID[0] = 1
            if self.within == 0:
                ready_to_compile()
                self.collects = gc.isenabled()
                gc.disable()
            self.within += 1

        def on_end(self, _: Any) -> None:
            self.within -= 1
            if self.within == 0:
                frozen = gc.get_freeze_count() > 0
                gc.freeze()  # what is new counts as old
                if not frozen:
                    gc.unfreeze()
                if self.collects:
                    gc.enable()

    event.register("numba:compile", Around())  # type: ignore[no-untyped-call]
