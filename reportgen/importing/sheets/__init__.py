"""Stage 10: a workbook of the declaration, made of the long form."""

from reportgen.importing.sheets.giving import give, give_beside, outside_trial

__all__ = ["give", "give_beside", "outside_trial"]
