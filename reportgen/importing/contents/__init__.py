"""Stage 5, what is measured: the value columns of a table, of what quantity and in what unit each."""

from reportgen.importing.contents.candidates import contents
from reportgen.importing.contents.profiles import unit_around
from reportgen.importing.contents.sideways import runs_sideways

__all__ = ["contents", "runs_sideways", "unit_around"]
