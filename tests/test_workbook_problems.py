"""Each mistake that a workbook can hold gives the one message that names its cell, what stands
there, and its remedy.
"""

# ruff: noqa: E501 - one planted mistake a line reads best

import re
from datetime import date, datetime

import pytest

from tests import workbooks
from tests.spoiling import (
    both,
    cells,
    every,
    renamed,
    with_rows,
    without_column,
    without_rows,
    without_sheet,
)
from tests.workbooks import findings, good, put, said, write

# Each entry plants one mistake: what is altered, then severity and place of its one message, words
# found, words of advice.
MISTAKES = {
    # Missing and repeated things
    "a missing sheet": (without_sheet("Trays"), "error", "Trays", "no sheet named Trays", "Add the sheet"),
    "a missing sheet of treatments": (without_sheet("Treatments"), "error", "Treatments", "no sheet named Treatments", "Add the sheet"),
    "a missing Trial sheet": (without_sheet("Trial"), "error", "Trial", "no sheet named Trial", "Add the sheet"),
    "a misspelt sheet": (renamed("Treatments", "Tretments"), "error", "Treatments", 'but one named "Tretments"', "Rename it to Treatments."),
    "a misspelt sheet of plants": (renamed("Plants", "Plnts"), "error", "Plants", 'but one named "Plnts"', "Rename it to Plants."),
    "a misspelt sheet that may be missing": (renamed("Solution", "Soluton"), "remark", "", 'sheets that are not used: "Soluton" (A1:G19)', "Did you mean Solution?"),
    "a sheet that is not used": (lambda sheets: {**sheets, "Diary": [["wet day"]]}, "remark", "", 'sheets that are not used: "Diary" (A1)', "left alone"),
    "two sheets of one name": (lambda sheets: {**sheets, "plants_": [["x"]]}, "error", "plants_!A1", "both named like the sheet Plants", "Rename or delete"),
    "an empty sheet": (lambda sheets: {**sheets, "Trays": []}, "error", "Trays", "the sheet is empty", "Fill it in"),
    "an empty Trial sheet": (lambda sheets: {**sheets, "Trial": []}, "error", "Trial", "the sheet is empty", "Fill it in"),
    "treatments with a header only": (without_rows("Treatments", 2, 3), "error", "Treatments", "no rows below the header", "Fill it in"),
    "trays with a header only": (without_rows("Trays", *range(2, 8)), "error", "Trays", "no rows below the header", "Fill it in"),
    "a header row deleted": (without_rows("Trays", 1), "error", "Trays!A1:D6", "no names of this sheet in any row, though it holds values", "Fill it in"),
    "the field names deleted": (without_column("Trial", 1), "error", "Trial!A1:A8", "no names of this sheet in column A, though it holds values", "Fill it in"),
    "the values deleted": (without_column("Trial", 2), "to come", "Trial!B2:B7", "Title, Crop, Started on, Harvested on and Reference treatment", "Fill it in"),
    "a missing column": (without_column("Trays", 2), "error", "Trays", "no column Treatment", "Add it"),
    "weights without the number of plants": (without_column("Trays", 4), "caution", "Trays", "it is not known how many plants 6 trays were started with", "Fill it in where you know it"),
    "a header cleared": (cells(Trays_D1=None), "error", "Trays!D2:D7", '"4" and 5 more have no column name: D1 is blank', "such as Position, Plants started or Main plot"),
    "a header cleared of what may be missing": (cells(Trays_C1=None), "error", "Trays!C2:C7", '"1" and 5 more have no column name: C1 is blank', "such as Block, Position or Main plot"),
    "a header cleared of a few words": (cells(Meter_E1=None, Meter_E5="yes"), "error", "Meter!E5", '"yes" has no column name: E1 is blank', "such as Reset or Note"),
    "a header cleared within the table": (cells(Trays_D1=None, Trays_D4="x", Trays_E1="Plants started", **{f"Trays_E{row}": 4 for row in range(2, 8)}, **{f"Trays_D{row}": None for row in (2, 3, 5, 6, 7)}), "error", "Trays!D4", '"x" has no column name: D1 is blank', "Write in D1"),
    "a field cleared": (cells(Trial_A3=None), "error", "Trial!B3", "no field Crop, but B3 has no name", "write Crop in A3"),
    "a field cleared of what may be missing": (cells(Trial_B10="pooled"), "error", "Trial!B10", '"pooled" has no field name: A10 is blank', "such as Variances"),
    "a sheet that may be missing without its header": (without_rows("Meter", 1), "error", "Meter!A1:D6", "no names of this sheet in any row", "Fill it in"),
    "data above the header": (lambda sheets: sheets | {"Solution": [sheets["Solution"][at] for at in (*range(1, 4), 0, *range(4, 19))]}, "error", "Solution!A1:G3", "3 rows of data above the header in row 4", "Move the header up"),
    "a title above the header": (lambda sheets: sheets | {"Plants": [["Harvest"], [None, None, "in g"], *sheets["Plants"]]}, "remark", "Plants!A1:C2", '"Harvest" stands above the header in row 3', "left alone"),
    "a note beside the table": (cells(Plants_H4="weighed twice"), "remark", "Plants!H4", '"weighed twice" stands beside the columns', "write in H1 what it is"),
    "sums beside the table": (cells(Plants_H4="mean", Plants_I4=23.1, Plants_H5="sum", Plants_I5=580), "remark", "Plants!H4:I5", '"mean" and 3 more stand beside the columns', "left alone"),
    "a formula without a value beside the table": (cells(Plants_H4="=1+1"), "remark", "Plants!H4", '"=1+1" stands beside the columns', "left alone"),
    "a note beside the fields": (cells(Trial_D3="ask again"), "remark", "Trial!D3", '"ask again" stands beside the fields', "left alone"),
    "a measurement below the data": (lambda sheets: {**sheets, "Growth": [["Tray", "Date", "Cover (%)"], ["A1", date(2026, 4, 8), 4], ["A1", date(2026, 4, 9), 5], [None, None, 6]]}, "error", "Growth!A4", "Tray and Date are not filled in yet", "Fill it in"),
    "a missing key column": (without_column("Plants", 1), "error", "Plants", "no column Tray", "Add it"),
    "a misspelt weight column": (cells(Plants_C1="Frsh weight (g)"), "error", "Plants", 'no column Fresh weight, but one named "Frsh weight (g)"', "Rename it to Fresh weight (g)."),
    "a misspelt number of plants": (cells(Trays_D1="Plant started"), "error", "Trays", 'no column Plants started, but one named "Plant started"', "Rename it to Plants started."),
    "nothing measured but seen": (both(lambda sheets: {**sheets, "Observations": [["Date", "Observation"], [workbooks.HARVEST, "dry leaves"]]}, both(both(without_sheet("Solution"), without_sheet("Meter")), both(every("Plants", 3, lambda _: None), without_column("Plants", 4)))), "error", "Plants!C2:C25", "nothing has been measured yet", "rows of Growth, Harvests, Solution, Meter or Loads"),
    "a dead plant with a dry weight": (both(cells(Plants_C1="Dry weight (g)"), cells(Plants_E5="dead")), "error", "Plants!C5", "a plant that is dead has a dry weight", "Clear the weight"),
    "a dry weight with the point forgotten": (both(cells(Plants_C1="Dry weight (g)"), cells(Plants_C5=212)), "caution", "Plants!C5", '212 g is about 10 times what others of "half" have', "Type 21.2 if the point slipped"),
    "a dry weight that the report flags": (both(cells(Plants_C1="Dry weight (g)"), cells(Plants_C5=41)), "remark", "Plants!C5", 'usual spreads above the middle of "half"', "As it stands the report flags it"),
    "a misspelt column": (cells(Trays_B1="Tratment"), "error", "Trays", 'no column Treatment, but one named "Tratment"', "Rename it to Treatment."),
    "a misspelt column that may be missing": (cells(Solution_E1="Notes"), "remark", "Solution!E1:E19", '"Notes" is not a column', "Did you mean Note?"),
    "a missing field": (without_rows("Trial", 3), "error", "Trial", "no field Crop", "Add it"),
    "a misspelt field": (cells(Trial_A3="Corp"), "error", "Trial", 'no field Crop, but one named "Corp"', "Rename it to Crop."),
    "an unknown field": (cells(Trial_A9="Moon", Trial_B9="full"), "remark", "Trial!A9:B9", '"Moon" is not a field', "left alone"),
    "a column twice": (cells(Plants_F1="fresh weight (oz)"), "error", "Plants!F1", '"fresh weight (oz)" stands here and in C1', "Rename or delete"),
    "a trait twice": (both(cells(Plants_F1="Stem (mm)", Plants_G1="stem (mm)"), cells(Plants_F2=3, Plants_G2=3)), "error", "Plants!G1", "stands here and in F1", "Rename or delete"),
    "a field twice": (cells(Trial_A9="Crop", Trial_B9="basil"), "error", "Trial!A9", '"Crop" stands here and in A3', "Rename or delete"),
    "a blank that is required": (cells(Solution_D4=None), "error", "Solution!D4", "Volume is not filled in yet", "Fill it in"),
    "a row with only its code": (cells(Trays_B3=None, Trays_D3=None), "error", "Trays!B3", "Treatment is not filled in yet", "Fill it in"),
    "a blank tray code": (cells(Trays_A4=None), "error", "Trays!A4", "Tray is not filled in yet", "Fill it in"),
    "a plant twice": (cells(Plants_B3=1), "error", "Plants!B3", '"A1, 1" stands in row 2 too', "Delete one of the rows"),
    "a tray twice": (cells(Trays_A3="a1"), "error", "Trays!A3", '"a1" stands in row 2 too', "Delete one of the rows"),
    "a treatment twice": (cells(Treatments_A3="half"), "error", "Treatments!A3", '"half" stands in row 2 too', "Delete one of the rows"),
    "a reading twice": (with_rows("Meter", ["m-half", "half", datetime(2026, 4, 20, 9), 106.5]), "error", "Meter!C8", "stands in row 3 too", "Delete one of the rows"),
    # Codes
    "an unknown treatment": (cells(Trays_B3="haf"), "error", "Trays!B3", '"haf" is not on the sheet Treatments', "Did you mean half?"),
    "an unknown tray": (cells(Plants_A4="X9"), "error", "Plants!A4", '"X9" is not on the sheet Trays', "Type one of these"),
    "a tray deleted that others name": (without_rows("Trays", 7), "error", "Plants!A22", '"B3" (here and in 6 more cells) is not on the sheet Trays', "Type one of these"),
    "a treatment of a meter unknown": (cells(Meter_B3="hallf"), "error", "Meter!B3", '"hallf" is not on the sheet Treatments', "Did you mean half?"),
    "a reference that is not there": (cells(Trial_B7="none"), "error", "Trial!B7", '"none" is not on the sheet Treatments', "Type one of these"),
    "a treatment deleted": (without_rows("Treatments", 3), "error", "Trays!B5", '"full" (here and in 5 more cells)', "Type one of these"),
    "a code that became a date": (cells(Treatments_A3=date(2026, 3, 1)), "error", "Treatments!A3", '"2026-03-01" is a date', "format the column as text"),
    "a code that means all": (with_rows("Treatments", ["All", "Both"]), "error", "Treatments!A4", '"All" stands for every treatment', "Rename it"),
    "a code that may have been changed": (both(every("Trays", 2, lambda code: {"full": 1.1}.get(code, code)), every("Meter", 2, lambda code: {"full": 1.1}.get(code, code)), cells(Treatments_A3=1.1)), "caution", "Treatments!A3", '"1.1" is kept as a number', "1.1 of 1.10"),
    # Single cells
    "a letter O in a number": (cells(Plants_C3="12O"), "error", "Plants!C3", '"12O" is not a number', "Type 120."),
    "a letter l in a number": (cells(Solution_D2="l.5"), "error", "Solution!D2", '"l.5" is not a number', "Type 1.5."),
    "a word for a number": (cells(Plants_D3="tall"), "error", "Plants!D3", '"tall" is not a number', "Type digits"),
    "a date for a number": (cells(Plants_C3=date(2026, 1, 5)), "error", "Plants!C3", "is a date or a time, not a number", "format the cell as a number"),
    "yes for a number": (cells(Plants_C3=True), "error", "Plants!C3", '"TRUE" is not a number', "Type the number"),
    "a thousand or a decimal": (cells(Plants_C3="1,234"), "error", "Plants!C3", "could be a thousand or a decimal", "Type 1234 or 1.234."),
    "a fraction of a plant": (cells(Trays_D3=3.5), "error", "Trays!D3", '"3.5" is not a whole number', "Type a whole number"),
    "not a date": (cells(Solution_B2="spring"), "error", "Solution!B2", '"spring" is not a date', "year-month-day"),
    "no date of the calendar": (cells(Solution_B2="2026-02-30"), "error", "Solution!B2", "is not a date of the calendar", "year-month-day"),
    "a date kept as a number": (cells(Solution_B2=46113), "error", "Solution!B2", '"46113" is not a date', "format the cell as a date"),
    "an ambiguous date": (cells(Solution_B3="03/04/2026"), "error", "Solution!B3", "could be two dates: day and month could be swapped", "year-month-day"),
    "a column of ambiguous dates": (every("Solution", 2, lambda day: f"{day:%m/%d/%Y}".replace("20/2", "09/2")), "error", "Solution!B2:B19", '"04/01/2026" and 17 more could be two dates', "year-month-day"),
    "a word that is not listed": (cells(Plants_E5="harvestd"), "error", "Plants!E5", '"harvestd" is not one of the words', "Did you mean harvested?"),
    "an event that is not listed": (cells(Solution_C2="tipping"), "error", "Solution!C2", '"tipping" is not one of the words', "Type one of these words"),
    "neither yes nor no": (cells(Meter_E3="maybe"), "error", "Meter!E3", '"maybe" is neither yes nor no', "Type yes or no"),
    "no currency": (cells(Trial_A9="Currency", Trial_B9="Taler"), "error", "Trial!B9", '"Taler" is not a currency code', "three letters"),
    "no language": (cells(Trial_A9="Language", Trial_B9="English please"), "error", "Trial!B9", '"English please" is not a language tag', "Type the tag"),
    "a level of confidence that is none": (cells(Trial_A9="Confidence level", Trial_B9="20%"), "error", "Trial!B9", '"20%" is not possible here', "Check 20%"),
    "an error of the spreadsheet": (cells(Plants_C5="#DIV/0!"), "error", "Plants!C5", '"#DIV/0!" is an error of the spreadsheet', "Mend the formula"),
    "an error of the spreadsheet in a code": (cells(Plants_A5="#REF!"), "error", "Plants!A5", '"#REF!" is an error of the spreadsheet', "Mend the formula"),
    "a formula never computed": (cells(Plants_C5="=1+2"), "error", "Plants!C5", "1 formula that no program has computed", "save it"),
    "a column of formulas never computed": (every("Plants", 3, "={}/1000".format), "error", "Plants!C2:C25", "24 formulas that no program has computed", "save it"),
    "a negative weight": (cells(Plants_C5=-3), "error", "Plants!C5", '"-3" is not possible here', "Check -3"),
    "a pH beyond 14": (cells(Solution_F2=15), "error", "Solution!F2", '"15" is not possible here', "Check 15"),
    "an unusual pH": (cells(Solution_F2=3.1), "caution", "Solution!F2", "3.1 is unusual for pH", "Check the value"),
    "an unusual EC": (cells(Solution_E2=16), "caution", "Solution!E2", "16 mS/cm is about 10 times what others of \"fill\" have", "Type 1.6 if the point slipped"),
    "an EC in the wrong unit": (cells(Solution_E2=1600), "error", "Solution!E2", '"1600" is not possible here', "Check 1600"),
    "a day of 25 hours": (cells(Treatments_D1="Photoperiod (h)", Treatments_D2=25), "error", "Treatments!D2", '"25" is not possible here', "Check 25"),
    "a number too large to be true": (cells(Solution_D2=1e300), "error", "Solution!D2", '"1e+300" is too large to be true', "Type the value again"),
    "grams typed for kilograms": (cells(Plants_C5=25000), "caution", "Plants!C5", "25000 g is about 1000 times what others", "Type 25 if the point slipped or the number is in mg"),
    "kilograms typed for grams": (cells(Plants_C5=0.025), "caution", "Plants!C5", "0.025 g is about 1/1000 of what others", "Type 25 if the point slipped or the number is in kg"),
    "a point forgotten": (cells(Plants_C5=212), "caution", "Plants!C5", '212 g is about 10 times what others of "half" have', "Type 21.2 if the point slipped"),
    "a point too early": (cells(Plants_C5=2.12), "caution", "Plants!C5", '2.12 g is about 1/10 of what others of "half" have', "Type 21.2 if the point slipped"),
    "a point forgotten in a height": (cells(Plants_D5=175), "caution", "Plants!D5", "175 cm is about 10 times what others", "Type 17.5 if the point slipped"),
    "a point forgotten in a column of ounces": (cells(Plants_C1="Fresh weight (oz)", Plants_C5=212), "caution", "Plants!C5", "212 oz is about 10 times what others", "Type 21.2 if the point slipped"),
    "a weight of another size": (cells(Plants_C5=3500), "caution", "Plants!C5", "times the median of the column", "Check the unit"),
    "a weight that the report flags": (cells(Plants_C5=41), "remark", "Plants!C5", 'usual spreads above the middle of "half"', "As it stands the report flags it"),
    "a block misspelt": (both(every("Trays", 3, "shelf {}".format), cells(Trays_C3="shelf 2x")), "caution", "Trays!C3", '"shelf 2x" stands here only, and is nearly "shelf 2" in C6', "If both are one"),
    "a block in capitals": (both(every("Trays", 3, "shelf {}".format), cells(Trays_C2="Shelf 1")), "caution", "Trays!C2", '"Shelf 1" stands here only, and is nearly "shelf 1" in C5', "If both are one"),
    "a plant heavier dry than fresh": (cells(Plants_F1="Dry weight (g)", Plants_F2=30), "caution", "Plants!F2", "dry weight 30 g is above fresh weight 22 g", "Check both weights"),
    "a unit of another dimension": (cells(Plants_C1="Fresh weight (cm)"), "error", "Plants!C1", '"Fresh weight (cm)" is not in a unit', "Fresh weight (g)"),
    "a unit of another dimension in a cell": (cells(Plants_C5="5 cm"), "error", "Plants!C5", '"5 cm" is in cm', "Type the value in g"),
    "a weight without a unit": (cells(Plants_C1="Fresh weight"), "remark", "Plants!C1", '"Fresh weight" has no unit', "It was taken as g."),
    "a price without a unit": (cells(Trial_A8="Electricity price", Trial_A9="Currency", Trial_B9="USD"), "remark", "Trial!A8", '"Electricity price" has no unit', "It was taken as per kWh."),
    "a number kept as text": (cells(Plants_C5="21.5", Plants_C6="22.5"), "remark", "Plants!C5", "2 numbers of Fresh weight kept as text", "read as numbers"),
    # Rows that are no data
    "a total among the data": (with_rows("Plants", ["Total", None, 580.0]), "error", "Plants!A26", '"Total" looks like a total or an average', "Delete the row"),
    "an average within a tray": (with_rows("Plants", ["A1", "Mean:", 23.5]), "error", "Plants!B26", '"Mean:" looks like a total or an average', "Delete the row"),
    "a note below the data": (with_rows("Plants", ["* weighed wet"]), "error", "Plants!A26", '"* weighed wet" stands alone in its row', "move the note"),
    "a header repeated": (lambda sheets: sheets | {"Plants": [*sheets["Plants"], sheets["Plants"][0]]}, "error", "Plants!A26", "the header stands here again", "Delete the row"),
    # Dates and sheets together
    "a harvest before the start": (cells(Trial_B6=date(2026, 3, 20)), "error", "Trial!B6", "harvest on 2026-03-20 is not after the start", "Mend one"),
    "a harvest with day and month swapped": (cells(Trial_B5=date(2026, 5, 1), Trial_B6=date(2026, 3, 6)), "error", "Trial!B6", "is not after the start", "Are day and month swapped?"),
    "a sowing after the start": (cells(Trial_B4=date(2026, 4, 10)), "error", "Trial!B4", "sowing on 2026-04-10 is after the start", "Mend one"),
    "a date before the start": (cells(Solution_B2=date(2026, 3, 28)), "caution", "Solution!B2", "2026-03-28 outside the trial", "Check the date"),
    "dates after the harvest": (cells(Solution_B4=date(2026, 5, 20), Solution_B7=date(2026, 5, 20)), "caution", "Solution!B4:B7", "2026-05-20 outside the trial", "Check the date"),
    "a day and month swapped": (cells(Solution_B3=date(2026, 10, 4)), "caution", "Solution!B3", "2026-10-04 outside the trial", "Are day and month swapped?"),
    "light measured years before": (lambda sheets: {**sheets, "Light": [["Treatment", "Date", "PPFD (µmol/m2/s)"], ["half", date(2024, 4, 1), 210]]}, "caution", "Light!B2", "2024-04-01 outside the trial", "Check the date"),
    "a calibration years before": (lambda sheets: {**sheets, "Instruments": [["Instrument", "Measures", "Calibrated on"], ["scale", "weight", date(2016, 3, 1)]]}, "caution", "Instruments!C2", "2016-03-01 more than a year away from the trial", "Check the date"),
    "a sowing years before": (cells(Trial_B4=date(2024, 3, 10)), "caution", "Trial!B4", "2024-03-10 more than a year away from the trial", "it was used as it stands"),
    "a year mistyped in the harvest": (both(cells(Trial_B6=date(2027, 5, 6)), without_sheet("Meter")), "caution", "Trial!B6", "2027-05-06 is more than a year from the records", "Type 2026-05-06 if the year slipped"),
    "a tray harvested after the trial": (cells(Trays_E1="Harvested on", Trays_E2=date(2027, 5, 6)), "caution", "Trays!E2", "2027-05-06 is a year off the trial", "Type 2026-05-06 if the year slipped"),
    "a harvested plant without a weight": (cells(Plants_C5=None), "error", "Plants!C5", "Fresh weight is not filled in yet", "write in Status"),
    "a dead plant with a weight": (cells(Plants_E5="dead"), "error", "Plants!C5", "a plant that is dead has a fresh weight", "Clear the weight"),
    "a weight of no plant": (cells(Plants_F1="Plants weighed", Plants_F5=0), "error", "Plants!F5", "no plant was weighed, and the fresh weight is", "Type their number"),
    "a tray without plants": (without_rows("Plants", *range(2, 6)), "error", "Trays!A2", 'no plant of tray "A1" is on the sheet Plants', "Add them"),
    "more plants than started": (cells(Trays_D2=3), "error", "Trays!D2", 'tray "A1" has 4 plants on the sheet Plants, 3 started', "Mend the number"),
    "a plant not accounted for": (without_rows("Plants", 5), "caution", "Trays!D2", 'tray "A1" has 3 plants on the sheet Plants, 4 started', "count as lost"),
    "a tray without a fill": (cells(Solution_C2="top-up"), "caution", "Trays!A2", 'tray "A1" has no fill', "left out of the water"),
    "a tray without what remained": (without_rows("Solution", 4), "caution", "Trays!A2", 'tray "A1" has no remaining', "Add the missing rows"),
    "more water out than in": (cells(Solution_D4=9), "error", "Trays!A2", 'more solution came out of tray "A1" than went in: 9 L of 6.5 L', "missing fill"),
    "a falling meter": (cells(Meter_D4=101), "error", "Meter!D4", 'meter "m-half" falls from 106.5 kWh in row 3 to 101 kWh', "write yes in Reset"),
    "a meter that was reset": (cells(Meter_D4=3, Meter_E4="yes"), "caution", "Meter!E4", 'meter "m-half" was reset', "not known and not counted"),
    "a meter read too late": (cells(Meter_C2=datetime(2026, 4, 15)), "caution", "Meter!C2", "60% of the trial", "left out as not known"),
    "a meter read once": (with_rows("Meter", ["house", "all", datetime(2026, 4, 9), 5]), "caution", "Meter!A8", 'meter "house" was read once only', "nothing of the energy"),
    "a meter misspelt": (cells(Meter_A4="m-halv"), "caution", "Meter!A4", 'meter "m-halv" was read once only', "Did you mean m-half?"),
    "a meter of two treatments": (cells(Meter_B4="full"), "error", "Meter!B4", 'meter "m-half" counts for "full" here and for "half" in row 2', "another name"),
    "a treatment without trays": (with_rows("Treatments", ["third", "Third"]), "error", "Treatments!A4", 'no tray with plants has the treatment "third"', "Add its trays"),
    "one treatment only": (both(without_rows("Treatments", 3), without_rows("Trays", 5, 6, 7), without_rows("Plants", *range(14, 26)), without_rows("Solution", *range(11, 20)), without_rows("Meter", 5, 6, 7)), "error", "Treatments!A2", "1 treatment", "Add a row for each treatment"),
    "blocks that hold one treatment each": (cells(Trays_C2=1, Trays_C3=2, Trays_C4=3, Trays_C5=4, Trays_C6=5, Trays_C7=6), "caution", "Trays!C2:C7", "no block holds more than one treatment", "were not used"),
    "a block with another number": (cells(Trays_C3=22), "caution", "Trays!C2:C7", '"22" and "2" hold one treatment only', "Check the blocks"),
    "a block that lost its number": (both(every("Trays", 3, "shelf {}".format), cells(Trays_C3="shelf")), "caution", "Trays!C3", '"shelf" stands here only, and is nearly "shelf 2" in C6', "If both are one"),
    "a tray without its block": (cells(Trays_C4=None), "caution", "Trays!C2:C7", "some trays have a block and some have none", "were not used"),
    "pots with several plants": (both(cells(Trial_A9="Experimental unit", Trial_B9="plant"), without_rows("Plants", *[row for row in range(2, 26) if (row - 2) % 4 and row > 5]), every("Trays", 4, lambda _: 1), cells(Trays_D2=4)), "caution", "Trays!D2", "4 plants share one pot", "They count as one unit"),
}  # fmt: skip


