"""Files made to do harm, or damaged: each is refused with one message or read right, in bounded
time and memory.
"""

import io
import os
import random
import socket
import struct
import tracemalloc
import zipfile

import msoffcrypto.format.ooxml
import pytest

from reportgen.model.problem import WorkbookError
from reportgen.workbook.cells import read
from reportgen.workbook.files import archive, content, office_open
from tests.archives import FIRST_SHEET, changed, one_cell, parts_of, sheet_xml, zipped
from tests.workbooks import good, write

OPEN_DOCUMENT = (
    '<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0">'
    '<office:body><office:spreadsheet><table:table table:name="Climate">{rows}</table:table>'
    "</office:spreadsheet></office:body></office:document-content>"
)
SEVEN = (
    '<table:table-cell office:value-type="float"'
    ' office:value="7"{more}><text:p>7</text:p></table:table-cell>'
)
LENGTHS = [0, 10**9]  # every sheet long, no sheet long


def with_sheet(path, rows, **around):
    """Write a workbook whose one sheet has the given XML."""
    return changed(one_cell(path), {FIRST_SHEET: sheet_xml(rows, **around)})


def open_document(path, rows, more=None):
    """Write an .ods file whose one sheet has the given XML."""
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    path.write_bytes(
        zipped({"mimetype": kind, "content.xml": OPEN_DOCUMENT.format(rows=rows)} | (more or {}))
    )
    return path


def refused(path):
    """Return the one problem for which a file is refused."""
    with pytest.raises(WorkbookError) as caught:
        read(path)
    (problem,) = caught.value.problems
    assert "\n" not in str(problem)
    for jargon in ("Traceback", "Error", "Exception", "openpyxl", "calamine", "xlrd", "None", "b'"):
        assert jargon not in str(problem)
    return problem


def peak_of(action):
    """Return the most memory that Python took during an action, MiB."""
    tracemalloc.start()
    try:
        action()
        return tracemalloc.get_traced_memory()[1] / 2**20
    finally:
        tracemalloc.stop()


# --- size


@pytest.mark.parametrize("ending", ["xlsx", "ods"])
def test_a_file_that_unpacks_to_far_more_is_refused_before_it_is_unpacked(tmp_path, ending):
    path = tmp_path / f"a.{ending}"
    name = {"xlsx": "xl/worksheets/sheet1.xml", "ods": "content.xml"}[ending]
    with (
        zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file,
        file.open(name, "w", force_zip64=True) as member,
    ):
        for _ in range(300):
            member.write(bytes(2**20))
    assert path.stat().st_size < 2**20
    assert peak_of(lambda: refused(path)) < 8
    assert refused(path).found == f"a.{ending} unpacks to 300 MB in 1 parts"


def test_parts_that_share_their_bytes_count_each(tmp_path, monkeypatch):
    monkeypatch.setattr(archive, "MOST_UNPACKED", 100_000)
    path = tmp_path / "a.xlsx"
    path.write_bytes(zipped({f"xl/{n}.xml": bytes(10_000) for n in range(11)}))
    assert "unpacks to" in refused(path).found


def test_a_file_of_too_many_parts_is_refused(tmp_path):
    path = tmp_path / "a.xlsx"
    path.write_bytes(zipped({f"{n}": "" for n in range(10_001)}, zipfile.ZIP_STORED))
    assert "in 10001 parts" in refused(path).found


def test_a_part_that_is_longer_than_announced_is_not_unpacked(tmp_path):
    # APPNOTE.TXT 4.3.12: the size before packing stands 24 bytes into the directory's entry, and 22
    # into the header.
    path = with_sheet(tmp_path / "a.xlsx", f"<!--{' ' * 50 * 2**20}-->")
    content = bytearray(path.read_bytes())
    size = struct.pack("<L", len(parts_of(path)[FIRST_SHEET]))
    assert content.count(size) == 2
    path.write_bytes(content.replace(size, struct.pack("<L", 1000)))
    assert peak_of(lambda: refused(path)) < 8
    assert "cannot be read as a workbook" in refused(path).found


def test_pictures_are_not_unpacked(tmp_path):
    path = changed(one_cell(tmp_path / "a.xlsx"), {"xl/media/image1.png": bytes(50 * 2**20)})
    assert peak_of(lambda: read(path)) < 8


