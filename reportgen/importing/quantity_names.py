"""Quantities as messages name them."""

from typing import Final

from reportgen.language import marked, say

NAMES: Final = (
    marked("Fresh weight"),
    marked("Dry weight"),
    marked("Root weight"),
    marked("Start weight"),
    marked("Weight"),
    marked("Height"),
    marked("Leaves"),
    marked("Count"),
    marked("Volume"),
    marked("Reading"),
    marked("EC"),
    marked("pH"),
    marked("PPFD"),
    marked("CO2"),
    marked("Temperature"),
    marked("Air temperature"),
    marked("Relative humidity"),
    marked("Solution temperature"),
)


def quantity_text(name: str) -> str:
    """Return a declared quantity in the language, a measure of its owner's own as he calls it."""
    if name in NAMES:
        return say(name)
    return name
