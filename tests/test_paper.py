"""The samples on paper: how many pages there are, and how far each is filled."""

import io
import shutil
import subprocess

import pikepdf
import pytest
from PIL import Image

from reportgen import language, metrics
from reportgen import report as report_door
from reportgen.render import figures, pdf
from reportgen.render.pdf import halves
from tests.made_trials import write_made
from tests.test_samples import NAMES, report_of
from tests.workbooks import trial

DOTS = 36  # an inch, at which pages are measured
TOP, BOTTOM = 10, 284  # mm of a page, between which text and drawings stand; its foot is beneath
PAPER = 235  # of 255: brighter is bare paper, and less the palest ground of a figure
FILLED = 0.65  # about two thirds: what does not fit whole beneath goes to the next page
FINE_DOTS = 72  # an inch, at which margins are measured
RIGHT = 195.5  # mm from the left edge of A4: where text ends, and a dot of drawing more
MEASURE = 166  # mm, the width of text before the annex
ANNEX = "Annex: every number, methods and data"


@pytest.fixture(scope="module", params=NAMES)
def paper(request):
    """Return a sample's report and its PDF."""
    report = report_of(request.param)
    (content,) = pdf.render(report, figures.draw(report)).values()
    return report, content


def run(words, content):
    if not shutil.which(words[0]):
        pytest.skip(f"needs {words[0]}, of poppler-utils")
    return subprocess.run(words, input=content, capture_output=True, check=True).stdout


def first_of_annex(report, content):
    """Return the place of the first page of the annex, the first of all being 0."""
    with language.using(language.of(report.language)):
        title = language.say(ANNEX)
    pages = run(["pdftotext", "-layout", "-", "-"], content).decode().split("\f")
    return next(place for place, text in enumerate(pages) if title in " ".join(text.split()))


def filled(content):
    """Return how far down each page its lowest letter or mark stands, as a share of its room."""
    with pikepdf.open(io.BytesIO(content)) as opened:
        count = len(opened.pages)
    return [_filled(content, number) for number in range(1, count + 1)]


def _filled(content, number):
    page = ["-f", str(number), "-l", str(number), "-gray", "-r", str(DOTS)]
    drawn = run(["pdftoppm", *page, "-"], content)
    with Image.open(io.BytesIO(drawn)) as picture:
        top, bottom = (round(mm / 25.4 * DOTS) for mm in (TOP, BOTTOM))
        room = picture.crop((0, top, picture.width, bottom))
        marks = room.point(lambda level: 255 if level < PAPER else 0).getbbox()
    return 0 if marks is None else marks[3] / room.height


def test_each_page_but_the_last_of_a_part_is_two_thirds_full(paper):
    report, content = paper
    shares = filled(content)
    annex = first_of_annex(report, content)
    lasts = (annex - 1, len(shares) - 1)
    assert len(shares) > 4
    sparse = {
        place + 1: round(share, 2)
        for place, share in enumerate(shares)
        if share < FILLED and place not in lasts
    }
    assert sparse == {}


def test_nothing_stands_in_the_margin_at_the_right_of_a_page(paper, tmp_path):
    _, content = paper
    run(["pdftoppm", "-gray", "-r", str(FINE_DOTS), "-", str(tmp_path / "page")], content)
    ends = {page.name: _right_end(page) for page in sorted(tmp_path.iterdir())}
    assert ends
    assert {page: end for page, end in ends.items() if end > RIGHT} == {}


def _right_end(page):
    """Return how far to the right, in mm, a page has a letter, a rule or a drawing."""
    with Image.open(page) as picture:
        marks = picture.point(lambda level: 255 if level < PAPER else 0).getbbox()
    return 0 if marks is None else marks[2] / FINE_DOTS * 25.4


def test_four_pages_stand_before_the_annex_and_seven_at_most_in_it(paper):
    report, content = paper
    annex = first_of_annex(report, content)
    with pikepdf.open(io.BytesIO(content)) as opened:
        count = len(opened.pages)
    assert annex <= 4
    assert count - annex <= (6 if report.slug == "pak-choi-root-warmth" else 7)


def test_a_figure_of_a_section_is_as_wide_as_the_text(paper):
    """Its box in the tree of the file says how wide it is (ISO 32000-1:2008, table 344)."""
    report, content = paper
    set_in_columns, _ = halves.in_columns(report, {})
    alone = [
        block.alternative
        for section in set_in_columns.sections
        for block in section.blocks
        if block.kind == "figure"
    ]
    with pikepdf.open(io.BytesIO(content)) as opened:
        widths = list(_widths(opened.Root.StructTreeRoot))
    assert alone
    for said in alone:
        widest = max(width for text, width in widths if text == said)
        assert widest == pytest.approx(MEASURE, abs=1), said


def _widths(element):
    """Yield what each figure under an element says, with its width in mm."""
    below = element.get("/K", pikepdf.Array())
    for kid in below if isinstance(below, pikepdf.Array) else [below]:
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            if kid.S == "/Figure":
                left, _, right, _ = map(float, kid.A.BBox)
                yield str(kid.Alt), (right - left) / 72 * 25.4
            yield from _widths(kid)


def test_a_figure_that_repeats_a_table_is_on_screens_alone(paper):
    report, content = paper
    repeated = [
        block
        for section in report.all_sections
        for block in section.blocks
        if block.kind == "figure" and not block.on_paper
    ]
    text = " ".join(run(["pdftotext", "-", "-"], content).decode().split())
    for figure in repeated:
        assert figure.caption not in text


@pytest.mark.parametrize("name", ["interim", "seventy_two_trays", "five_long_names"])
def test_no_made_trial_ends_its_front_in_a_few_lines_alone(name, tmp_path):
    grown = trial(write_made(tmp_path, name))
    made = report_door.compose(grown, metrics.compute(grown))
    (content,) = pdf.render(made, figures.draw(made)).values()
    annex = first_of_annex(made, content)
    assert filled(content)[annex - 1] > 1 / 8
