"""The data dictionary says what the declaration says, and the page that is shipped is the one that
is written now.
"""

from importlib.resources import files
from pathlib import Path

from click.testing import CliRunner
from markdown_it import MarkdownIt

from reportgen.cli import main
from reportgen.workbook.declaration import SHEETS
from reportgen.workbook.dictionary import dictionary


def shipped() -> str:
    package = Path(str(files("reportgen")))
    folders = (package / "sample_workbook", package.parent / "sample_workbook")
    return (
        next(folder for folder in folders if folder.is_dir())
        .joinpath("data-dictionary.md")
        .read_text("utf-8")
    )


def test_the_shipped_page_is_the_one_that_is_written_now():
    # If this fails: reportgen dictionary > sample_workbook/data-dictionary.md
    assert shipped() == dictionary()


def test_the_command_prints_the_page():
    assert CliRunner().invoke(main, ["dictionary"]).output == dictionary()


def test_every_sheet_is_a_heading_and_every_column_a_row_of_its_table():
    page = MarkdownIt("commonmark").enable("table").parse(dictionary())
    texts = [token.content for token in page if token.type == "inline"]
    for sheet in SHEETS:
        assert f"{sheet.name}*" in texts if sheet.required else sheet.name in texts
        for column in sheet.columns:
            assert column.header in texts or f"{column.header}*" in texts
    rows = sum(token.type == "tr_open" for token in page)
    further = 2  # a measurement, and a score, of the grower's own
    assert rows == sum(
        1 + len(sheet.columns) + further * sheet.further + bool(sheet.family) for sheet in SHEETS
    )


def test_limits_are_written_as_people_read_them():
    assert "1e+06" not in dictionary()
    assert "0 to 1000000 W" in dictionary()
