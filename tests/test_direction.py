"""Names that run from right to left turn nothing round beside them: in page, post, figure, card,
feed and PDF.
"""

import io
import re
import shutil
import subprocess
import unicodedata
from itertools import pairwise
from xml.etree import ElementTree

import pikepdf
import pytest
from lxml import etree, html

from reportgen import direction, metrics, render, report
from reportgen.model.document import Figure
from reportgen.model.settings import Settings
from reportgen.render import prose, runtime
from reportgen.render.pdf import drawings
from tests import browser
from tests.workbooks import trial, whole, write

WARM, COLD, TITLE, CROP = "חם 20", "بارد 30", "ניסוי 2026 (חורף)", "כוסברה"
FSI, PDI = "\u2068", "\u2069"
NAMES = {"half": WARM, "full": COLD, "Half": WARM, "Full": COLD, "A1": "מגש 1", "coriander": CROP}
SUMMARY = "הצמחים גדלו 20 % יותר.\n\n- one\n- שתיים"


def sheets():
    """Return a workbook whose names are Hebrew and Arabic, some with digits at their ends."""
    made = {
        name: [[NAMES.get(cell, cell) for cell in row] for row in rows]
        for name, rows in whole().items()
    }
    made["Trial"] = [row for row in made["Trial"] if row[0] not in ("Title", "Summary")]
    made["Trial"] += [["Title", TITLE], ["Summary", SUMMARY]]
    return made


@pytest.fixture(scope="module")
def document(tmp_path_factory):
    made = trial(write(sheets(), tmp_path_factory.mktemp("names") / "trial.xlsx"))
    return report.compose(made, metrics.compute(made), Settings(address="https://example.org"))


@pytest.fixture(scope="module")
def files(document):
    return render.report_files(document, pdf=False) | render.site_files(
        report.collect("אתר 7", (document,))
    )


@pytest.fixture(scope="module")
def site(files, tmp_path_factory):
    folder = tmp_path_factory.mktemp("site")
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


def strong(text):
    """Return the letters of a text that run from right to left, by the Unicode Character Database."""
    return [sign for sign in text if unicodedata.bidirectional(sign) in ("R", "AL", "AN")]


def outside(text):
    """Return what of a text stands in no isolate."""
    return re.sub(f"{FSI}[^{FSI}{PDI}]*{PDI}", "", text)


@pytest.mark.parametrize("name", ["trial/index.html", "index.html", "trial/post.html"])
def test_every_letter_from_right_to_left_on_a_page_stands_in_an_element_of_its_own(files, name):
    page = html.fromstring(files[name].decode("utf-8"))
    for text in page.xpath(
        "//body//text() | //self::div//text()" if name.endswith("index.html") else "//text()"
    ):
        apart = (
            text.getparent().xpath("ancestor-or-self::*[self::bdi or @dir='auto']")
            and not text.is_tail
        )
        apart = apart or text.getparent().xpath("ancestor::*[self::bdi or @dir='auto']")
        plain = text.getparent().xpath("ancestor-or-self::*[self::script or self::option]")
        if not apart and not plain:
            assert not strong(outside(text)), text
    for value in page.xpath("//@alt | //@aria-label | //@content | //title/text()"):
        assert not strong(outside(value)), value
    assert page.xpath(f"//bdi[. = '{TITLE}']") or name.endswith("post.html")
    assert page.xpath(f"//bdi[. = '{WARM}']") or name == "index.html"


def test_in_markdown_and_feed_and_figures_they_stand_between_isolates(files):
    markdown = files["trial/post.md"].decode()
    assert FSI + WARM + PDI in markdown
    assert not strong(outside(markdown))
    for element in ElementTree.fromstring(files["feed.xml"]).iter():
        said = element.text or ""
        if (
            element.get("type") == "html"
        ):  # RFC 4287, 3.1.1.2: escaped HTML, which has elements for it
            said = re.sub(r"<bdi>[^<]*</bdi>", "", said)
        assert not strong(outside(said))
    drawings = [name for name in files if name.endswith(".svg")]
    texts = [text for name in drawings for text in etree.fromstring(files[name]).itertext()]
    assert FSI + WARM + PDI in texts
    assert not [text for text in texts if strong(outside(text))]