def test_a_sheet_under_the_name_of_a_picture_is_not_unpacked(tmp_path):
    path = one_cell(tmp_path / "a.xlsx")
    relations = "xl/_rels/workbook.xml.rels"
    changed(
        path,
        {
            "xl/a.png": bytes(50 * 2**20),
            relations: lambda xml: xml.replace("worksheets/sheet1.xml", "a.png"),
        },
    )
    assert peak_of(lambda: refused(path)) < 8
    assert "cannot be read" in refused(path).found


def test_many_equal_rows_are_no_attack(tmp_path):
    row = '<row><c t="inlineStr"><is><t>half</t></is></c><c><v>21.5</v></c></row>'
    path = with_sheet(tmp_path / "a.xlsx", row * 130_000)
    assert len(parts_of(path)[FIRST_SHEET]) > 100 * path.stat().st_size
    rows = read(path).sheets[0].rows
    assert (len(rows), rows[-1]) == (130_000, ["half", 21.5])


def test_two_parts_of_one_name_are_refused(tmp_path):
    path = one_cell(tmp_path / "a.xlsx")
    with zipfile.ZipFile(path, "a") as file, pytest.warns(UserWarning, match="Duplicate name"):
        file.writestr(FIRST_SHEET, sheet_xml('<row r="1"><c r="A1"><v>9</v></c></row>'))
    assert "cannot be read" in refused(path).found


def test_a_file_of_300_megabytes_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "a.xls"
    with path.open("wb") as file:
        file.truncate(300 * 2**20)
    assert peak_of(lambda: refused(path)) < 1
    assert refused(path).found == "a.xls is 300 MB large"
    assert refused(path).expected == f"at most {content.MOST_BYTES // 2**20} MB"


# --- sheets that go on and on. 1,048,576 rows and 16,384 columns: Microsoft, Excel specifications
# and limits

FAR = '<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
BEYOND_EXCEL = (
    '<row r="1"><c r="A1"><v>1</v></c></row><row r="99999999"><c r="ZZZ99999999"><v>1</v></c></row>'
)
WIDE_ALONE = (
    '<row r="1"><c r="A1"><v>1</v></c><c r="XFD1"><v>1</v></c></row><row r="900"><c'
    ' r="A900"><v>1</v></c></row>'
)
LYING_ROW = '<row r="1"><c r="A1"><v>1</v></c></row><row r="2"><c r="ZZ1048576"><v>1</v></c></row>'


@pytest.mark.parametrize("length", LENGTHS)
@pytest.mark.parametrize(
    "rows", [FAR, BEYOND_EXCEL, WIDE_ALONE, LYING_ROW], ids=["far", "beyond", "wide", "lying"]
)
@pytest.mark.parametrize(
    "said", ["", '<dimension ref="A1:B2"/>'], ids=["unsaid", "said to be small"]
)
def test_a_cell_far_out_is_refused_whatever_the_sheet_says_of_its_size(
    tmp_path, monkeypatch, length, rows, said
):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    path = with_sheet(tmp_path / "a.xlsx", rows, before=said)
    assert peak_of(lambda: refused(path)) < 16
    assert refused(path).sheet == "Climate"
    assert refused(path).found.startswith("the sheet goes on to row")


@pytest.mark.parametrize("length", LENGTHS)
def test_a_size_that_is_said_but_not_so_does_not_matter(tmp_path, monkeypatch, length):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    rows = '<row r="1"><c r="A1"><v>1</v></c></row>'
    path = with_sheet(tmp_path / "a.xlsx", rows, before='<dimension ref="A1:XFD1048576"/>')
    assert [list(row) for row in read(path).sheets[0].rows] == [[1]]


@pytest.mark.parametrize("length", LENGTHS)
def test_an_address_written_as_entities_gains_nothing(tmp_path, monkeypatch, length):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    path = with_sheet(
        tmp_path / "a.xlsx", FAR.replace("XFD", "&#88;FD").replace('"1048576', '"&#49;048576')
    )
    assert "goes on" in refused(path).found or "cannot be read" in refused(path).found


@pytest.mark.parametrize("length", LENGTHS)
def test_merged_cells_over_the_whole_sheet_are_refused(tmp_path, monkeypatch, length):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    rows = '<row r="1"><c r="A1"><v>1</v></c></row>'
    merged = '<mergeCells count="1"><mergeCell ref="A1:XFD1048576"/></mergeCells>'
    problem = refused(with_sheet(tmp_path / "a.xlsx", rows, after=merged))
    assert problem.found == "the sheet goes on to row 1048576 and column 16384"


