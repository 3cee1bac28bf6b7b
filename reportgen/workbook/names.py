"""How names are compared."""

import unicodedata


def folded(name: str) -> str:
    """Return a name as it is matched: without case, accents, spaces, underscores, hyphens."""
    return "".join(sign for sign in _decomposed(name) if sign.isalnum())


def bare(word: str) -> str:
    """Return a word without case and accents."""
    return "".join(sign for sign in _decomposed(word) if not unicodedata.combining(sign))


def _decomposed(text: str) -> str:
    return unicodedata.normalize("NFKD", text).casefold()
