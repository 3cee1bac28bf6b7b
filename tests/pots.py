"""Workbooks of published datasets in which every plant stands in a pot of its own."""

from pathlib import Path

from openpyxl import Workbook

# Fresh weights of 28 lettuces under four composts, unit not stated in the file, taken as g.
# Source: GTPB course PSLS20, file lettuce_compost.txt, licence CC-BY-4.0.
LETTUCE = {
    "control": (38, 34, 41, 43, 43, 29, 38),
    "compost": (59, 64, 57, 56, 50, 64, 62),
    "refoak": (38, 34, 30, 42, 35, 36, 38),
    "cobc": (57, 49, 52, 43, 59, 61, 58),
}


def write_pots(
    path: Path,
    weights: dict[str, tuple[float, ...]],
    header: str = "Fresh weight (g)",
    **fields: object,
):
    """Write a trial in which the plant is the experimental unit; the first treatment is the
    reference.
    """
    book = Workbook()
    book.remove(book.active)
    codes = list(weights)
    about = {
        "Title": "Published data",
        "Crop": "plants",
        "Started on": "2026-03-01",
        "Harvested on": "2026-04-05",
        "Reference treatment": codes[0],
        "Experimental unit": "plant",
        **fields,
    }
    units = [
        (f"{code}-{number}", code, weight)
        for code in codes
        for number, weight in enumerate(weights[code], 1)
    ]
    sheets = {
        "Trial": [("Field", "Value"), *about.items()],
        "Treatments": [("Treatment", "Name"), *((code, code) for code in codes)],
        "Trays": [
            ("Tray", "Treatment", "Plants started"),
            *((tray, code, 1) for tray, code, _ in units),
        ],
        "Plants": [("Tray", "Plant", header), *((tray, "1", weight) for tray, _, weight in units)],
    }
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path
