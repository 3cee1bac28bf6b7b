"""Tables that run sideways: the names of what was measured stand down the first column, not in a
row above.
"""

from typing import Final

from reportgen.importing.clues.dimension_words import named_dimensions, names_quantity
from reportgen.importing.model.tables import Table

FEWEST_NAMES: Final = 3
LEAST_SHARE: Final = 0.6  # of the first column are names in a table that runs sideways
FEW_SHARE: Final = 0.2  # of the headers may be names, too: `P10`


def runs_sideways(table: Table) -> bool:
    """Tell whether the first column of a table names dimensions and quantities.

    Its header row then names none.
    """
    if len(table.columns) <= FEWEST_NAMES or len(table.row) == 0:
        return False
    first, *others = [column.header for column in table.columns]
    above = list(filter(_is_name, others))
    if len(above) > FEW_SHARE * len(table.columns):
        return False
    texts = list(filter(None, [first, *map(str, table.text[:, 0])]))
    named = list(filter(_is_name, texts))
    if len(named) < FEWEST_NAMES or len(named) < LEAST_SHARE * len(texts):
        return False
    return any(map(named_dimensions, named)) and any(map(names_quantity, named))


def _is_name(text: str) -> bool:
    return bool(named_dimensions(text)) or names_quantity(text)
