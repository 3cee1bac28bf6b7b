"""Stage 3: every label set of a table with its levels, and its columns of values."""

from reportgen.importing.carriers.label_sets import labels_of
from reportgen.importing.carriers.lists import with_lists
from reportgen.importing.carriers.resolving import resolve

__all__ = ["labels_of", "resolve", "with_lists"]
