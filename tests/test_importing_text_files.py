"""Text files of separated values as they are found: encodings, separators, decimal commas, damage."""

from pathlib import Path

import pytest

from reportgen.importing.cells import read_log
from reportgen.importing.model.cells import Conventions
from reportgen.model.problem import WorkbookError

DATA = Path(__file__).parent / "data"


def texts(tmp_path, content):
    path = tmp_path / "log.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return [list(row) for row in read_log([path], Conventions())[0].text]


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]
)
def test_a_file_is_read_in_the_encoding_that_it_is_in(tmp_path, encoding):
    text = "Größe;Température (°C);EC (µS/cm)\nhöher;21,5;1600\n"
    assert texts(tmp_path, text.encode(encoding))[0] == ["Größe", "Température (°C)", "EC (µS/cm)"]


def test_a_text_in_another_code_page_is_guessed(tmp_path):
    text = "Варіант;Вага листя рослини;Висота\nконтроль;12;3\nтепло;13;4\n"
    assert texts(tmp_path, text.encode("cp1251"))[0][0] == "Варіант"


@pytest.mark.parametrize("sign", [";", ",", "\t", "|"])
def test_the_separator_is_the_one_that_gives_rows_of_one_length(tmp_path, sign):
    rows = [["tray", "wt", "note"], ["A", "12.5", "x y"], ["B", "13.5", "z"]]
    assert texts(tmp_path, "\n".join(map(sign.join, rows))) == rows


def test_decimal_commas_do_not_part_fields(tmp_path):
    assert texts(tmp_path, "tray;wt;dry\nA;1,5;0,2\nB;2,5;0,3\n")[1] == ["A", "1.5", "0.2"]


def test_lines_above_the_header_do_not_hide_the_separator(tmp_path):
    found = texts(tmp_path, "Harvest, week 5\n\ntray;wt\nA;1,5\nB;2,5\nC;2,5\n")
    assert found[2] == ["tray", "wt"]


def test_a_line_that_names_the_separator_keeps_its_row(tmp_path):
    assert texts(tmp_path, "sep=|\na|b;c\n") == [["", ""], ["a", "b;c"]]


def test_a_field_may_hold_a_line_break_and_the_separator(tmp_path):
    # RFC 4180, 2.6: fields with line breaks, quotes and commas are enclosed in quotes
    assert texts(tmp_path, 'a,b\n"two\nlines","x, y"\n')[1] == ["two lines", "x, y"]


def test_a_single_quotation_mark_is_named_with_its_row(tmp_path):
    with pytest.raises(WorkbookError, match="cannot be read from row 2 on"):
        texts(tmp_path, 'a,b\n"' + "x" * 200_000)


@pytest.mark.parametrize("content", [bytes(range(256)) * 20, b"\xff\xfe\x00\xd8"])
def test_what_is_no_text_is_refused(tmp_path, content):
    with pytest.raises(WorkbookError, match="is no text"):
        texts(tmp_path, content)


def test_a_real_file_with_a_mark_in_front_and_a_stray_last_row_is_read():
    sheet = read_log([DATA / "pots_raw.csv"], Conventions())[0]
    assert sheet.text[0, 0] == "Soil"
    assert sheet.number[1, 2] == 1.07
