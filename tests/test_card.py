"""Pictures of pixels: read back by Pillow, which knows nothing of how they were drawn."""

import dataclasses
import io
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from PIL import Image, ImageFont

from reportgen.model.document import AnswerBox, AnswerRow, Change, Facts, IntervalBar, Report, Trust
from reportgen.model.settings import Settings
from reportgen.render import answer_board, boards, card, screens, templates
from reportgen.render.palette import Palette, palette

LONG = (
    "A long title on how the depth of the water under mint may or may not have changed what the"
    " leaves weigh, and " * 3
)
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40" height="20"><path d="M0 0h20v20h-20z"'
    ' fill="#3060cc"/></svg>'
)
BAR = IntervalBar(20.0, 60.0, 25.0, 95.0)
FORMATS = [card.FORMAT, screens.FORMAT]


def change(name="Deep", figure="73", verdict="more", word="more"):
    return Change(name, figure, "+22 %", "10 % to 35 % more", verdict, word, BAR)


TWO = AnswerBox(
    "Shallow",
    tuple(
        AnswerRow(f"{name} of the leaves of each plant", unit, "60", (change(),))
        for name, unit in (
            ("Weight", "g"),
            ("Water", "mL/g"),
            ("Electricity", "kWh/kg"),
            ("Cost", "EUR/kg"),
        )
    ),
)
NAMES = tuple(f"Depth of {depth} cm" for depth in range(2, 9))
SEVEN = AnswerBox("Shallow", (AnswerRow("Weight", "g", "60", tuple(map(change, NAMES))),))
FACTORS = AnswerBox(
    "Reference level", (AnswerRow("depth", "Weight", "2 cm", (change("8 cm", ""),)),)
)
NONE = AnswerBox("Shallow", ())


def report(box=TWO, **changes):
    """Return an invented trial of the depth of water under mint."""
    plain = Report(
        slug="mint-depth",
        language="en",
        title="Mint and depth",
        crop="Mint",
        question="Does mint want deeper water?",
        answer=(),
        byline="",
        facts=Facts(()),
        disclosure="",
        description="",
        harvested_on="2026-03-09",
        sections=(),
        results="{}",
        colophon="",
        headline="Deep water: 22 % more mint, as dear by the kilo",
        lead=(
            (
                "Deep trays gave 22 % more fresh weight per plant than Shallow trays (95 % interval"
                " 10 % to 35 %)."
            ),
        ),
        box=box,
        trust=Trust(marks=("Invented example",)),
    )
    return dataclasses.replace(plain, **changes)


def pixels(document):
    (content,) = card.render(document).values()
    return Image.open(io.BytesIO(content)).convert("RGB")


def marks(document, form=card.FORMAT):
    return answer_board.answer(document, boards.Board(form, palette(Settings())))


def texts(document, form=card.FORMAT):
    return [mark for mark in marks(document, form) if mark.kind == "text"]


def said(document, form=card.FORMAT):
    return " ".join(mark.text for mark in texts(document, form))


def box(mark):
    """Return left, top, right and bottom of a line of text by the advances of the font's own
    letters.
    """
    name = "Inter-Bold.ttf" if mark.bold else "Inter-Regular.ttf"
    font = ImageFont.truetype(str(templates.folder() / "assets" / "fonts" / name), mark.size)
    width = font.getlength(mark.text)
    left = mark.x - (width if mark.anchor == "end" else 0)
    return left, mark.y - 0.75 * mark.size, left + width, mark.y + 0.2 * mark.size


def meet(one, other):
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def faults(document, form):
    """Return texts that leave the margins, and pairs that lie on each other."""
    found = [(mark.text, box(mark)) for mark in texts(document, form) if mark.text]
    for text, (left, top, right, bottom) in found:
        if (
            left < form.margin - 1
            or right > form.width - form.margin + 1
            or top < 0
            or bottom > form.height
        ):
            yield f"outside: {text}"
    for place, (text, one) in enumerate(found):
        yield from (f"{text} / {other}" for other, its in found[place + 1 :] if meet(one, its))


def test_the_card_has_the_size_that_previews_show_in_full():
    files = card.render(report())
    assert list(files) == ["mint-depth/card.png"]
    assert Image.open(io.BytesIO(files["mint-depth/card.png"])).size == (1200, 630)


def test_the_card_tells_the_finding_and_each_change_with_both_figures_and_its_word():
    shown = said(report())
    for words in (
        "Mint and depth",
        "Invented example",
        "Deep water: 22 % more mint",
        "Shallow → Deep",
        "(mL/g)",
    ):
        assert words in shown
    assert shown.count("60 → 73") == shown.count("+22 %") == 4
    assert [mark.text for mark in texts(report())].count("more") == 4


@pytest.mark.parametrize("form", FORMATS)
def test_all_treatments_are_named(form):
    shown = said(report(SEVEN), form)
    assert all(name in shown for name in NAMES)
    assert "Weight (g), beside Shallow" in shown


def test_treatments_without_room_are_counted():
    many = tuple(change(f"Depth {number}") for number in range(30))
    shown = said(report(AnswerBox("Shallow", (AnswerRow("Weight", "g", "60", many),))))
    named = sum(f"Depth {number} " in shown for number in range(30))
    assert 5 < named < 30
    assert f"and {30 - named} more" in shown