MANY_COLUMNS = ' table:number-columns-repeated="99999999"'
REPEATED = {
    "rows": (
        "<table:table-row"
        f' table:number-rows-repeated="99999999">{SEVEN.format(more="")}</table:table-row>'
    ),
    "columns": f"<table:table-row>{SEVEN.format(more=MANY_COLUMNS)}</table:table-row>",
    "both": (
        '<table:table-row table:number-rows-repeated="1048576">'
        f"{SEVEN.format(more=MANY_COLUMNS)}</table:table-row>"
    ),
    "a gap": (
        "<table:table-row"
        ' table:number-rows-repeated="99999999"><table:table-cell/></table:table-row>'
        f"<table:table-row>{SEVEN.format(more='')}</table:table-row>"
    ),
    "a wide gap": (
        '<table:table-row><table:table-cell table:number-columns-repeated="99999999"/>'
        f"{SEVEN.format(more='')}</table:table-row>"
    ),
}


@pytest.mark.parametrize("repeated", REPEATED.values(), ids=REPEATED)
def test_cells_of_an_open_document_that_repeat_without_end_are_refused(tmp_path, repeated):
    path = open_document(tmp_path / "a.ods", repeated)
    assert peak_of(lambda: refused(path)) < 16
    assert refused(path).found.startswith("the sheet goes on to row")


def test_blank_cells_of_an_open_document_that_repeat_to_the_end_are_no_attack(tmp_path):
    blank = (
        '<table:table-column table:number-columns-repeated="99999999" table:visibility="collapse"/>'
        f"<table:table-row>{SEVEN.format(more='')}</table:table-row>"
        '<table:table-row table:number-rows-repeated="99999999"><table:table-cell '
        'table:number-columns-repeated="99999999"/></table:table-row>'
    )
    assert read(open_document(tmp_path / "a.ods", blank)).sheets[0].rows == ((7,),)


# --- entities

LAUGHS = '<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'
OUTSIDE = '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>'
ELSEWHERE = '<!DOCTYPE x SYSTEM "http://example.org/x.dtd">'
PARTS = [
    FIRST_SHEET,
    "xl/sharedStrings.xml",
    "xl/styles.xml",
    "xl/workbook.xml",
    "_rels/.rels",
    "xl/_rels/workbook.xml.rels",
]


def with_declaration(xml, declaration, encoding):
    body = xml[xml.index("?>") + 2 :] if xml.startswith("<?xml") else xml
    return f'<?xml version="1.0" encoding="{encoding}"?><!-- <a> -->{declaration}{body}'.encode(
        encoding
    )


@pytest.mark.parametrize("length", LENGTHS)
@pytest.mark.parametrize("encoding", ["UTF-8", "UTF-16", "UTF-16-LE", "UTF-16-BE"])
@pytest.mark.parametrize(
    "declaration", [LAUGHS, OUTSIDE, ELSEWHERE], ids=["laughs", "outside", "elsewhere"]
)
def test_a_document_type_declaration_in_any_part_is_refused(
    tmp_path, monkeypatch, length, encoding, declaration
):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    for name in PARTS:
        path = one_cell(tmp_path / "a.xlsx")
        xml = parts_of(path)[name].decode()
        changed(path, {name: with_declaration(xml, declaration, encoding)})
        assert refused(path).found == f"a.xlsx holds a document type declaration in {name}"


@pytest.mark.parametrize("encoding", ["UTF-7", "UTF-32", "cp037", "ISO-8859-1"])
def test_an_encoding_in_which_a_declaration_could_hide_is_refused(tmp_path, encoding):
    # ISO/IEC 29500-2, 8.1.4: XML in packages is encoded in UTF-8 or UTF-16.
    path = one_cell(tmp_path / "a.xlsx")
    xml = parts_of(path)[FIRST_SHEET].decode()
    assert (
        "cannot be read"
        in refused(changed(path, {FIRST_SHEET: with_declaration(xml, OUTSIDE, encoding)})).found
    )


def test_parts_that_are_not_needed_are_not_even_looked_at(tmp_path):
    path = one_cell(tmp_path / "a.xlsx")
    types = parts_of(path)["[Content_Types].xml"].decode()
    changed(
        path,
        {
            "[Content_Types].xml": with_declaration(types, LAUGHS, "UTF-8"),
            "docProps/core.xml": f"{OUTSIDE}<x>&a;</x>",
            "xl/theme/theme1.xml": "no XML at all",
        },
    )
    assert read(path).sheets[0].rows == (("half",),)