def test_the_good_workbook_has_no_problem(tmp_path):
    assert findings(write(good(), tmp_path / "good.xlsx")) == ()


JARGON = (
    "Traceback",
    "None",
    "openpyxl",
    "pint",
    "<",
    "Error",
    "Kind.",
    "object",
    "str(",
    "regex",
    "null",
    "\n",
)


@pytest.mark.parametrize("mistake", MISTAKES)
def test_one_mistake_gives_one_message_with_its_cell_and_its_remedy(tmp_path, mistake):
    change, severity, place, found, advice = MISTAKES[mistake]
    path = write(change(good()), tmp_path / "trial.xlsx")
    assert said(path) == [(severity, place)], [str(one) for one in findings(path)]
    problem = findings(path)[0]
    assert found in problem.found
    assert advice in problem.advice
    assert problem.expected
    assert problem.advice.endswith((".", "?"))
    assert [word for word in JARGON if word in str(problem)] == []
    assert CODE.fullmatch(problem.code)


CODE = re.compile(r"[a-z]+(?:_[a-z]+)*")
CODES = {  # which scripts may rely on: they stay when the words change
    "a missing sheet": "missing_sheet",
    "a misspelt sheet": "missing_sheet",
    "a sheet that is not used": "unused_sheets",
    "an empty sheet": "empty_sheet",
    "a missing column": "missing_column",
    "a column twice": "repeated_name",
    "an unknown field": "unknown_column",
    "a blank that is required": "blank_cell",
    "a plant twice": "repeated_code",
    "an unknown tray": "unknown_code",
    "a code that became a date": "date_for_code",
    "a letter O in a number": "not_a_number",
    "a thousand or a decimal": "thousand_or_decimal",
    "no date of the calendar": "not_a_date",
    "an ambiguous date": "ambiguous_date",
    "a word that is not listed": "not_a_choice",
    "a level of confidence that is none": "impossible_value",
    "an error of the spreadsheet": "spreadsheet_error",
    "a date before the start": "date_outside_trial",
    "a harvested plant without a weight": "weight_missing",
    "a plant not accounted for": "fewer_plants_than_started",
    "more water out than in": "more_out_than_in",
    "a falling meter": "meter_falls",
    "blocks that hold one treatment each": "block_of_one_treatment",
    "a tray without its block": "blocks_incomplete",
}


