"""The trial workbook: its declaration, reading and checking."""

from reportgen.workbook.cells import Workbook, read
from reportgen.workbook.checking import Outlook, check, light_survey, outlook, problems_in

__all__ = ["Outlook", "Workbook", "check", "light_survey", "outlook", "problems_in", "read"]
