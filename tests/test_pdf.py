"""The PDF as PDF/UA-1 (ISO 14289-1) and PDF/A-3a (ISO 19005-3), read by parsers that know nothing
of how it is made.

Clauses are those of the standards as remembered; where no standard is named, ISO 32000-1:2008 is
meant.
"""

import dataclasses
import io
import json
import logging
import os
import pickle
import re
import shutil
import subprocess
import sys
import zipfile
from collections import Counter
from collections.abc import Iterator
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import lxml.etree
import openpyxl
import openpyxl.comments
import openpyxl.workbook.defined_name
import pikepdf
import pytest

from reportgen import pipeline, sources
from reportgen.model.data import DataColumn, DataTable
from reportgen.model.document import (
    AnswerBox,
    AnswerRow,
    Bullets,
    Change,
    Facts,
    IntervalBar,
    Links,
    Paragraph,
    Prose,
    Report,
    Section,
    Table,
    Trust,
)
from reportgen.model.settings import DEFAULTS, Settings
from reportgen.render import PdfUnavailable, data, figures, pdf, report_files
from reportgen.render.pdf import attachments
from tests.test_render import bare, figure, hostile, section_of_everything
from tests.test_render import report as plain_report
from tests.test_samples import PAK_CHOI, report_of
from tests.workbooks import least, write

ADDRESS = "https://example.org/trials/warm-roots/"
LISTS = (
    "1. Fill.\n\n2. Plant:\n\n   - six a tray\n   - none in the corner\n\n> A *quiet*"
    " spring.\n\n---\n\n`pH 5.8`"
)
MEASURED = (
    DataTable(
        "Trays",
        (DataColumn("Tray", "", ("T1", "T2")), DataColumn("Fresh weight", "g", (81.5, None))),
    ),
    DataTable("Light", (DataColumn("Read on", "", (date(2025, 3, 1),)),)),
)
SOURCE = ("warm roots.xlsx", b"PK\x03\x04 a workbook")
FINDING = "Warm trays: 25% heavier pak choi"
LEAD = ("Trays at 20 °C gave 25% more fresh weight.", "The trial does not tell for 25 °C.")
CHANGE = Change(
    "20 °C", "100", "+25%", "12% to 53% more", "more", "more", IntervalBar(40.0, 60.0, 50.0, 80.0)
)
ROW = AnswerRow("Fresh weight", "g/plant", "80", (CHANGE,))
BOX = AnswerBox("No mat", (ROW,), ((40.0, "0%"), (60.0, "+25%")), "Dot: what was measured.")
NO_BOX = AnswerBox("", ())
TRUST = Trust(("Trays were drawn at random.",), disclosure="The mats were lent by their maker.")
NAMES = {
    "pdfaExtension": "http://www.aiim.org/pdfa/ns/extension/",
    "pdfaProperty": "http://www.aiim.org/pdfa/ns/property#",
    "pdfaSchema": "http://www.aiim.org/pdfa/ns/schema#",
    "pdfuaid": "http://www.aiim.org/pdfua/ns/id/",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
}
FONTS = {"Inter", "Inter-Bold", "Inter-Italic"}
pytestmark = pytest.mark.usefixtures("drawn_once")
SHOWS = {
    "Tj",
    "TJ",
    "'",
    '"',
    "Do",
    "S",
    "s",
    "f",
    "F",
    "f*",
    "B",
    "B*",
    "b",
    "b*",
    "sh",
}  # operators that draw


def report(**changes: Any) -> Report:
    """Return the invented trial of root warmth with its answer, as every report has one."""
    answered = dataclasses.replace(
        plain_report(), headline=FINDING, lead=LEAD, box=BOX, trust=TRUST
    )
    return dataclasses.replace(answered, **changes)


def crowded() -> Report:
    """Return a report with every kind of block, nested lists, a table over pages and recorded data."""
    listed = Section("lists", "Lists", (Prose(LISTS, "The grower"), Bullets(("One.",), "Lead")))
    return report(sections=(*report().sections, listed), data=MEASURED)


def made(document: Report, **others: Any) -> bytes:
    (content,) = pdf.render(document, figures.draw(document), **others).values()
    return content


@pytest.fixture(scope="module")
def sample() -> Report:
    return report_of(PAK_CHOI)


@pytest.fixture(scope="module")
def content() -> bytes:
    return made(crowded(), address=ADDRESS, source=SOURCE)


@pytest.fixture(scope="module")
def unaddressed() -> bytes:
    return made(crowded())