def test_a_document_type_declaration_in_an_open_document_is_refused(tmp_path):
    content = OPEN_DOCUMENT.format(rows="<table:table-row><table:table-cell/></table:table-row>")
    path = open_document(tmp_path / "a.ods", "", {"content.xml": LAUGHS + content})
    assert refused(path).found == "a.ods holds a document type declaration in content.xml"


# --- links


def test_nothing_outside_the_file_is_fetched(tmp_path, monkeypatch):
    def no_network(*_, **__):
        raise AssertionError("a connection was tried")

    monkeypatch.setattr(socket, "socket", no_network)
    monkeypatch.setattr(socket, "getaddrinfo", no_network)
    formulas = (
        "cmd|'/c calc'!A0",
        'WEBSERVICE("http://example.org/x")',
        'HYPERLINK("http://example.org/x","half")',
        "[1]Sheet1!A1",
        "'file:///etc/[passwd]x'!A1",
    )
    rows = "".join(
        f'<row r="{n}"><c r="A{n}"'
        f' t="str"><f>{formula.replace(chr(34), "&quot;")}</f><v>half</v></c><c'
        f' r="B{n}"><f>{formula}</f></c></row>'
        for n, formula in enumerate(formulas, 1)
    )
    link = (
        '<Relationship Id="link" Type="http://x/externalLink" TargetMode="External"'
        ' Target="http://example.org/x"/>'
    )
    path = with_sheet(
        tmp_path / "a.xlsx", rows, after='<hyperlinks><hyperlink ref="A1" id="link"/></hyperlinks>'
    )
    changed(
        path,
        {
            "xl/_rels/workbook.xml.rels": lambda xml: xml.replace(
                "</Relationships>", f"{link}</Relationships>"
            ),
            "xl/externalLinks/externalLink1.xml": (
                '<externalLink><ddeLink ddeService="cmd"/></externalLink>'
            ),
            "xl/vbaProject.bin": b"macros",
        },
    )
    (sheet,) = read(path).sheets
    assert [row[0] for row in sheet.rows] == ["half"] * 5
    assert sheet.uncomputed == {(n, 2): f"={formula}" for n, formula in enumerate(formulas, 1)}


# --- passwords


def test_a_workbook_with_a_password_is_said_to_have_one(tmp_path):
    path = one_cell(tmp_path / "a.xlsx")
    encrypted = io.BytesIO()
    msoffcrypto.format.ooxml.OOXMLFile(io.BytesIO(path.read_bytes())).encrypt("secret", encrypted)
    path.write_bytes(encrypted.getvalue())
    assert refused(path).found == "a.xlsx has a password"
    assert refused(path).advice.startswith("Remove the password")


def test_an_open_document_with_a_password_is_said_to_have_one(tmp_path):
    # OpenDocument 1.3, part 2, 4.8.4: manifest:encryption-data stands in the entry of an encrypted
    # file.
    entry = "<manifest:file-entry><manifest:encryption-data/></manifest:file-entry>"
    manifest = f"<manifest:manifest>{entry}</manifest:manifest>"
    path = open_document(
        tmp_path / "a.ods", "", {"META-INF/manifest.xml": manifest, "content.xml": b"\x8f\x02"}
    )
    assert refused(path).found == "a.ods has a password"


def test_a_zip_with_a_password_is_said_to_have_one(tmp_path):
    path = one_cell(tmp_path / "a.xlsx")
    content = bytearray(path.read_bytes())
    entry = content.index(
        b"PK\x01\x02"
    )  # APPNOTE.TXT 4.3.12: the flags stand 8 bytes into the directory's entry
    content[entry + 8] |= 1
    path.write_bytes(content)
    assert refused(path).found == "a.xlsx has a password"


# --- no files


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no named pipes here")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(path := tmp_path / "a.xlsx")
    assert refused(path).found == "a.xlsx is a device or a pipe"


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="there are no device files here")
def test_a_device_is_not_read_for_ever(tmp_path):
    (path := tmp_path / "a.xlsx").symlink_to("/dev/zero")
    assert refused(path).found == "a.xlsx is a device or a pipe"


def test_a_link_to_nothing_is_not_there(tmp_path):
    (path := tmp_path / "a.xlsx").symlink_to(tmp_path / "gone.xlsx")
    assert refused(path).found == "a.xlsx is not there"


