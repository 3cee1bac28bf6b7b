"""Files of comma-separated values as they are found: encodings, delimiters, decimal commas, damage."""

import pytest

from reportgen.adopt.csv_file import read_csv
from reportgen.adopt.numbers import TextNumbers
from reportgen.model.problem import WorkbookError
from tests.adopting import DATA


def cells(tmp_path, content):
    path = tmp_path / "log.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_csv(path).sheets[0].rows


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_a_file_is_read_in_the_encoding_that_it_is_in(tmp_path, encoding):
    text = "Größe;Température (°C);EC (µS/cm)\nhöher;21,5;1600\n"
    assert cells(tmp_path, text.encode(encoding))[0] == ("Größe", "Température (°C)", "EC (µS/cm)")


def test_a_text_in_another_code_page_is_guessed(tmp_path):
    text = "Варіант;Вага листя рослини;Висота\nконтроль;12;3\nтепло;13;4\n"
    assert cells(tmp_path, text.encode("cp1251"))[0][0] == "Варіант"


@pytest.mark.parametrize("sign", [";", ",", "\t", "|"])
def test_the_delimiter_is_the_one_that_gives_rows_of_one_length(tmp_path, sign):
    text = "\n".join(sign.join(row) for row in (("tray", "wt", "note"), ("A", "12.5", "x y"), ("B", "13.5", "z")))
    assert cells(tmp_path, text) == (("tray", "wt", "note"), ("A", "12.5", "x y"), ("B", "13.5", "z"))


def test_decimal_commas_do_not_part_fields(tmp_path):
    assert cells(tmp_path, "tray;wt;dry\nA;1,5;0,2\nB;2,5;0,3\n")[1] == ("A", "1,5", "0,2")


def test_lines_above_the_header_do_not_hide_the_delimiter(tmp_path):
    assert cells(tmp_path, "Harvest, week 5\n\ntray;wt\nA;1,5\nB;2,5\nC;2,5\n")[2] == ("tray", "wt")


def test_a_line_that_names_the_delimiter_keeps_its_row(tmp_path):
    assert cells(tmp_path, "sep=|\na|b;c\n") == ((None, None), ("a", "b;c"))


def test_a_field_may_hold_a_line_break_and_the_delimiter(tmp_path):
    # RFC 4180, 2.6: fields with line breaks, quotes and commas are enclosed in quotes
    assert cells(tmp_path, 'a,b\n"two\nlines","1,234"\n')[1] == ("two\nlines", "1,234")


def test_a_single_quotation_mark_is_named_with_its_row(tmp_path):
    with pytest.raises(WorkbookError, match="cannot be read from row 2 on"):
        cells(tmp_path, 'a,b\n"' + "x" * 200_000)


@pytest.mark.parametrize("content", [bytes(range(256)) * 20, b"\xff\xfe\x00\xd8"])
def test_what_is_no_text_is_refused(tmp_path, content):
    with pytest.raises(WorkbookError, match="is no text"):
        cells(tmp_path, content)


def test_a_file_that_is_not_there_is_said(tmp_path):
    with pytest.raises(WorkbookError, match=r"log.csv is not there"):
        read_csv(tmp_path / "log.csv")
    with pytest.raises(WorkbookError, match="is a folder"):
        read_csv(tmp_path)


def test_a_file_far_larger_than_any_data_is_refused(tmp_path):
    with pytest.raises(WorkbookError, match="goes on to row"):
        cells(tmp_path, "," * 3000 + "\n" + "\n".join("a" for _ in range(800)))


def test_a_real_file_with_a_mark_in_front_and_a_stray_last_row_is_read():
    rows = read_csv(DATA / "pots_raw.csv").sheets[0].rows
    assert rows[0][:3] == ("Soil", "Treatment", "Yield")
    assert rows[-1][:3] == (None, None, None)
    assert len({len(row) for row in rows}) == 1


@pytest.mark.parametrize(
    ("texts", "numbers"),
    [
        (["1,5", "1,234"], [1.5, 1.234]),
        (["1,234"], ["1,234"]),  # a thousand or a decimal: the checks ask
        (["1,234", "1,234.5"], [1234.0, 1234.5]),
        (["1.234,5", "1,234"], [1234.5, 1.234]),
        (["0,123", "1,123"], [0.123, 1.123]),
        (["1 234,5", "−3", "12 g", "x"], [1234.5, -3.0, "12 g", "x"]),
        (["1,5", "1,234.5", "2,345"], [1.5, 1234.5, "2,345"]),
    ],
)
def test_a_comma_means_what_the_column_shows(texts, numbers):
    known = TextNumbers.of(texts)
    assert [known.read(text) for text in texts] == numbers