@pytest.fixture(scope="module", params=["every kind of block", "a sample"])
def paper(request: Any, content: bytes, sample: Report) -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(
        io.BytesIO(content if request.param != "a sample" else made(sample))
    ) as opened:
        yield opened


@pytest.fixture(scope="module")
def small(content: bytes) -> Iterator[pikepdf.Pdf]:
    with pikepdf.open(io.BytesIO(content)) as opened:
        yield opened


def kids(element: Any) -> list[Any]:
    """Return the structure elements directly under one."""
    below = element.get("/K", pikepdf.Array())
    found = list(below) if isinstance(below, pikepdf.Array) else [below]
    return [kid for kid in found if isinstance(kid, pikepdf.Dictionary) and "/S" in kid]


def structure(element: Any) -> Iterator[Any]:
    """Yield every structure element under one, in reading order."""
    for kid in kids(element):
        yield kid
        yield from structure(kid)


def tagged(opened: pikepdf.Pdf, *tags: str) -> list[Any]:
    """Return the structure elements with one of these tags, of every tag if none is named."""
    return [one for one in structure(opened.Root.StructTreeRoot) if not tags or one.S in tags]


def tool(words: list[str], content: bytes) -> str:
    if not shutil.which(words[0]):
        pytest.skip(f"needs {words[0]}, of poppler-utils")
    return subprocess.run(words, input=content, capture_output=True, check=True).stdout.decode()


def pages_of(content: bytes) -> list[str]:
    """Return the text of each page, every space as one."""
    return [
        " ".join(page.split()) for page in tool(["pdftotext", "-", "-"], content).split("\f")[:-1]
    ]


# What the file says of itself


def test_the_file_is_tagged_and_says_its_title_and_language(paper):
    # ISO 14289-1, 7.1 (marked, title shown) and 7.2 (language).
    assert paper.Root.MarkInfo.Marked
    assert paper.Root.ViewerPreferences.DisplayDocTitle
    assert str(paper.Root.Lang) == "en"
    with paper.open_metadata() as metadata:
        assert metadata["dc:title"] == str(paper.docinfo.Title)
        assert metadata["dc:title"].startswith(("Do warm roots", "Warm roots"))


def test_the_file_claims_both_standards_and_describes_the_claim_that_the_other_does_not_know(paper):
    # ISO 14289-1, 5; ISO 19005-3, 6.6.4 and 6.6.2.3.
    with paper.open_metadata() as metadata:
        assert (metadata["pdfaid:part"], metadata["pdfaid:conformance"]) == ("3", "A")
        assert metadata["pdfuaid:part"] == "1"
    packet = lxml.etree.fromstring(paper.Root.Metadata.read_bytes())
    assert len(packet.xpath("//rdf:RDF", namespaces=NAMES)) == 1
    (schema,) = packet.xpath("//pdfaExtension:schemas/rdf:Bag/rdf:li", namespaces=NAMES)
    assert schema.findtext("pdfaSchema:namespaceURI", namespaces=NAMES) == NAMES["pdfuaid"]
    assert schema.findtext("pdfaSchema:prefix", namespaces=NAMES) == "pdfuaid"
    (described,) = schema.xpath("pdfaSchema:property/rdf:Seq/rdf:li", namespaces=NAMES)
    told = {lxml.etree.QName(one).localname: one.text for one in described}
    assert (told["name"], told["valueType"], told["category"]) == ("part", "Integer", "internal")
    assert told["description"]


def test_the_file_brings_the_colour_space_that_its_colours_are_in(paper):
    # ISO 19005-3, 6.2.3; the header of a profile: ICC.1:2010, 7.2 (colour space at byte 16,
    # signature at byte 36).
    (intent,) = paper.Root.OutputIntents
    assert (intent.S, intent.DestOutputProfile.N) == ("/GTS_PDFA1", 3)
    profile = intent.DestOutputProfile.read_bytes()
    assert (profile[16:20], profile[36:40]) == (b"RGB ", b"acsp")
    assert int.from_bytes(profile[:4], "big") == len(profile)


def test_the_file_is_whole_and_does_nothing_by_itself(paper):
    # ISO 19005-3, 6.1.2 (version), 6.1.3 (identifier, no encryption), 6.5.1 (actions).
    assert paper.pdf_version == "1.7"
    assert len(paper.trailer.ID) == 2
    assert not paper.is_encrypted
    assert not {"/OpenAction", "/AA", "/AcroForm"} & set(paper.Root.keys())
    dictionaries = [one for one in paper.objects if isinstance(one, pikepdf.Dictionary)]
    actions = [one for one in dictionaries if one.get("/Type") == "/Action"]
    assert {str(one.S) for one in actions} <= {"/URI"}
    assert paper.check_pdf_syntax() == []


