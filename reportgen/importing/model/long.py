"""Stage 6 gives the long form: a pandas frame with one row a value, of these columns."""

from typing import Final

LAYOUT: Final = "layout"  # index of the layout in the settings
VALUES: Final = "values"  # index of its `Values`
TABLE: Final = "table"  # key of the table
SHEET: Final = "sheet"  # index of the sheet
ROW: Final = "row"  # of the sheet, from 1
COLUMN: Final = "column"  # of the sheet, from 1
QUANTITY: Final = "quantity"  # declared column, such as Fresh weight, or the owner's name
UNIT_OF_MEASURE: Final = "measure_unit"
COVERS: Final = "covers"  # of `Covers`
COUNT: Final = "count"  # plants that the value covers; nan where not told
TREATMENT: Final = "treatment"
BLOCK: Final = "block"
UNIT: Final = "unit"  # tray, pot, tent
PLANT: Final = "plant"
OCCASION: Final = "occasion"  # str: an ISO date or moment where the label is one, else the label
EVENT: Final = "event"
METER: Final = "meter"
GRADE: Final = "grade"
VALUE: Final = "value"  # in the unit of measure as it stands, nan where none
STATE: Final = "state"  # "value", "blank", "missing", "lost", "zero"
COLUMNS: Final = (
    LAYOUT, VALUES, TABLE, SHEET, ROW, COLUMN, QUANTITY, UNIT_OF_MEASURE, COVERS, COUNT, TREATMENT, BLOCK, UNIT, PLANT,
    OCCASION, EVENT, METER, GRADE, VALUE, STATE, )  # fmt: skip