@pytest.mark.parametrize("ending", ["xlsx", "xls", "ods"])
def test_a_table_of_a_web_page_that_is_called_a_workbook_is_refused(tmp_path, ending):
    (path := tmp_path / f"a.{ending}").write_text(
        "<html><table><tr><td>half</td></tr></table></html>", "utf-8"
    )
    assert refused(path).found == f"a.{ending} cannot be read as a workbook"


# --- damage


def kinds(tmp_path):
    """Return the bytes of a good workbook of each kind."""
    import xlwt

    book = xlwt.Workbook()
    sheet = book.add_sheet("Climate")
    for row in range(30):
        sheet.write(row, 0, f"row {row}")
        sheet.write(row, 1, row / 4)
    book.save(older := io.BytesIO())
    ods = open_document(
        tmp_path / "a.ods", f"<table:table-row>{SEVEN.format(more='')}</table:table-row>" * 30
    )
    return {
        "xlsx": write(good(), tmp_path / "a.xlsx").read_bytes(),
        "ods": ods.read_bytes(),
        "xls": older.getvalue(),
    }


def outcome(path):
    """Return what a file gives: its sheets, or None where it is refused with one message."""
    try:
        return read(path).sheets
    except WorkbookError as error:
        (problem,) = error.problems
        assert "\n" not in str(problem)
        return None


def readings(tmp_path, kind, spoil, times):
    """Return the right reading, and those of a workbook spoilt in as many ways."""
    whole = kinds(tmp_path)[kind]
    path = tmp_path / f"spoilt.{kind}"
    path.write_bytes(whole)
    right = outcome(path)
    found = []
    for seed in range(times):
        path.write_bytes(spoil(whole, random.Random(seed)))
        found.append(outcome(path))
    return right, found


@pytest.mark.parametrize("kind", ["xlsx", "ods", "xls"])
def test_a_file_that_is_cut_anywhere_is_refused_or_read_right(tmp_path, kind):
    right, found = readings(
        tmp_path, kind, lambda whole, chance: whole[: chance.randrange(len(whole))], 200
    )
    assert right
    assert all(sheets is None or sheets == right for sheets in found)
    assert found.count(None) > 150


@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_a_file_with_flipped_bytes_is_refused_or_read_right(tmp_path, kind):
    def flipped(whole, chance):
        spoilt = bytearray(whole)
        for _ in range(chance.choice((1, 3, 30))):
            spoilt[chance.randrange(len(spoilt))] ^= 1 << chance.randrange(8)
        return bytes(spoilt)

    right, found = readings(tmp_path, kind, flipped, 200)
    assert all(sheets is None or sheets == right for sheets in found)
    assert None in found


def test_an_older_file_with_flipped_bytes_stops_nothing(tmp_path):
    # The format has no checksums, so a changed number is read as that number.
    def flipped(whole, chance):
        spoilt = bytearray(whole)
        for _ in range(chance.choice((1, 3, 30))):
            spoilt[chance.randrange(len(spoilt))] ^= 1 << chance.randrange(8)
        return bytes(spoilt)

    _, found = readings(tmp_path, "xls", flipped, 300)
    assert None in found


@pytest.mark.parametrize("start", [b"", b"PK\x03\x04", bytes.fromhex("d0cf11e0a1b11ae1")])
def test_random_bytes_are_refused(tmp_path, start):
    for seed in range(60):
        chance = random.Random(seed)
        (path := tmp_path / "a.xlsx").write_bytes(start + chance.randbytes(chance.randrange(5000)))
        assert refused(path).found == "a.xlsx cannot be read as a workbook"


@pytest.mark.parametrize("length", LENGTHS)
def test_xml_that_is_spoilt_within_a_whole_archive_stops_nothing(tmp_path, monkeypatch, length):
    monkeypatch.setattr(office_open, "CELL_BY_CELL", length)
    rows = "".join(
        f'<row r="{n}"><c r="A{n}" t="s"><v>0</v></c><c r="B{n}"><v>1.5</v></c></row>'
        for n in range(1, 9)
    )
    path = with_sheet(
        tmp_path / "a.xlsx", rows, before='<cols><col min="1" max="1" hidden="1"/></cols>'
    )
    parts = parts_of(path)
    for seed in range(200):
        chance = random.Random(seed)
        name = chance.choice(PARTS)
        xml = bytearray(parts[name])
        for _ in range(chance.choice((1, 4))):
            at = chance.randrange(len(xml))
            xml[at : at + chance.choice((0, 1, 9))] = chance.randbytes(chance.choice((0, 1, 2)))
        path.write_bytes(zipped(parts | {name: bytes(xml)}))
        outcome(path)
