"""End on a signal as on Ctrl-C, so that what lies in temporary folders is removed."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Final

# A service manager or `kill` ends a program by the first, a terminal that closes by the second
# (POSIX), Windows by the third.
ENDING_SIGNALS: Final = ("SIGTERM", "SIGHUP", "SIGBREAK")


@contextmanager
def interrupted_by_signals() -> Iterator[None]:
    """Raise KeyboardInterrupt within the `with` block where a signal asks the program to end.

    A signal that was ignored before stays ignored, as `nohup` wants it. Call it in the main thread.
    """
    replaced = {}
    for name in ENDING_SIGNALS:
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) is signal.SIG_DFL:
            replaced[number] = signal.signal(number, _interrupt)
    try:
        yield
    finally:
        for number, handler in replaced.items():
            signal.signal(number, handler)


def _interrupt(number: int, _: FrameType | None) -> None:
    signal.signal(number, signal.SIG_IGN)  # a second one must not stop the clearing up
    raise KeyboardInterrupt
