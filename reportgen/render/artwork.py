"""Draw each picture once, and some in a second process while this one sets the rest.

A picture is what a function makes of texts and numbers alone, so that the same arguments give the
same bytes in either process.
"""

from collections import OrderedDict, deque
from collections.abc import Callable, Sequence
from typing import Any, Final, TypeVar, TypeVarTuple

from reportgen import second_process
from reportgen.second_process import Request, SecondProcess

Arguments = TypeVarTuple("Arguments")
Picture = TypeVar("Picture", str, bytes)

MOST_KEPT: Final = 500  # pictures, which are those of some five reports and take about 40 MB


class Drawings:
    """The pictures drawn last, and those that the second process still draws."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Request, Any] = OrderedDict()
        self._asked: deque[Request] = deque()
        self._second: SecondProcess | None = None

    def start(self) -> None:
        """Start the second process, so that it is ready when it is asked."""
        if self._second is None and second_process.is_of_use():
            try:
                self._second = SecondProcess()
            except OSError:  # no process can be started: this one draws all
                self._second = None

    def ask(self, requests: Sequence[Request]) -> None:
        """Let the second process draw what is not drawn yet; nothing where there is none."""
        while self._asked:
            self._take()
        wanted = [one for one in dict.fromkeys(requests) if one not in self._kept]
        if self._second is None or not wanted:
            return
        try:
            self._second.ask(wanted)
        except OSError:
            self._second = None
        else:
            self._asked.extend(wanted)

    def picture(self, request: Request) -> Any:
        """Return a picture: one that is kept, one that the second process was asked for, else a new
        one.
        """
        while request in self._asked:
            self._take()
        if request not in self._kept:
            function, arguments = request
            self._keep(request, function(*arguments))
        self._kept.move_to_end(request)
        return self._kept[request]

    def _take(self) -> None:
        """Keep the next picture of the second process; what it cannot draw is drawn here."""
        request = self._asked.popleft()
        if self._second is None:
            return
        try:
            answer = self._second.answer()
        except (EOFError, OSError):
            self._second = None
            self._asked.clear()
        else:
            if not answer.failed:
                self._keep(request, answer.value)

    def _keep(self, request: Request, picture: Any) -> None:
        self._kept[request] = picture
        while len(self._kept) > MOST_KEPT:
            self._kept.popitem(last=False)


DRAWINGS: Final = Drawings()


def start() -> None:
    """Start the second process where this computer has room for it."""
    DRAWINGS.start()


def ahead(requests: Sequence[Request]) -> None:
    """Begin to draw in the second process what will be asked for soon."""
    DRAWINGS.ask(requests)


def made(function: Callable[[*Arguments], Picture], *arguments: *Arguments) -> Picture:
    """Return what a function of a module makes of its arguments, which is done once."""
    picture: Picture = DRAWINGS.picture((function, arguments))
    return picture
