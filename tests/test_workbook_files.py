"""Files that are no workbook, or hardly one: one clear message each, whatever is in them."""

import io
import random
import warnings
import zipfile

import pytest

from reportgen.model.problem import WorkbookError
from reportgen.workbook import read
from tests.workbooks import findings, good, said, trial, write


def broken(tmp_path, kind):
    """Return a path that is no workbook."""
    path = tmp_path / "trial.xlsx"
    whole = write(good(), tmp_path / "good.xlsx").read_bytes()
    contents = {
        "empty": b"",
        "random bytes": random.Random(1).randbytes(4000),
        "a zip that is cut": whole[:-900],
        "a zip with a hole": whole[:2000] + bytes(800) + whole[2800:],
        "only the start of a zip": b"PK\x03\x04 broken",
        "text": b"Tray,Plant,Fresh weight\nA1,1,20\n",
        "an old or encrypted workbook": (
            bytes.fromhex("d0cf11e0a1b11ae1") + bytes(2000)
        ),  # [MS-CFB] 2.2: the signature
        "a zip of something else": zipped({"hello.txt": "hello"}),
        "a workbook of wrong XML": zipped(
            {"[Content_Types].xml": "<Types", "xl/workbook.xml": "<workbook/>"}
        ),
    }
    path.write_bytes(contents[kind])
    return path


def zipped(members):
    with zipfile.ZipFile(file := io.BytesIO(), "w") as archive:
        for name, text in members.items():
            archive.writestr(name, text)
    return file.getvalue()


@pytest.mark.parametrize(
    "kind",
    [
        "empty",
        "random bytes",
        "a zip that is cut",
        "a zip with a hole",
        "only the start of a zip",
        "text",
        "an old or encrypted workbook",
        "a zip of something else",
        "a workbook of wrong XML",
    ],
)
def test_a_file_that_is_no_workbook_gets_one_clear_message(tmp_path, kind):
    (problem,) = findings(broken(tmp_path, kind))
    assert problem.found == "trial.xlsx cannot be read as a workbook"
    assert "save it as .xlsx" in problem.advice


def test_a_missing_file_a_folder_and_another_ending_are_told_apart(tmp_path):
    (tmp_path / "folder.xlsx").mkdir()
    (tmp_path / "trial.csv").write_text("Tray,Plant\n", "utf-8")
    found = [
        findings(tmp_path / name)[0].found
        for name in ("none.xlsx", "folder.xlsx", "trial.csv", f"{'n' * 300}.xlsx")
    ]
    assert found[:3] == [
        "none.xlsx is not there",
        "folder.xlsx is a folder",
        "trial.csv is not an .xlsx, .xlsm, .xls or .ods file",
    ]
    assert "cannot be opened" in found[3]


def test_a_file_that_may_not_be_read_is_said_to_be_so(tmp_path, monkeypatch):
    path = write(good(), tmp_path / "trial.xlsx")

    def denied(_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("pathlib.Path.read_bytes", denied)
    (problem,) = findings(path)
    assert problem.found == "trial.xlsx cannot be opened (Permission denied)"


def test_messages_about_files_hold_no_traceback_and_no_names_of_python(tmp_path):
    with pytest.raises(WorkbookError) as caught:
        read(broken(tmp_path, "random bytes"))
    text = str(caught.value)
    assert "\n" not in text
    for jargon in ("Traceback", "openpyxl", "Zip", "Error", "None", "b'", str(tmp_path)):
        assert jargon not in text


def test_a_workbook_with_macros_is_read_like_any_other(tmp_path):
    path = write(good(), tmp_path / "trial.xlsm")
    assert trial(path).plants == trial(write(good(), tmp_path / "trial.xlsx")).plants


def test_a_sheet_that_goes_on_far_beyond_its_data_is_refused_before_it_fills_the_memory(tmp_path):
    # 1,048,576 rows and 16,384 columns: the largest sheet of Excel (Microsoft, Excel specifications
    # and limits).
    path = write(
        good(), tmp_path / "trial.xlsx", lambda book: book["Plants"].cell(1048576, 16384, " ")
    )
    assert said(path) == [("error", "Plants")]
    assert "goes on to row 1048576 and column 16384" in findings(path)[0].found


def test_warnings_of_the_reading_library_do_not_reach_the_grower(tmp_path):
    def far_date(book):
        book["Solution"]["B2"] = 1e9
        book["Solution"]["B2"].number_format = "yyyy-mm-dd"

    path = write(good(), tmp_path / "trial.xlsx", far_date)
    with warnings.catch_warnings(record=True) as heard:
        warnings.simplefilter("always")
        assert said(path) == [("error", "Solution!B2")]
    assert heard == []
