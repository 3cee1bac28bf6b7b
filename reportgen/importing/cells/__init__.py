"""Stage 1: each cell of a log once, typed; csv and xlsx of one log are equal from here on."""

from reportgen.importing.cells.dates import date_in
from reportgen.importing.cells.files import Opened, open_log, read_log, typed_log
from reportgen.importing.cells.sheet import typed

__all__ = ["Opened", "date_in", "open_log", "read_log", "typed", "typed_log"]