def test_a_level_of_a_factor_stands_beside_its_own_reference():
    assert "depth 2 cm → 8 cm +22 %" in said(report(FACTORS))


def test_bars_share_one_scale_and_show_what_was_measured_within_its_interval():
    dots = [mark for mark in marks(report()) if mark.kind == "dot"]
    assert len(dots) == 4
    assert len({dot.x for dot in dots}) == 1
    spans = [mark for mark in marks(report()) if mark.kind == "stroke" and mark.width > 5]
    assert all(
        span.x < dot.x < span.to_x and span.y == dot.y
        for span, dot in zip(spans, dots, strict=True)
    )


def test_a_problem_that_may_explain_the_result_stands_on_the_card():
    warned = report(trust=Trust(problems=("One lamp served all deep trays.",), marks=("Interim",)))
    assert "One lamp served all deep trays." in said(warned)
    assert "Interim" in said(warned)


def test_without_figures_the_answer_stands_in_words_and_keeps_its_end():
    end = (
        "but one lamp served all trays of a treatment: the trial cannot say that the deep trays"
        " did it."
    )
    for times in (2, 4, 6):
        words = (
            "Deep trays gave 22 % more fresh weight per plant than Shallow trays did, " * times
            + end
        )
        assert said(report(NONE, lead=(words,))).endswith(words)


def test_a_long_title_is_set_smaller_then_cut_after_a_word():
    def titles(document):
        return [mark for mark in texts(document) if mark.size in card.FORMAT.title_sizes]

    lines = titles(report(headline=LONG))
    assert len(lines) == 3
    assert lines[0].size < titles(report())[0].size
    kept = " ".join(line.text for line in lines)
    assert kept.endswith("…")
    assert LONG.startswith(f"{kept[:-1]} ") or LONG.startswith(f"{kept[:-1]},")


ANY = st.text(
    st.one_of(st.sampled_from("Wi .<&\u00a0"), st.characters(exclude_categories=["Cs"])),
    max_size=200,
)


@pytest.mark.parametrize("form", FORMATS)
@given(st.tuples(ANY, ANY, ANY, ANY, ANY))
def test_whatever_the_texts_no_line_leaves_the_picture_or_meets_another(form, words):
    title, headline, measure, name, word = words
    row = AnswerRow(measure, "", "60", (change(name, word=word),))
    document = report(AnswerBox("Shallow", (row, row)), title=title, headline=headline)
    assert list(faults(document, form)) == []
    drawn = boards.svg(boards.Board(form, palette(Settings())), marks(document, form))
    assert etree.fromstring(drawn.encode()) is not None


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("answered", [TWO, SEVEN, FACTORS, NONE])
def test_no_text_of_an_answer_meets_another(form, answered):
    assert list(faults(report(answered), form)) == []


def test_drawn_letters_end_where_they_were_measured_to_end():
    document = report(NONE, headline="Wide Winter Watercress Under Warm White Lamps")
    drawn = pixels(document)
    ink = drawn.convert("L").point(lambda level: 255 if level < 160 else 0)
    line = next(mark for mark in texts(document) if mark.size in card.FORMAT.title_sizes)
    found = ink.crop((20, int(line.y - line.size), 1200, int(line.y))).getbbox()
    assert found is not None
    assert 20 + found[2] == pytest.approx(box(line)[2], abs=0.03 * line.size * len(line.text) / 10)


@pytest.mark.parametrize("dark", [False, True])
def test_every_colour_of_letters_keeps_the_contrast_of_small_text(dark):
    colours = palette(Settings(), dark=dark)
    for ink in (colours.ink, colours.soft, colours.accent, colours.caution):
        assert contrast(ink, colours.ground) >= 4.5  # WCAG 2.2, criterion 1.4.3


def test_the_card_has_the_colours_of_the_sites_theme():
    settings = Settings(
        theme=(("ground", "#102030"), ("accent", "hsl(120 100% 25%)"), ("ink", "oklch(1 0 0)"))
    )
    with templates.using(settings):
        drawn = pixels(report())
    assert drawn.getpixel((600, 3)) == pytest.approx((0x10, 0x20, 0x30), abs=2)
    assert drawn.getpixel((5, 300)) == pytest.approx(
        (0, 128, 0), abs=2
    )  # CSS Color 4, 7.1: hsl of green
    assert palette(settings).ink == "#ffffff"


def test_a_colour_that_pictures_cannot_hold_is_that_of_the_shipped_theme():
    assert palette(Settings(theme=(("accent", "lab(50% 20 30)"),))) == palette(Settings())
    assert isinstance(palette(Settings(dark_theme=(("ground", "#000"),)), dark=True), Palette)
    assert palette(Settings(dark_theme=(("ground", "#000"),)), dark=True).ground == "#000000"


def contrast(one, other):
    """Return the contrast ratio of two colours, WCAG 2.2, definition of relative luminance."""
    bright, dark = sorted(map(luminance, (one, other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def luminance(colour):
    parts = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_letters_without_a_place_in_xml_are_left_out_and_marks_are_shown_as_they_are():
    assert "<b> & ]]>" in [mark.text for mark in texts(report(headline="<b>\x00\x08 & ]]>"))]


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
    assert card.render(report()) == card.render(report())