@pytest.mark.parametrize("mistake", CODES)
def test_a_mistake_has_a_code_that_says_what_kind_it_is(tmp_path, mistake):
    (problem,) = findings(write(MISTAKES[mistake][0](good()), tmp_path / "trial.xlsx"))
    assert problem.code == CODES[mistake]


def test_a_sheet_that_is_missing_under_its_name_is_not_called_unused_too(tmp_path):
    spoilt = {
        "Treatmnts" if name == "Treatments" else name: rows for name, rows in good().items()
    } | {"Diary": [["x"]]}
    problems = findings(write(spoilt, tmp_path / "trial.xlsx"))
    assert {problem.code for problem in problems} >= {"missing_sheet", "unused_sheets"}
    (unused,) = (problem for problem in problems if problem.code == "unused_sheets")
    assert unused.found == 'sheets that are not used: "Diary" (A1)'


def test_every_problem_comes_at_once_in_the_order_of_sheets_and_rows(tmp_path):
    spoilt = put(
        good(),
        Meter_D3="x",
        Plants_D7="tall",
        Plants_C7="1O",
        Plants_C3="l2",
        Trays_B2="hal",
        Trial_B4="May",
    )
    spoilt = {
        name: spoilt[name]
        for name in ("Meter", "Trial", "Treatments", "Trays", "Plants", "Solution")
    }
    places = [place for _, place in said(write(spoilt, tmp_path / "trial.xlsx"))]
    assert places == ["Meter!D3", "Trial!B4", "Trays!B2", "Plants!C3", "Plants!C7", "Plants!D7"]


