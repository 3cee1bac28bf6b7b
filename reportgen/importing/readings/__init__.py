"""Stage 5: all layouts of a table that keep the constraints, best evidence first."""

from reportgen.importing.readings.reading import readings

__all__ = ["readings"]
