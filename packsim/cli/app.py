"""``packsim``: how it starts and how it ends.

Exit code 0: answered. 2: the input is wrong. 1: anything else, such as a full disk. 130: Ctrl-C.
Nothing is imported before `main` guards it, so that Ctrl-C shows no traceback at start-up either.
"""

import atexit
import errno
import gc
import os
import sys

_GARBAGE_AFTER = 1_000_000
"""Objects that are made before Python looks for garbage among them: more than any short answer
makes. What is loaded stays, and looking through it, time and again and once more at the end, took
a tenth of `packsim study`."""


def main() -> None:
    """Run the command line in ``sys.argv`` and leave with its exit code."""
    usual = gc.get_threshold()
    gc.set_threshold(_GARBAGE_AFTER)
    atexit.register(gc.freeze)
    try:
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
            sys.stderr.write(f"packsim: cannot write: {error.strerror}\n")
        code = 1
    finally:
        gc.freeze()  # and melt: nothing is counted as new now, which would be looked through
        gc.unfreeze()
        gc.set_threshold(*usual)
    sys.exit(code)
