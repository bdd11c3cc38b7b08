"""Machine code of kernels on disk: in the package's folder, or the user's, or nowhere."""

from __future__ import annotations

import os
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from packsim.errors import ends_raised

_HOUR_S = 3600.0


def keep_on_disk(fast: Any, stamp: str) -> None:
    """Keep the machine code of a kernel on disk where a folder can be written.

    Processes share the folder. Numba replaces its files whole, but two that compile one kernel for
    two kinds of arguments at once may both take one name: what is read back is checked. A full or
    broken disk, or what another version of the program left, costs the compiling, not the answer.

    Parameters
    ----------
    fast : numba.core.registry.CPUDispatcher
        The kernel, not called yet.
    stamp : str
        What tells its machine code from that of a kernel that was otherwise.
    """
    from numba.core import caching, runtime

    cache: Any = caching.FunctionCache
    index: Any = caching.IndexDataCacheFile

    class Index(index):  # type: ignore[misc]
        def _load_index(self) -> Any:
            try:
                with ends_raised():
                    return super()._load_index()
            except Exception:  # half a file, or one that names modules that are gone
                return {}

    class Kept(cache):  # type: ignore[misc]
        def load_overload(self, sig: Any, target_context: Any) -> Any:
            try:
                with ends_raised():
                    # numba's own readies its compiler first, half the time of reading all there is
                    runtime.rtsys.initialize(target_context)
                    found = self._load_overload(sig, target_context)
            except Exception:  # whatever unpickling half a file raises
                return None
            asked = tuple(getattr(sig, "args", sig))
            return found if found is not None and found.signature.args == asked else None

        def save_overload(self, sig: Any, data: Any) -> None:
            with suppress(OSError):
                super().save_overload(sig, data)
                for part in Path(self.cache_path).glob("*.tmp.*"):
                    if abs(time.time() - part.stat().st_mtime) > _HOUR_S:  # of one that was killed
                        part.unlink()

    beside = Path(fast.py_func.__code__.co_filename).with_name("__pycache__")
    with suppress(RuntimeError):  # no folder can be written
        if not os.access(beside, os.W_OK | os.X_OK):
            Path.home()  # for a user who has none numba would make a folder called ~
        kept = Kept(fast.py_func)
        kept._cache_file = Index(kept.cache_path, kept._impl.filename_base, stamp)
        fast._cache = kept
