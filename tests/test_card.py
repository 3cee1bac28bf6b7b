"""Pictures of pixels: read back by Pillow, which knows nothing of how they were drawn."""

import dataclasses
import io
import subprocess
import sys
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from PIL import Image, ImageFont

from reportgen.model.document import Facts, KeyFigures, Report
from reportgen.render import card, templates

LONG = (
    "A long title on how the depth of the water under mint may or may not have changed what the leaves weigh, and " * 3
)
SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><path d="M0 0h20v20h-20z" fill="#3060cc"/></svg>'


VALUE = "122% (110% to 135%)"
TWO = KeyFigures("Deep, % of Shallow", tuple((f"{name} (g)", VALUE) for name in ("Weight", "Water", "Energy")))
THREE = KeyFigures("Weight (g)", tuple((f"{name}, % of Shallow", VALUE) for name in ("Deep", "Deeper")))
NONE = KeyFigures("", ())


def report(figures=NONE, **changes):
    """Return an invented trial of the depth of water under mint."""
    plain = Report(
        slug="mint-depth",
        language="en",
        title="Mint and depth",
        crop="Mint",
        question="Does mint want deeper water?",
        answer=("Deep trays gave 22% more fresh weight per plant than Shallow trays (95% interval 10% to 35%).",),
        byline="",
        facts=Facts(()),
        disclosure="",
        description="",
        harvested_on="2026-03-09",
        sections=(),
        results="{}",
        colophon="",
        key_figures=figures,
    )
    return dataclasses.replace(plain, **changes)


def pixels(document):
    (content,) = card.render(document).values()
    return Image.open(io.BytesIO(content)).convert("RGB")


def texts(document, role):
    return [line.text for line in card.lines(document) if line.role == role]


def right_edge(line):
    """Return where a line ends by the advances of the font's own letters."""
    name = "Inter-Bold.ttf" if line.role in ("title", "number") else "Inter-Regular.ttf"
    font = ImageFont.truetype(str(templates.folder() / "assets" / "fonts" / name), line.size)
    return line.x + font.getlength(line.text)


def test_the_card_has_the_size_that_previews_show_in_full():
    files = card.render(report(TWO))
    assert list(files) == ["mint-depth/card.png"]
    assert Image.open(io.BytesIO(files["mint-depth/card.png"])).size == (1200, 630)


def test_the_card_tells_crop_title_answer_and_key_figures():
    document = report(TWO)
    assert texts(document, "crop") == ["Mint"]
    assert texts(document, "title") == ["Mint and depth"]
    assert " ".join(texts(document, "answer")) == document.answer[0]
    assert texts(document, "label") == ["Deep, % of Shallow", "Weight (g)", "Water (g)", "Energy (g)"]
    assert texts(document, "number") == ["122% (110% to 135%)"] * 3


def test_of_several_treatments_the_card_shows_the_first_measure_of_each():
    assert texts(report(THREE), "label") == ["Weight (g)", "Deep, % of Shallow", "Deeper, % of Shallow"]


def test_figures_without_room_are_left_out_rather_than_cut():
    wide = KeyFigures(TWO.caption, (("Weight (g)", "just under 100% (just under 100% to 102%)"),))
    assert texts(report(wide), "number") == []
    assert texts(report(), "label") == []


def test_an_answer_keeps_its_end_and_figures_go_without_room():
    end = "but one lamp served all trays of a treatment: the trial cannot say that the deep trays did it."
    beginning = "Deep trays gave 22% more fresh weight per plant than Shallow trays did, "
    for times, size in ((4, 32), (6, 28), (8, 24)):
        said = beginning * times + end
        document = report(TWO, answer=(said,))
        assert " ".join(texts(document, "answer")) == said
        assert {line.size for line in card.lines(document) if line.role == "answer"} == {size}
        assert texts(document, "number") == []


def test_a_long_title_is_set_smaller_then_cut_after_a_word():
    lines = [line for line in card.lines(report(TWO, title=LONG)) if line.role == "title"]
    assert len(lines) == 3
    assert lines[0].size < next(line.size for line in card.lines(report(TWO)) if line.role == "title")
    kept = " ".join(line.text for line in lines)
    assert kept.endswith("…")
    assert LONG.startswith(f"{kept[:-1]} ") or LONG.startswith(f"{kept[:-1]},")


