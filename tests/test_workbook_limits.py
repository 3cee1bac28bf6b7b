"""Small files that would cost much: each is refused by a limit that its message names, in little
memory.

The files are read in a process of their own, whose memory the system counts and bounds, and which
is ended if it hangs.
"""

import json
import subprocess
import sys

import pytest

from reportgen.model.problem import WorkbookError
from reportgen.workbook import marked, photos
from reportgen.workbook.cells import read
from tests import amplified
from tests.archives import FIRST_SHEET

MOST_MEMORY = 300  # MB
MOST_ADDRESSES = 2 * 2**30  # bytes; what goes off in spite of all must not take the machine with it
LONGEST = 120  # s, after which what hangs is ended
SCRIPT = """
import json, resource, sys
from pathlib import Path
resource.setrlimit(resource.RLIMIT_AS, ({most}, {most}))
from reportgen.model.problem import WorkbookError
from reportgen.workbook.cells import read
from reportgen.workbook.photos import UnusablePhoto, prepared
path = Path(sys.argv[1])
try:
    said = {result}
except (UnusablePhoto, WorkbookError) as error:
    said = str(error)
status = dict(line.split(":", 1) for line in Path("/proc/self/status").read_text().splitlines())
print(json.dumps([said, int(status["VmHWM"].split()[0]) / 1024]))
"""
READ = SCRIPT.format(result="read(path).name", most=MOST_ADDRESSES)
PREPARE = SCRIPT.format(result="prepared(path).key", most=MOST_ADDRESSES)


def outcome(script, path):
    """Return what a script says of a file, and the most memory that it took, in MB.

    It is VmHWM of proc(5): ru_maxrss of getrusage(2) goes on from that of the process of the tests,
    however large.
    """
    if sys.platform != "linux":
        pytest.skip("Linux alone tells the most memory of a process without that of its parent")
    words = [sys.executable, "-c", script, str(path)]
    done = subprocess.run(words, capture_output=True, text=True, timeout=LONGEST, check=False)
    assert done.returncode == 0, done.stderr[-500:]
    return json.loads(done.stdout)


SAID = {
    "merged ranges": (
        "merged-ranges.xlsx holds more than 20,000 merged ranges; expected at most 20,000."
    ),
    "merged ranges under a prefix": "merged ranges",
    "shared texts": "500,000 different texts",
    "blank shared texts": "500,000 different texts",
    "styles": "130,980 styles of cells",
    "styles within styles": "130,980 styles of cells",
    "empty cells": "500,000 cells that are empty",
    "empty cells without a place": "cells without a place or a value",
    "empty rows": "300,000 rows that are empty",
    "one long text": "400,000 bytes in one text",
    "one long attribute": "400,000 bytes in one text",
    "sheets": "1,000 sheets",
    "sheets that share a part": "cannot be read as a workbook",
    "names": "50,000 names of ranges",
}


@pytest.mark.parametrize("name", amplified.OFFICE_OPEN)
def test_a_small_workbook_that_would_cost_much_is_refused_in_little_memory(tmp_path, name):
    path = amplified.workbook(
        tmp_path / f"{name.replace(' ', '-')}.xlsx", amplified.OFFICE_OPEN[name]()
    )
    said, memory = outcome(READ, path)
    assert SAID.get(name, "holds more than") in said
    assert memory < MOST_MEMORY


@pytest.mark.parametrize("name", amplified.OPEN_DOCUMENT)
def test_a_small_open_document_that_would_cost_much_is_refused_in_little_memory(tmp_path, name):
    path = amplified.written(tmp_path / "a.ods", amplified.OPEN_DOCUMENT[name]())
    said, memory = outcome(READ, path)
    assert "a.ods holds more than" in said
    assert memory < MOST_MEMORY


@pytest.mark.parametrize("name", amplified.BESIDE)
def test_what_is_not_read_costs_nothing_and_is_refused_where_a_copy_would_read_it(tmp_path, name):
    path = amplified.workbook(tmp_path / "a.xlsx", amplified.BESIDE[name]())
    said, memory = outcome(READ, path)
    assert said == "a"
    assert memory < MOST_MEMORY
    with pytest.raises(WorkbookError, match="holds more than"):
        marked.marked_copy(path.read_bytes(), ".xlsx", ())


