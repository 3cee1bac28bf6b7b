"""Stage 6: the long form of a log, one row a value, by its layouts."""

from reportgen.importing.long_form.amounts import column_indexes, factor_between
from reportgen.importing.long_form.harvests import harvest, occasion_ranks, occasions_in_order
from reportgen.importing.long_form.melting import melt, melt_layout, together
from reportgen.importing.long_form.places import (
    STATISTIC,
    Amended,
    amended,
    cells_named,
    text_of_cells,
)

__all__ = [
    "STATISTIC",
    "Amended",
    "amended",
    "cells_named",
    "column_indexes",
    "factor_between",
    "harvest",
    "melt",
    "melt_layout",
    "occasion_ranks",
    "occasions_in_order",
    "text_of_cells",
    "together",
]