def test_the_card_sets_them_apart(document):
    drawn = render.card.drawing(document)
    with direction.using(document.right_to_left):
        drawn = render.card.drawing(document)
    assert FSI + TITLE + PDI in drawn
    assert not strong(outside(drawn))


# Where each character of a text stands on the screen, character by character, those of names left
# out.
PLACES = """sentence => {
  const places = [];
  const walker = document.createTreeWalker(sentence, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    if (node.parentElement.closest('bdi')) continue;
    for (let at = 0; at < node.length; at++) {
      const range = document.createRange();
      range.setStart(node, at);
      range.setEnd(node, at + 1);
      const box = range.getBoundingClientRect();
      if (box.width) places.push([node.data[at], Math.round(box.top), box.left]);
    }
  }
  return places;
}"""
OVERRIDE = """() => [...document.querySelectorAll('bdi')].every(e => getComputedStyle(e).unicodeBidi === 'isolate')"""


@pytest.mark.parametrize("name", ["trial/index.html", "index.html", "trial/post.html"])
def test_in_a_browser_no_word_of_the_report_is_turned_round(chromium, site, name):
    with browser.opened(chromium, site / name) as page:
        browser.unfolded(page)
        assert page.evaluate(OVERRIDE)
        looked_at = 0
        for sentence in page.query_selector_all("p, li, td, th, dd, figcaption, h1, h2"):
            if sentence.evaluate(
                "e => e.closest('[dir=auto]') !== null"
            ):  # the grower's own, in its own direction
                continue
            places = sentence.evaluate(PLACES)
            for (_, top, left), (sign, next_top, next_left) in pairwise(places):
                assert next_top != top or next_left > left, (sentence.inner_text(), sign)
            looked_at += bool(places) and sentence.query_selector("bdi") is not None
        assert looked_at >= 1


def test_what_a_mark_of_an_explored_figure_says_is_set_apart(chromium, site):
    for name, content in runtime.files().items():
        (site / name).write_bytes(content)
    with browser.opened(chromium, site / "trial" / "index.html") as page:
        browser.unfolded(page)
        figure = page.locator("#figure-fresh-weight")
        figure.get_by_role("button", name="Explore", exact=True).click()
        figure.locator(".exploring").wait_for()
        heard = []
        for _ in range(12):
            figure.locator(".explored").press("ArrowRight")
            heard.append(figure.get_by_role("status").text_content())
    assert any(strong(text) for text in heard)
    assert not [text for text in heard if strong(outside(text))]


def test_without_isolates_the_browser_would_turn_them_round(chromium, site, tmp_path):
    # What the test above looks for is there where the elements are taken away.
    page = (
        (site / "trial" / "index.html")
        .read_text("utf-8")
        .replace("<bdi>", "<span>")
        .replace("</bdi>", "</span>")
    )
    (tmp_path / "trial").mkdir()
    (tmp_path / "trial" / "index.html").write_text(page, "utf-8")
    with browser.opened(chromium, tmp_path / "trial" / "index.html") as shown:
        turned = False
        for sentence in shown.query_selector_all("p, li, td, th, dd"):
            places = sentence.evaluate(PLACES)
            turned = turned or any(a[1] == b[1] and b[2] < a[2] for a, b in pairwise(places))
    assert turned


