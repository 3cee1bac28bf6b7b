"""Whatever stands in the text cells of a workbook, pages, figures and tables only show it."""

import csv
import io
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree, html

from reportgen import metrics, render, report
from reportgen.model.data import DataColumn, DataTable
from reportgen.model.document import Facts, Report
from reportgen.render import data
from tests.workbooks import put, trial, whole, write

SCRIPT = (
    "<script>alert(1)</script><img src=x onerror=alert(2)>\"'--><svg onload=alert(3)>{{7*7}}{% raw"
    " %}</style>&lt;"
)
FIELDS = (
    *(
        "Title",
        "Question",
        "Crop",
        "Cultivar",
        "Growing system",
        "Author",
        "Organisation",
        "Contact",
        "Location",
    ),
    *("Layout", "Nutrient recipe", "Disclosure", "Licence", "Keywords", "Summary", "Conclusion"),
)
WORDS = {
    "Treatments": {"Name": SCRIPT, "Description": SCRIPT, "Equipment": SCRIPT},
    "Trays": {"Position": SCRIPT, "Note": SCRIPT, "Block": SCRIPT},
    "Plants": {"Note": SCRIPT, f"Stem {SCRIPT[:20]} (mm)": 3},
    "Harvests": {"Grade": SCRIPT, "Note": SCRIPT},
    "Solution": {"Note": SCRIPT},
    "Meter": {"Note": SCRIPT},
    "Costs": {"Item": SCRIPT},
    "Instruments": {"Instrument": SCRIPT, "Model": SCRIPT},
    "Observations": {"Observation": SCRIPT},
}


CODES = {
    "half": f"half{SCRIPT}",
    "full": "=full|'/c calc'!A0",
    "A1": f"A1{SCRIPT}",
    "m-half": f"m{SCRIPT}",
}


def hostile():
    """Return a workbook with a script in every cell that takes text, some codes included."""
    sheets = whole()
    sheets["Trial"] = [row for row in sheets["Trial"] if row[0] not in FIELDS] + [
        [field, SCRIPT] for field in FIELDS
    ]
    for name, cells in WORDS.items():
        for column, value in cells.items():
            set_all(sheets[name], column, value)
    return {
        name: [[CODES.get(str(value), value) for value in row] for row in rows]
        for name, rows in sheets.items()
    }


def set_all(rows, column, value):
    """Set a column's cells, the column added where it is not there."""
    if column not in rows[0]:
        rows[0].append(column)
    at = rows[0].index(column)
    for row in rows[1:]:
        row.extend([None] * (at + 1 - len(row)))
        row[at] = value


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    def as_text(book):
        for sheet in book:
            for row in sheet.iter_rows():
                for cell in row:
                    if cell.data_type == "f":
                        cell.data_type = "s"

    made = trial(write(hostile(), tmp_path_factory.mktemp("hostile") / "trial.xlsx", as_text))
    document = report.compose(made, metrics.compute(made))
    return render.report_files(document, pdf=False) | render.site_files(
        report.collect(SCRIPT, (document,))
    )


def test_no_text_of_a_workbook_becomes_markup_of_a_page(files):
    for name in ("trial/index.html", "index.html"):
        page = html.fromstring(files[name])
        # The others are data, which no browser runs.
        (own,) = page.xpath(
            "//script[not(@type = 'application/ld+json' or @type = 'application/json')]"
        )
        assert own.get("src").removeprefix("../") == render.assets.script_name()
        assert all("<" not in data.text for data in page.xpath("//script[not(@src)]"))
        assert not page.xpath("//img[@src='x']"), name
        assert not page.xpath("//@*[starts-with(name(), 'on')]"), name
        assert not [
            address
            for address in page.xpath("//@href | //@src")
            if address.strip().lower().startswith("javascript")
        ]
        assert "49" not in page.xpath("string(//h1)")
        assert "{{7*7}}" in page.text_content()


def test_no_text_of_a_workbook_becomes_markup_of_a_figure(files):
    drawings = [name for name in files if name.endswith(".svg")]
    assert drawings
    for name in drawings:
        root = etree.fromstring(files[name])
        assert not root.xpath("//*[local-name() = 'script' or local-name() = 'img']"), name
        assert not root.xpath("//@*[starts-with(local-name(), 'on')]"), name


def test_every_text_stands_in_the_recorded_data_and_none_begins_like_a_formula(files):
    names = [name for name in files if name.endswith(".csv")]
    assert len(names) == 14  # every sheet but Loads, which has no rows
    for name in names:
        for row in csv.reader(io.StringIO(files[name].decode())):
            assert not [cell for cell in row if cell.lstrip().startswith(("=", "+", "@"))], name
    codes = [row[0] for row in csv.reader(io.StringIO(files["trial/data/treatments.csv"].decode()))]
    assert codes == ["Treatment", f"half{SCRIPT}", "'=full|'/c calc'!A0"]


def table(*values, name="Note", unit=""):
    return DataTable("Plants", (DataColumn(name, unit, values),))


def written(made):
    words = dict.fromkeys(
        ("title", "crop", "question", "byline", "disclosure", "description", "colophon"), ""
    )
    rest = {
        "language": "en",
        "answer": (),
        "harvested_on": "2026-05-06",
        "sections": (),
        "results": "{}",
    }
    document = Report("trial", facts=Facts(()), data=(made,), **words, **rest)
    return data.render(document, {})["trial/data/plants.csv"].decode()


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1", "=cmd|'/c calc'!A0"]
)
def test_a_text_that_begins_like_a_formula_has_an_apostrophe_before_it(text):
    # The characters of OWASP's page "CSV Injection"; full-width forms: Excel reads them alike in
    # East Asian settings.
    assert (
        next(csv.reader(io.StringIO(written(table(text)).split("\r\n", 1)[1], newline="")))[0]
        == f"'{text}"
    )


def test_numbers_dates_and_blanks_are_written_whole():
    made = table(
        0.1 + 0.2, -3.5, 7, None, True, datetime(2026, 4, 1, 9, 30), name="Weight", unit="g"
    )
    assert written(made).split("\r\n") == [
        "Weight (g)",
        "0.30000000000000004",
        "-3.5",
        "7",
        '""',
        "yes",
        "2026-04-01 09:30",
        "",
    ]


@given(st.lists(st.one_of(st.none(), st.floats(allow_nan=False), st.text()), min_size=1))
def test_no_number_is_changed_and_every_text_can_be_had_back(values):
    rows = list(csv.reader(io.StringIO(written(table(*values)), newline="")))[1:]
    assert len(rows) == len(values)
    for value, row in zip(values, rows, strict=True):
        cell = row[0] if row else ""
        if isinstance(value, float):
            assert float(cell) == value
        elif value is not None:
            assert cell in (value, f"'{value}")


def test_a_text_that_begins_like_a_formula_stays_text_in_the_trial(tmp_path):
    def as_text(book):
        book["Treatments"]["B2"].data_type = "s"

    path = write(put(whole(), Treatments_B2="=1+1"), tmp_path / "trial.xlsx", as_text)
    assert trial(path).treatments[0].name == "=1+1"
