"""What rows and cells of a sheet are called in messages.

A sheet that was made of its owner's own spreadsheet has other rows than that: messages name the
rows that he finds.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

Naming = Callable[[str, str], str]  # a sheet, and a row or cell of it -> what its owner calls that


def _as_it_is(_: str, place: str) -> str:
    return place


_current: ContextVar[Naming] = ContextVar("naming", default=_as_it_is)


@contextmanager
def naming(by: Naming) -> Iterator[None]:
    """Call rows and cells as a function says for as long as the context lasts."""
    token = _current.set(by)
    try:
        yield
    finally:
        _current.reset(token)


def named(sheet: str, place: str) -> str:
    """Return what a row such as `7` or a cell such as `C7` of a sheet is called."""
    return _current.get()(sheet, place)
