"""Run the commands as `python -m reportgen`, or as `reportgen`."""

import sys


def run() -> None:
    """Run a command; Ctrl-C while it is still being loaded, or already ends, says no more than at another time."""
    try:
        from reportgen.cli import main

        main(prog_name="reportgen")
    except KeyboardInterrupt:
        sys.exit("Aborted!")


if __name__ == "__main__":
    run()