def test_problems_of_a_whole_sheet_do_not_hide_those_of_the_others(tmp_path):
    spoilt = put(
        without_sheet("Treatments")(good()), Plants_C3="1O", Plants_A8="A9", Solution_D4=90
    )
    places = [place for _, place in said(write(spoilt, tmp_path / "trial.xlsx"))]
    assert places == ["Treatments", "Trays!A2", "Plants!C3", "Plants!A8"]


def test_unknown_codes_are_told_though_another_code_is_spoilt(tmp_path):
    spoilt = put(good(), Trays_A4="#REF!", Plants_A6="X1", Solution_A2="X2")
    assert said(write(spoilt, tmp_path / "trial.xlsx")) == [
        ("error", "Trays!A4"),
        ("error", "Plants!A6"),
        ("error", "Plants!A10"),
        ("error", "Solution!A2"),
    ]


def test_cautions_and_remarks_do_not_stop_the_trial(tmp_path):
    path = write(put(good(), Solution_F2=3.1, Plants_C1="Fresh weight"), tmp_path / "trial.xlsx")
    made = workbooks.trial(path)
    assert [str(one.severity) for one in made.findings] == ["remark", "caution"]
    assert made.solution[0].ph == 3.1
    assert made.plants[0].fresh_weight == 22.0