def test_an_older_workbook_with_one_cell_far_out_is_refused(tmp_path):
    import xlwt

    book = xlwt.Workbook()
    sheet = book.add_sheet("Climate")
    sheet.write(65_535, 255, 1)
    book.save(path := tmp_path / "a.xls")
    said, memory = outcome(READ, path)
    assert "the sheet goes on to row 65536 and column 256" in said
    assert memory < MOST_MEMORY


def test_one_merged_range_over_a_million_rows_costs_nothing(tmp_path):
    merged = iter(['<mergeCell ref="A1:B1000000"/>'])
    path = amplified.workbook(
        tmp_path / "a.xlsx", {FIRST_SHEET: amplified.behind(merged, "mergeCells")}
    )
    said, memory = outcome(READ, path)
    assert said == "a"
    assert memory < MOST_MEMORY


@pytest.mark.parametrize("count", [19_999, 20_001])
@pytest.mark.parametrize("prefix", ["", "x:"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_thing_is_counted_under_any_prefix_and_in_any_encoding(tmp_path, count, prefix, encoding):
    merged = "".join(f'<{prefix}mergeCell\nref="B{row}:C{row}"/>' for row in range(1, count + 1))
    bound = f' xmlns:x="{amplified.MAIN}"'
    xml = (
        f"<{prefix}worksheet{bound} xmlns='{amplified.MAIN}'><{prefix}sheetData/>"
        f"<{prefix}mergeCells>{merged}</{prefix}mergeCells></{prefix}worksheet>"
    )
    path = amplified.workbook(tmp_path / "a.xlsx", {FIRST_SHEET: xml.encode(encoding)})
    if count < 20_000:
        assert read(path).sheets[0].name == "Climate"
    else:
        with pytest.raises(WorkbookError, match="20,000 merged ranges"):
            read(path)


def test_times_of_day_among_texts_are_no_prefixes(tmp_path):
    texts = "".join(
        f"<si><t>a:si b:si 2026-01-01 12:{n % 60:02}:00</t></si>" for n in range(150_000)
    )
    path = amplified.workbook(
        tmp_path / "a.xlsx", {"xl/sharedStrings.xml": amplified.STRINGS.replace("@", texts)}
    )
    assert read(path).sheets[0].rows[0][0].endswith("12:00:00")


# --- photos


def test_a_picture_of_many_pixels_in_few_bytes_is_refused_before_it_is_decoded(tmp_path):
    path = amplified.picture(tmp_path / "a.png", 12_000, 6_600)
    assert path.stat().st_size < 12_000 * 6_600 / 300
    said, memory = outcome(PREPARE, path)
    assert said.startswith("has too many pixels; expected 25 million at most")
    assert memory < MOST_MEMORY


@pytest.mark.parametrize(
    ("name", "mode", "options"),
    [
        ("a.png", "RGB", {}),
        ("a.png", "RGBA", {}),
        ("a.png", "P", {}),
        ("a.jpg", "RGB", {"progressive": True}),
    ],
)
def test_a_picture_just_below_the_limit_is_taken_in_little_memory(tmp_path, name, mode, options):
    from PIL import Image

    Image.new(mode, (6000, 4100)).save(tmp_path / name, **options)
    said, memory = outcome(PREPARE, tmp_path / name)
    assert said.startswith("photo-")
    assert memory < MOST_MEMORY


def test_a_large_photo_of_a_camera_is_taken_since_it_is_decoded_in_part(tmp_path):
    from PIL import Image

    Image.new("RGB", (10_000, 7_500)).save(tmp_path / "a.jpg")
    said, memory = outcome(PREPARE, tmp_path / "a.jpg")
    assert said.startswith("photo-")
    assert memory < MOST_MEMORY


def test_a_picture_that_is_drawn_over_and_over_is_refused(tmp_path):
    # ITU-T T.81, B.1.1.3: FFDA starts a scan, and a scan ends where the next marker stands.
    from PIL import Image

    Image.new("RGB", (800, 600)).save(path := tmp_path / "a.jpg", progressive=True)
    content = path.read_bytes()
    start = content.index(b"\xff\xda", content.index(b"\xff\xda") + 2)
    scan = content[start : content.index(b"\xff", start + 2)]
    path.write_bytes(content[:-2] + scan * 200 + content[-2:])
    with pytest.raises(
        photos.UnusablePhoto, match="drawn over and over; expected 100 passes at most"
    ):
        photos.prepared(path)
