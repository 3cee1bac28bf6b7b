"""What is said of a key that nothing has."""

from collections.abc import Iterable
from difflib import get_close_matches


def unknown(what: str, key: object, known: Iterable[str]) -> KeyError:
    """Return the error for a key that nothing has: it names the nearest keys first, then all.

    what: the kind of thing that was asked for, such as `measure`.
    """
    names = list(known)
    nearest = get_close_matches(str(key), names)
    if nearest:
        meant = f" Perhaps {' or '.join(map(repr, nearest))}."
    else:
        meant = ""
    listed = ", ".join(map(repr, names)) or "none"
    return KeyError(f"There is no {what} {key!r}.{meant} There are: {listed}.")
