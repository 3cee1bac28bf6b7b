"""Run the commands as `python -m reportgen`, or as `reportgen`."""

import atexit
import contextlib
import gc
import os
import sys
from typing import Final

OBJECTS_BETWEEN: Final = (
    200_000  # new ones before cycles are looked for: the cells of a long log are many, none in one
)


def run() -> None:
    """Run a command; Ctrl-C while it is still being loaded, or already ends, says no more than at
    another time.

    Output that finds no room ends it with one line; where nobody reads the output any more, without
    a word.
    """
    gc.set_threshold(OBJECTS_BETWEEN)
    atexit.register(gc.freeze)  # what is left goes with the process, without a last look for cycles
    try:
        from reportgen.cli import main

        main(prog_name="reportgen")
    except KeyboardInterrupt:
        sys.exit("Aborted!")
    except BrokenPipeError:
        _drop_output()
        sys.exit(1)
    except OSError as error:
        if error.filename:
            where = f"{error.filename}: "
        else:
            where = "The output cannot be written: "
        _drop_output()
        with contextlib.suppress(OSError):
            print(f"Error: {where}{error.strerror or error}.", file=sys.stderr, flush=True)
        sys.exit(1)


def _drop_output() -> None:
    """Let what is still to be written go nowhere, so that the end of the process does not try once
    more.
    """
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)


if __name__ == "__main__":
    run()
