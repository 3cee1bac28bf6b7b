"""What readers call the dimensions in which the values of a log lie."""

from typing import Final

from reportgen.importing.model.layouts import Dimension
from reportgen.language import marked

DIMENSION_NAMES: Final = {
    Dimension.TREATMENT: marked("treatment"),
    Dimension.BLOCK: marked("block"),
    Dimension.UNIT: marked("tray"),
    Dimension.PLANT: marked("plant"),
    Dimension.OCCASION: marked("day"),
    Dimension.EVENT: marked("event"),
    Dimension.METER: marked("meter"),
    Dimension.GRADE: marked("grade"),
}