ANY = st.text(st.one_of(st.sampled_from("Wi .<&\u00a0"), st.characters(exclude_categories=["Cs"])), max_size=300)


@given(title=ANY, answer=ANY, crop=ANY)
def test_whatever_the_texts_no_line_leaves_the_card_or_meets_another(title, answer, crop):
    document = report(TWO, title=title, answer=(answer,), crop=crop)
    lines = card.lines(document)
    assert all(right_edge(line) <= 1200 - card.MARGIN + 1 for line in lines)
    assert all(line.y - line.size >= card.MARGIN and line.y <= 630 - card.MARGIN for line in lines)
    heights = sorted({(line.y, line.size) for line in lines})
    assert all(above[0] <= below[0] - below[1] for above, below in pairwise(heights))
    assert etree.fromstring(card.drawing(document).encode()) is not None


def test_drawn_letters_end_where_they_were_measured_to_end():
    document = report(title="Wide Winter Watercress Under Warm White Lamps")
    drawn = pixels(document)
    ink = drawn.convert("L").point(lambda level: 255 if level < 160 else 0)
    line = next(line for line in card.lines(document) if line.role == "title")
    box = ink.crop((20, int(line.y - line.size), 1200, int(line.y))).getbbox()
    assert box is not None
    assert 20 + box[2] == pytest.approx(right_edge(line), abs=0.03 * line.size * len(line.text) / 10)


def test_every_colour_of_letters_keeps_the_contrast_of_small_text():
    root = etree.fromstring(card.drawing(report(TWO)).encode())
    (ground, *_), inks = root.xpath("//*[local-name()='rect']/@fill"), root.xpath("//*[local-name()='text']/@fill")
    assert len(set(inks)) == 3
    assert min(contrast(ink, ground) for ink in inks) >= 4.5  # WCAG 2.2, criterion 1.4.3


def contrast(one, other):
    """Return the contrast ratio of two colours, WCAG 2.2, definition of relative luminance."""
    bright, dark = sorted(map(luminance, (one, other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def luminance(colour):
    parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_letters_without_a_place_in_xml_are_left_out_and_marks_are_shown_as_they_are():
    document = report(TWO, title="<b>\x00\x08 & ]]>", crop="")
    assert texts(document, "title") == ["<b> & ]]>"]


def test_a_figure_becomes_twice_as_large_on_white():
    picture = Image.open(io.BytesIO(card.png(SVG))).convert("RGB")
    assert picture.size == (80, 40)
    assert picture.getpixel((60, 20)) == (255, 255, 255)
    assert picture.getpixel((20, 20)) == (0x30, 0x60, 0xCC)


def test_what_is_half_clear_has_the_colour_that_it_has_on_white():
    # by hand: a quarter of 204, 132, 0 and three quarters of 255
    drawing = SVG.replace('fill="#3060cc"', 'fill="#cc8400" fill-opacity="0.25"')
    picture = Image.open(io.BytesIO(card.png(drawing))).convert("RGB")
    assert picture.getpixel((10, 10)) == pytest.approx((242, 224, 191), abs=1)
    assert picture.getpixel((70, 10)) == (255, 255, 255)


def test_pictures_go_by_the_figures_keys():
    assert list(card.pictures({"b": SVG, "a": SVG})) == ["b", "a"]


def test_the_same_report_gives_the_same_card_in_another_process():
    code = (
        "import sys; from reportgen.render import card; "
        f"sys.stdout.buffer.write(card.png({SVG!r})); sys.stdout.buffer.write(card.png({SVG!r}))"
    )
    made = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True).stdout
    assert made == 2 * card.png(SVG)
    assert card.render(report(TWO)) == card.render(report(TWO))


def test_a_long_label_takes_two_lines_so_that_its_gram_is_not_cut_off():
    figures = tuple((f"{what} of dry weight (kWh/kg dry)", "81%") for what in ("Energy per kilogram", "Water per gram"))
    document = report(KeyFigures("Deep, % of Shallow", figures))
    assert texts(document, "label") == [
        "Deep, % of Shallow",
        "Energy per kilogram of dry",
        "weight (kWh/kg dry)",
        "Water per gram of dry weight",
        "(kWh/kg dry)",
    ]