def test_the_words_of_a_pdf_stand_in_their_order(document, tmp_path):
    if not shutil.which("pdftotext"):
        pytest.skip("needs pdftotext")
    (tmp_path / "report.pdf").write_bytes(render.report_files(document)["trial/report.pdf"])
    read = subprocess.run(
        ["pdftotext", "-bbox", str(tmp_path / "report.pdf"), "-"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    signs = re.findall(r">([^<>]*%[^<>]*)</word>", read)
    assert len([word for word in signs if re.fullmatch(r"[(+−±]*[\d.,]+%[),.:;]*", word)]) > 5
    assert not [
        word for word in signs if strong(word) or re.search(r"%\d", word)
    ]  # as in "0 ,30 <name>% apart"


def test_names_in_the_figures_of_a_pdf_are_not_spelled_backwards(document):
    # WeasyPrint sets the letters of SVG one by one, from left to right: such figures are pictures
    # there.
    drawn = render.figures.draw(document)
    foreign = {key for key, svg in drawn.items() if strong(svg)}
    assert foreign
    given = {}
    for key in drawn:
        given |= drawings.files(f"trial/figures/{key}", drawn[key])
    for key in drawn:
        shown = etree.fromstring(given[f"trial/figures/{key}.svg"])
        assert not strong("".join(shown.itertext()))
        assert [shown.get(name) for name in ("width", "height")] == [
            etree.fromstring(drawn[key]).get(name) for name in ("width", "height")
        ]
        assert (f"trial/figures/{key}.png" in given) == (key in foreign)
    blocks = [block for section in document.all_sections for block in section.blocks]
    on_screens_alone = {
        block.key for block in blocks if isinstance(block, Figure) and not block.on_paper
    }
    found = pikepdf.open(io.BytesIO(render.report_files(document)["trial/report.pdf"]))
    pictures = [
        one
        for one in found.objects
        if isinstance(one, pikepdf.Stream) and one.get("/Subtype") == "/Image"
    ]
    assert len(pictures) >= len(foreign - on_screens_alone)


@pytest.mark.parametrize(
    ("text", "names", "made"),
    [
        ("plain, 20 % more", (), "plain, 20 % more"),
        ("חם 20 % more", (), f"{FSI}חם{PDI} 20 % more"),
        (f"{WARM} grew 20 % more", (WARM,), f"{FSI}{WARM}{PDI} grew 20 % more"),
        ("חם ו קר: 5 %", (), f"{FSI}חם ו קר{PDI}: 5 %"),
        ("חם: 5 %; קר: 6 %", (), f"{FSI}חם{PDI}: 5 %; {FSI}קר{PDI}: 6 %"),
        ("חם 20 and חם 200", ("חם 20", "חם 200"), f"{FSI}חם 20{PDI} and {FSI}חם 200{PDI}"),
        ("a\u202eb\u2066c\u200f", (), "abc"),
    ],
)
def test_what_is_set_apart(text, names, made):
    with direction.using(names):
        assert direction.isolated(text) == made


def test_every_control_of_the_standard_is_known():
    # UAX #9, table 4: the characters with Bidi_Control.
    controls = [
        *"\u200e\u200f\u061c",
        *map(chr, range(0x202A, 0x202F)),
        *map(chr, range(0x2066, 0x206A)),
    ]
    assert direction.without_controls("a".join(controls)) == "a" * (len(controls) - 1)


def test_every_letter_from_right_to_left_is_known():
    letters = [
        chr(code) for code in range(0x110000) if unicodedata.bidirectional(chr(code)) in ("R", "AL")
    ]
    assert not [
        letter
        for letter in letters
        if not direction.runs_right_to_left(letter) and letter != "\u200f"
    ]


def test_paragraphs_of_prose_run_as_their_first_letters_do():
    made = prose.html(SUMMARY)
    assert made.count('<p dir="auto">') == 1
    assert '<ul dir="auto">' in made
    assert "dir=" not in prose.html("plain *text*")


def test_a_page_without_such_names_holds_no_isolate(tmp_path):
    made = trial(write(whole(), tmp_path / "trial.xlsx"))
    plain = render.report_files(report.compose(made, metrics.compute(made)), pdf=False)
    assert not [
        name for name, content in plain.items() if b"<bdi" in content or FSI.encode() in content
    ]