def test_every_font_is_embedded_and_every_sign_has_its_character(paper):
    # ISO 19005-3, 6.2.11.4 (embedded) and 6.2.11.7 (Unicode); ISO 14289-1, 7.21.
    dictionaries = [one for one in paper.objects if isinstance(one, pikepdf.Dictionary)]
    descriptors = [one for one in dictionaries if one.get("/Type") == "/FontDescriptor"]
    assert {"Inter", "Inter-Bold"} <= {str(one.FontName)[8:] for one in descriptors} <= FONTS
    assert all("/FontFile2" in one or "/FontFile3" in one for one in descriptors)
    fonts = [one for one in dictionaries if one.get("/Subtype") == "/Type0"]
    assert fonts
    assert all(b"beginbf" in one.ToUnicode.read_bytes() for one in fonts)


# Structure


def test_headings_skip_no_level_and_each_has_a_bookmark(paper):
    levels = [int(str(one.S)[2]) for one in tagged(paper) if re.fullmatch("/H[1-6]", str(one.S))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(deeper - level <= 1 for level, deeper in pairwise(levels))  # ISO 14289-1, 7.4.2
    with paper.open_outline() as outline:
        (root,) = outline.root
        assert root.title.startswith("Warm trays: 2")
        assert root.children[0].title == "How far to trust it"
        assert len(root.children) == levels.count(2)


def test_every_figure_says_what_it_shows_and_where_on_its_page_it_is(paper):
    # ISO 14289-1, 7.3; 14.8.5.4.3 (the box in points, from the lower left).
    drawn = tagged(paper, "/Figure")
    assert all(str(one.Alt).strip() for one in drawn)
    for one in drawn:
        left, bottom, right, top = map(float, one.A.BBox)
        _, _, width, height = map(float, one.Pg.MediaBox)
        assert 0 <= left < right <= width
        assert 0 <= bottom < top <= height


def test_the_box_of_a_figure_holds_its_words(small, content):
    glance, *_ = [one for one in tagged(small, "/Figure") if str(one.Alt).startswith("Bars")]
    left, bottom, right, top = map(float, glance.A.BBox)
    height = float(glance.Pg.MediaBox[3])
    words = re.findall(
        r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">Cold<', _boxes(content)
    )
    x_min, y_min, x_max, y_max = map(float, words[0])
    assert left <= x_min < x_max <= right
    assert bottom <= height - y_max < height - y_min <= top


def _boxes(content: bytes) -> str:
    return tool(["pdftotext", "-bbox", "-", "-"], content)


def test_tables_are_even_and_every_header_says_what_it_heads(paper):
    # ISO 14289-1, 7.5; tables 337 and 349.
    tables = tagged(paper, "/Table")
    assert tables
    for table in tables:
        assert {str(one.S) for one in kids(table)} <= {"/Caption", "/THead", "/TBody"}
        rows = [one for one in structure(table) if one.S == "/TR"]
        assert len({sum(map(columns_of, kids(row))) for row in rows}) == 1
    for part, scope in (("/THead", "/Column"), ("/TBody", "/Row")):
        headers = [
            one for parent in tagged(paper, part) for one in structure(parent) if one.S == "/TH"
        ]
        assert {str(one.A.Scope) for one in headers} == {scope}
    # An identifier would have to be in a tree of identifiers (table 322).
    assert not [one for one in tagged(paper) if "/ID" in one or "/Headers" in one.get("/A", {})]


def columns_of(cell: Any) -> int:
    """Return how many columns a cell spans (table 349)."""
    return int(cell.get("/A", {}).get("/ColSpan", 1))


def test_lists_hold_items_and_an_item_its_label_and_one_body(paper):
    # Table 336; nested lists stand beside the item.
    for one in tagged(paper, "/L"):
        assert {str(kid.S) for kid in kids(one)} <= {"/LI", "/L", "/Caption"}
    for item in tagged(paper, "/LI"):
        assert [str(kid.S) for kid in kids(item)] in (["/Lbl", "/LBody"], ["/LBody"])
    assert not [
        kid
        for one in tagged(paper)
        if one.S != "/LI"
        for kid in kids(one)
        if kid.S in ("/Lbl", "/LBody")
    ]


def test_every_element_knows_its_parent(paper):
    for one in [paper.Root.StructTreeRoot, *tagged(paper)]:
        assert all(kid.P.objgen == one.objgen for kid in kids(one))


def test_everything_drawn_is_in_the_tree_or_an_artifact(paper):
    # ISO 14289-1, 7.1: content is tagged or an artifact, and neither stands within the other.
    known = {one.objgen for one in tagged(paper)}
    for number, page in enumerate(paper.pages):
        parents = parents_of(paper, number)
        for marks, text in drawn_under(page):
            artifact = [tag for tag, _ in marks if tag == "/Artifact"]
            read = [mark for _, mark in marks if mark is not None]
            assert len(read) + bool(artifact) == 1, (number, marks, text)
            assert all(parents[mark].objgen in known for mark in read)


def parents_of(opened: pikepdf.Pdf, number: int) -> Any:
    numbers = list(opened.Root.StructTreeRoot.ParentTree.Nums)
    return dict(zip(map(int, numbers[::2]), numbers[1::2], strict=True))[number]


def drawn_under(page: Any) -> Iterator[tuple[list[tuple[str, int | None]], str]]:
    """Yield, for each operator that draws, the marked content around it as tags and marks."""
    open_marks: list[tuple[str, int | None]] = []
    for operands, operator in pikepdf.parse_content_stream(page):
        name = str(operator)
        if name in ("BMC", "BDC"):
            mark = operands[1].get("/MCID") if name == "BDC" else None
            open_marks.append((str(operands[0]), None if mark is None else int(mark)))
        elif name == "EMC":
            open_marks.pop()
        elif name in SHOWS:
            yield list(open_marks), name


def test_running_titles_and_page_numbers_are_artifacts_of_the_pages(paper):
    # 14.8.2.2.2; each page has its foot and its number.
    for page in paper.pages:
        marked = [
            operands
            for operands, operator in pikepdf.parse_content_stream(page)
            if str(operator) == "BDC" and operands[0] == "/Artifact"
        ]
        types = Counter(str(operands[1].Type) for operands in marked)
        assert types["/Pagination"] == 2
        assert set(types) <= {"/Pagination", "/Layout"}


def test_the_bars_of_the_answer_are_decorations_beside_their_words(small):
    # ISO 14289-1, 7.3: what has no words of its own is an artifact; 14.8.2.2.2 names its type.
    marks = [
        operands
        for operands, operator in pikepdf.parse_content_stream(small.pages[0])
        if str(operator) == "BDC"
    ]
    layout = [one for one in marks if one[0] == "/Artifact" and one[1].Type == "/Layout"]
    assert len(layout) == 1 + len(BOX.rows)  # the scale and a bar in each row
    assert not [
        kid for cell in tagged(small, "/TH", "/TD") for kid in structure(cell) if kid.S == "/Figure"
    ]


def test_links_are_named_by_their_words_printed_and_reached_in_reading_order(small):
    # ISO 14289-1, 7.18.1, 7.18.3, 7.18.5; ISO 19005-3, 6.3.2 (bit 3 prints, bits 1, 2 and 6 hide).
    links = [one for page in small.pages for one in page.get("/Annots", ())]
    assert [(str(one.Contents), str(one.A.URI)) for one in links] == [
        (ADDRESS, ADDRESS),
        ("bought used", "https://example.org/mat"),
        ("Results", "https://example.org/trials/warm-roots/results.json"),
    ]
    assert [int(one.F) for one in links] == [4, 4, 4]
    assert all(page.Tabs == "/S" for page in small.pages)
    in_tree = [
        kid.Obj.objgen
        for one in tagged(small, "/Link")
        for kid in one.K
        if not isinstance(kid, int)
    ]
    assert in_tree == [one.objgen for one in links]


def test_the_text_is_read_in_its_order_and_margins_are_not(content, tmp_path):
    (tmp_path / "a.pdf").write_bytes(content)
    told = tool(["pdfinfo", "-struct-text", str(tmp_path / "a.pdf")], b"")
    spoken = " ".join(re.findall(r'^ *"(.*)"$', told, re.MULTILINE))
    parts = [
        "Do warm roots make bigger pak choi?",
        FINDING,
        "Trays at 20 °C gave",
        "12% to 53% more",
        "drawn at random",
        "lent by",
        "96",
        "Ada Example",
        "On the web:",
        "At a glance",
        "Mean fresh weight by treatment.",
        "Pak choi grew",
        "T00",
        "T59",
        "Means of eight.",
        "none in the corner",
        "Attached to this file",
    ]
    places = [spoken.index(part) for part in parts]
    assert places == sorted(places)
    assert " / " not in spoken
    assert spoken.count("Do warm roots make bigger pak choi?") == 1


@pytest.mark.parametrize(
    "document", [crowded(), bare(), hostile(crowded())], ids=["full", "bare", "hostile"]
)
def test_the_layout_engine_has_nothing_to_complain_about(document, caplog):
    known = dataclasses.replace(document, language="en", harvested_on="2025-04-08", data=MEASURED)
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        made(known, address=ADDRESS, source=SOURCE)
    assert caplog.messages == []


def test_a_report_without_sections_tables_or_links_is_a_whole_file():
    with pikepdf.open(io.BytesIO(made(report(sections=(), box=NO_BOX)))) as opened:
        assert [str(one.S) for one in tagged(opened, "/H1", "/Figure", "/Table", "/Link")] == [
            "/H1"
        ]
        assert opened.check_pdf_syntax() == []


# Attachments


def test_what_the_report_was_made_from_is_attached_under_its_own_name(small):
    with_bytes = {name: one.get_file().read_bytes() for name, one in small.attachments.items()}
    sheets = {
        name.rpartition("/")[2]: content for name, content in data.render(crowded(), {}).items()
    }
    assert with_bytes == {
        SOURCE[0]: SOURCE[1],
        "results.json": crowded().results.encode(),
        **sheets,
    }
    assert with_bytes["trays.csv"].startswith(b"Tray,Fresh weight (g)\r\nT1,81.5\r\n")


def test_each_attachment_says_its_kind_its_part_and_when_it_was_made(small):
    # ISO 19005-3, 6.8 and annex E; dated by the harvest.
    specified = {str(one.UF): one for one in small.Root.AF}
    assert len(small.Root.AF) == len(specified) == 4
    named = list(small.Root.Names.EmbeddedFiles.Names)[::2]
    assert [str(name) for name in named] == sorted(specified)  # 7.9.6: a name tree is sorted
    assert {
        name: (str(one.AFRelationship), str(one.EF.F.Subtype)) for name, one in specified.items()
    } == {
        "light.csv": ("/Data", "/text/csv"),
        "results.json": ("/Data", "/application/json"),
        "trays.csv": ("/Data", "/text/csv"),
        "warm roots.xlsx": (
            "/Source",
            "/application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        ),
    }
    assert all(str(one.Desc) and str(one.F) == name for name, one in specified.items())
    assert {str(one.EF.F.Params.ModDate) for one in specified.values()} == {"D:20250408000000Z"}


def test_the_text_names_what_is_attached_and_what_was_too_large(monkeypatch):
    monkeypatch.setattr(attachments, "LARGEST", 25)
    content = made(crowded(), source=SOURCE)
    with pikepdf.open(io.BytesIO(content)) as opened:
        assert set(opened.attachments) == {SOURCE[0], "light.csv"}
    text = " ".join(pages_of(content))
    assert "Attached to this file: warm roots.xlsx, light.csv." in text
    assert "Too large to attach: results.json, trays.csv." in text


@pytest.mark.parametrize("name", ["warm roots.xlsx", "Raíz #2 (50%).xlsm", "é" * 60 + ".xlsx"])
def test_a_build_attaches_a_copy_of_the_workbook_where_settings_ask_for_it(name, tmp_path):
    source = write(least(), tmp_path / "least.xlsx").rename(tmp_path / name)
    paper = pdf_of(source, tmp_path / "site", dataclasses.replace(DEFAULTS, attach_workbook=True))
    with pikepdf.open(paper) as opened:
        attached = {
            str(one.UF): (str(one.AFRelationship), one.EF.F.read_bytes()) for one in opened.Root.AF
        }
    relationship, copy = attached.pop(f"{source.stem}.xlsx")
    assert relationship == "/Source"
    assert cells_of(io.BytesIO(copy)) == cells_of(source)
    assert set(attached) == {
        "results.json",
        *(one.name for one in (paper.parent / "data").glob("*.csv")),
    }
    listed = tool(
        ["pdfdetach", "-enc", "UTF-8", "-list", str(paper)], b""
    )  # what poppler shows a reader
    assert f": {source.stem}.xlsx" in listed


def cells_of(source: Any) -> dict[str, list[Any]]:
    """Return the values of each sheet that has any, row by row."""
    book = openpyxl.load_workbook(source, data_only=True)
    return {sheet.title: list(sheet.values) for sheet in book.worksheets if sheet.max_row > 1}


def test_a_build_attaches_no_workbook_unless_asked(tmp_path):
    with pikepdf.open(pdf_of(write(least(), tmp_path / "least.xlsx"), tmp_path / "site")) as opened:
        assert "results.json" in opened.attachments
        assert not [name for name in opened.attachments if name.endswith(".xlsx")]


PLANTED = (
    "Zq-author",
    "Zq-comment",
    "Zq-hidden-sheet",
    "Zq-hidden-cell",
    "Zq_name",
    "Zq-row",
    "Zq-column",
    "Zq-title",
)


def test_what_a_grower_hid_in_a_workbook_is_not_in_the_copy(tmp_path):
    path = planted(tmp_path / "planted.xlsx")
    assert found_in(path.read_bytes()) == set(PLANTED)
    with pikepdf.open(
        pdf_of(path, tmp_path / "site", dataclasses.replace(DEFAULTS, attach_workbook=True))
    ) as opened:
        files = {str(one.UF): one.EF.F.read_bytes() for one in opened.Root.AF}
    assert found_in(files["planted.xlsx"]) == set()
    assert cells_of(io.BytesIO(files["planted.xlsx"]))["Treatments"][1] == ("half", "Half")


def planted(path: Path) -> Path:
    """Return a workbook with a word of its own in each place that is not for readers."""
    write(least(), path)
    book = openpyxl.load_workbook(path)
    book.properties.creator = book.properties.lastModifiedBy = "Zq-author"
    book.properties.title = "Zq-title"
    trays = book["Trays"]
    trays["A2"].comment = openpyxl.comments.Comment("Zq-comment", "Zq-author")
    book.defined_names["Zq_name"] = openpyxl.workbook.defined_name.DefinedName(
        "Zq_name", attr_text="Trays!$A$1"
    )
    hidden = book.create_sheet("Zq-hidden-sheet")
    hidden["A1"] = "Zq-hidden-cell"
    hidden.sheet_state = "hidden"
    notes = book.create_sheet("Phones")
    notes.append(["To call", "Zq-column"])
    notes.append(["Zq-row"])
    notes.row_dimensions[2].hidden = True
    notes.column_dimensions["B"].hidden = True
    book.save(path)
    return path


def found_in(workbook: bytes) -> set[str]:
    """Return which of the planted words stand anywhere in the parts of a workbook."""
    with zipfile.ZipFile(io.BytesIO(workbook)) as archive:
        text = " ".join(
            archive.read(name).decode("utf-8", "replace") for name in archive.namelist()
        )
    return {word for word in PLANTED if word in text}


def pdf_of(source: Path, site: Path, settings: Settings = DEFAULTS) -> Path:
    (built,) = pipeline.build((source,), site, settings, pipeline.BuildOptions(jobs=1))
    assert built.page
    return built.page.parent / "report.pdf"


def test_a_workbook_that_was_saved_again_while_it_was_built_is_not_attached(tmp_path, monkeypatch):
    path = write(least(), tmp_path / "least.xlsx")
    real = sources.checked
    monkeypatch.setattr(
        sources, "checked", lambda *a, **b: (real(*a, **b), path.write_bytes(b"another"))[0]
    )
    asked = dataclasses.replace(DEFAULTS, attach_workbook=True)
    with pikepdf.open(pdf_of(path, tmp_path / "site", asked)) as opened:
        assert "results.json" in opened.attachments
        assert path.name not in opened.attachments


# Links


def test_links_lead_to_the_web_where_the_report_is_there_and_show_no_address(content, unaddressed):
    with pikepdf.open(io.BytesIO(unaddressed)) as opened:
        links = [str(one.A.URI) for page in opened.pages for one in page.get("/Annots", ())]
    assert links == [
        "https://example.org/mat"
    ]  # typed by the grower; those of the report lead nowhere
    for paper in (content, unaddressed):
        text = " ".join(pages_of(paper))
        assert "Results" in text
        assert "(results.json)" not in text


@pytest.mark.parametrize(
    ("link", "whole"),
    [
        ("data/trays.csv", "https://example.org/a%20b/data/trays.csv"),
        ("../other/index.html", "https://example.org/other/index.html"),
        ("https://example.net/x", "https://example.net/x"),
        ("mailto:a@example.net", "mailto:a@example.net"),
    ],
)
def test_a_link_is_seen_from_the_page_of_the_report(link, whole):
    # RFC 3986, 5.2: a reference is resolved against the address of the page that holds it.
    assert pdf._whole(link, "https://example.org/a%20b/index.html") == whole
    assert pdf._whole(link, "") == (whole if ":" in link else "")


# The address


def test_the_first_page_carries_the_address_as_text_link_and_code(small, content):
    assert ADDRESS in pages_of(content)[0]
    first, *_ = tagged(small, "/Figure")
    assert str(first.Alt) == "QR code of the report's address on the web"
    assert str(small.pages[0].Annots[0].A.URI) == ADDRESS


def draw_first_page(paper, picture):
    """Write the first page as `picture`.png, 100 dots an inch."""
    page = ["-r", "100", "-l", "1", "-png", "-singlefile"]
    tool(["pdftoppm", *page, str(paper), str(picture)], b"")


@pytest.mark.parametrize("address", [ADDRESS, "https://example.org/" + "a-long-path/" * 20])
def test_a_reader_of_codes_finds_the_address_on_the_printed_page(address, tmp_path):
    # zxing-cpp reads codes and shares nothing with what draws them; 100 dots an inch is coarser
    # than any printer.
    zxingcpp = pytest.importorskip("zxingcpp")
    image = pytest.importorskip("PIL.Image")
    (tmp_path / "a.pdf").write_bytes(made(report(), address=address))
    draw_first_page(tmp_path / "a.pdf", tmp_path / "a")
    (found,) = zxingcpp.read_barcodes(image.open(tmp_path / "a.png"))
    assert found.text == address


def test_the_printed_page_of_a_site_with_an_address_leads_to_the_report(tmp_path):
    # From the settings to the ink: zxing-cpp reads what poppler draws.
    zxingcpp = pytest.importorskip("zxingcpp")
    image = pytest.importorskip("PIL.Image")
    (tmp_path / "reportgen.toml").write_text('address = "https://example.org/trials"\n')
    path = write(least(), tmp_path / "Cool water.xlsx")
    paper = pdf_of(path, tmp_path / "site", pipeline.settings_of((path,)))
    draw_first_page(paper, tmp_path / "a")
    (found,) = zxingcpp.read_barcodes(image.open(tmp_path / "a.png"))
    assert found.text == f"https://example.org/trials/{paper.parent.name}/index.html"


def test_a_report_without_an_address_has_no_code():
    content = made(report())
    assert "On the web" not in pages_of(content)[0]
    with pikepdf.open(io.BytesIO(content)) as opened:
        assert len(tagged(opened, "/Figure")) == 3  # two charts and a photo


# Pages


@pytest.mark.parametrize("sentences", [1, 3, 5])
def test_the_first_page_is_complete_in_itself_however_long_the_answer(sentences):
    said = (
        "Trays at 20 °C gave 25% more fresh weight per plant than trays without a mat, and the 95%"
        " interval reaches from 12% to 53% more, so that the trial tells which gave more."
    )
    plain = json.loads(figure().spec) | {"height": 360, "width": 520}
    opening = Section(
        "glance",
        "At a glance",
        (figure("glance", spec=json.dumps(plain)), Paragraph("What follows.")),
    )
    document = report(lead=(said,) * sentences, sections=(opening, section_of_everything()))
    first = pages_of(made(document, address=ADDRESS))[0]
    for part in (
        "Do warm roots",
        "Does a warm root zone",
        "from 12% to 53%",
        "lent by",
        "Ada Example",
        ADDRESS,
    ):
        assert part in first
    assert "At a glance" in first
    assert "Mean fresh weight by treatment." in first
    assert "Root zone warmed to 25 °C" in first


def test_no_row_of_a_table_is_cut_and_its_head_stands_on_every_page():
    words = (
        "what was found in this check stands here in so many words that it takes several lines of"
        " the page "
    )
    rows = tuple((f"Check {n}", "Sound", f"begin{n:02d} {words * 3} end{n:02d}") for n in range(50))
    long = Table(
        "fair",
        "Checks of a fair test",
        ("Check", "Verdict", "Finding"),
        rows,
        (False, False, False),
    )
    pages = pages_of(made(report(sections=(Section("fair", "Fair", (long,)),))))
    for number in range(50):
        (holding,) = [page for page in pages if f"begin{number:02d}" in page]
        assert f"end{number:02d}" in holding
    assert all("Verdict" in page for page in pages if "begin" in page)
    assert sum("begin" in page for page in pages) > 2


@pytest.mark.parametrize("lines", range(10, 24))
@pytest.mark.parametrize("longer", [0, 1])
def test_a_caption_stays_with_three_rows_and_no_fewer_go_to_the_next_page(lines, longer):
    rows = tuple((f"row{n:02d}", "1") for n in range(20))
    long = Table("t", "A caption", ("Tray", "Mean"), rows, (False, True))
    texts = tuple(
        Paragraph("A line of text that fills more than one. " * (3 if n < longer else 1))
        for n in range(lines)
    )
    front = dict.fromkeys(("crop", "question", "byline", "disclosure"), "")
    document = plain_report(
        answer=(), facts=Facts(()), sections=(Section("s", "S", (*texts, long)),), **front
    )
    pages = pages_of(made(document))
    assert [page for page in pages if "A caption" in page] == [
        page for page in pages if "row02" in page
    ]
    assert [page for page in pages if "row17" in page] == [
        page for page in pages if "row19" in page
    ]


def test_a_figure_stands_on_the_page_of_its_caption(paper):
    for one in tagged(paper):
        together = [kid for kid in structure(one) if kid.S in ("/Figure", "/Caption")]
        if one.S == "/NonStruct" and [str(kid.S) for kid in together] == ["/Figure", "/Caption"]:
            assert together[0].Pg.objgen == together[1].Pg.objgen


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_figures_of_a_kind_go_two_by_two_and_the_last_of_an_odd_number_alone(count, sample):
    water = next(one for one in sample.sections if one.key == "water")
    curve = [one for one in water.blocks if one.kind == "figure"][-1]  # pH of the solution
    blocks = tuple(
        dataclasses.replace(curve, key=f"curve-{n}", caption=f"Curve{n}.") for n in range(count)
    )
    sections = (Section("s", "S", (Paragraph("Before."), *blocks, Paragraph("After."))),)
    places = captions(made(report(sections=sections)))
    rows = [[places[n] for n in range(count) if n // 2 == row] for row in range((count + 1) // 2)]
    assert all(
        pair[0][0] + 200 < pair[1][0] and pair[0][1] == pair[1][1]
        for pair in rows
        if len(pair) == 2
    )
    assert len({(row[0][0], row[0][1]) for row in rows}) == len(rows)


def captions(content: bytes) -> list[tuple[float, float]]:
    """Return where each caption begins, in points from the upper left corner, all on one page."""
    found = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" [^>]*>Curve(\d)', _boxes(content))
    return [(float(x), float(y)) for x, y, _ in sorted(found, key=lambda one: one[2])]


def test_long_contents_do_not_run_off_the_paper():
    wide = "x" * 400
    cells = (("T1", "Sound", wide),)
    blocks = (
        Table("t", wide, ("A", "B", "C"), cells, (False,) * 3),
        Facts(((wide, wide),)),
        Links(((wide, "a", wide),)),
    )
    content = made(
        report(title=wide, sections=(Section("s", wide, blocks),)),
        address=f"https://example.org/{wide}",
    )
    edges = [float(edge) for edge in re.findall(r'xMax="([\d.]+)"', _boxes(content))]
    assert max(edges) <= 210 / 25.4 * 72  # A4, ISO 216


def test_hostile_text_is_shown_as_text():
    attacked = dataclasses.replace(
        hostile(report(sections=())), language="en", harvested_on="2025-04-08"
    )
    text = " ".join(pages_of(made(attacked)))
    assert "<script>alert(1)</script>" in text
    assert "{{ 7 * 7 }}" in text


# Setting


def test_the_same_report_gives_the_same_bytes_in_another_process(content):
    code = (
        "import pickle, sys\n"
        "from reportgen.render import pdf\n"
        "report, drawn, others = pickle.load(sys.stdin.buffer)\n"
        "(content,) = pdf.render(report, drawn, **others).values()\n"
        "sys.stdout.buffer.write(content)\n"
    )
    for seed in ("1", "2"):
        ran = subprocess.run(
            [sys.executable, "-c", code],
            input=pickle.dumps(
                (crowded(), figures.draw(crowded()), {"address": ADDRESS, "source": SOURCE})
            ),
            capture_output=True,
            check=True,
            env=os.environ | {"TZ": "Pacific/Auckland", "PYTHONHASHSEED": seed},
        )
        assert ran.stdout == content


@pytest.mark.parametrize(
    "address", ["https://example.org/x.svg", "file:///etc/passwd", "http://site.invalid/../x"]
)
def test_setting_the_pdf_fetches_only_the_reports_own_files(address):
    fetch = pdf._fetcher({"a b/figures/c.svg": b"<svg/>"})
    assert fetch("http://site.invalid/a%20b/figures/c.svg").read() == b"<svg/>"
    with pytest.raises(ValueError, match="not a file of the report"):
        fetch(address)


class WithoutPango:
    """Fails as importing WeasyPrint does where the system has no Pango."""

    def find_spec(self, name: str, path: object = None, target: object = None) -> None:
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'")


def test_a_missing_layout_library_is_named_with_its_remedy_before_any_work(monkeypatch):
    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [WithoutPango(), *sys.meta_path])
    monkeypatch.setattr(figures, "draw", lambda _: pytest.fail("charts were drawn for nothing"))
    with pytest.raises(PdfUnavailable) as caught:
        report_files(report())
    for part in (
        "libpango-1.0-0 libpangoft2-1.0-0",
        "brew install pango",
        "WeasyPrint",
        "--no-pdf",
    ):
        assert part in str(caught.value)
