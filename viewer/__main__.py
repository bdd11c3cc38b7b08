"""``packsim-viewer``, and ``python -m viewer``: starts the window, and ends quietly."""

import gc
import os
import sys


def main() -> None:
    """Run the command; Ctrl-C ends it with code 130, also while the window is still loading."""
    gc.disable()  # what is loaded stays: the window looks for garbage once it is open
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as `packsim`
    try:
        from packsim.errors import ends_raised
        from viewer.window.app import main as run_viewer

        with ends_raised():
            run_viewer()
    except KeyboardInterrupt:
        sys.exit(130)


if __name__ == "__main__":
    main()
