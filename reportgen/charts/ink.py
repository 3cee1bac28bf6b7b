"""The colour of text and axes: the page's own, and what stands for it where there is no page."""

from typing import Final

INK: Final = "currentColor"  # text, axes, and marks that are of no treatment
INK_ON_LIGHT: Final = "#23282d"
INK_ON_DARK: Final = "#e8ebe6"
