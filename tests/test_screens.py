"""Screens for talks and videos: of the samples and the made trials, measured by the letters of the
font itself.
"""

import io
from dataclasses import replace

import pytest
from lxml import etree
from PIL import Image

from reportgen import metrics, pipeline, report
from reportgen.model.settings import Settings
from reportgen.render import boards, figures, page, screens, templates
from reportgen.render.palette import palette
from tests.made_trials import SHEETS, write_made
from tests.test_card import faults
from tests.test_samples import NAMES, PAK_CHOI, report_of

SVG = "{http://www.w3.org/2000/svg}"
LEAST = 36  # px, of letters that are read on a phone when 1920 px fill its width


@pytest.fixture(scope="module")
def pak_choi():
    return report_of(PAK_CHOI)


@pytest.fixture(scope="module")
def drawn(pak_choi):
    return figures.draw(pak_choi)


@pytest.fixture(scope="module")
def shown(pak_choi, drawn):
    return screens.screens(pak_choi, drawn)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Return a function that composes a made trial."""
    folder = tmp_path_factory.mktemp("made")

    def of(name):
        trial = pipeline.checked(write_made(folder, name), with_photos=True)
        return report.compose(trial, metrics.compute(trial))

    return of


def letters(svg):
    """Yield each text of a screen with its size in px there."""

    def walk(element, scale):
        transform = element.get("transform", "")
        inner = scale * (screens.ENLARGED if f"scale({screens.ENLARGED})" in transform else 1)
        if element.tag == f"{SVG}text":
            yield (
                "".join(element.itertext()),
                inner * float(element.get("font-size").removesuffix("px")),
            )
        for child in element:
            yield from walk(child, inner)

    yield from walk(etree.fromstring(svg.encode()), 1)


def test_there_is_a_screen_of_the_answer_and_of_each_figure_of_the_four_sections(pak_choi, shown):
    keys = [
        block.key
        for section in pak_choi.sections
        if section.key in ("growth", "water", "energy", "fair")
        for block in section.blocks
        if block.kind == "figure"
    ]
    assert len(keys) >= 4
    assert [screen.name for screen in shown] == ["answer", *keys]


def test_each_screen_is_there_in_light_and_dark_as_svg_and_png(pak_choi, shown):
    answer = shown[:1]
    files = screens.render(pak_choi, answer)
    folder = "pak-choi-root-warmth/screens"
    names = {
        f"{folder}/answer-{ground}.{kind}"
        for ground in ("light", "dark")
        for kind in ("svg", "png")
    }
    assert set(files) == names
    for ground, is_bright in (("light", True), ("dark", False)):
        picture = Image.open(io.BytesIO(files[f"{folder}/answer-{ground}.png"])).convert("L")
        assert picture.size == (1920, 1080)
        assert (picture.getpixel((1900, 1060)) > 128) == is_bright


@pytest.mark.parametrize("dark", [False, True])
def test_no_letter_is_too_small_and_each_screen_has_its_finding(pak_choi, shown, dark):
    for screen in shown:
        found = list(letters(screens.drawing(pak_choi, screen, palette(Settings(), dark=dark))))
        assert min(size for _, size in found) >= LEAST, screen.name
        title = pak_choi.headline if screen.name == "answer" else screen.title
        words = " ".join(text for text, _ in found).translate({0x2068: None, 0x2069: None})
        assert title[:20] in words, screen.name


def test_a_figure_stands_within_its_screen_and_beside_its_title(shown):
    for screen in shown[1:]:
        root = etree.fromstring(screen.svg.encode())
        right = screen.left + screens.ENLARGED * float(root.get("width"))
        bottom = screen.top + screens.ENLARGED * float(root.get("height"))
        assert screen.left >= 0
        assert screen.top >= 0
        assert right <= 1920
        assert bottom <= 1080
        if screen.form is screens.BESIDE:
            assert screen.left >= screens.BESIDE.width - 1


@pytest.mark.parametrize("name", NAMES)
def test_each_figure_of_a_sample_has_a_screen_and_room_around_it(name):
    document = report_of(name)
    shown = screens.screens(document, figures.draw(document))
    keys = [
        block.key
        for section in document.sections
        if section.key in screens.SECTIONS
        for block in section.blocks
        if block.kind == "figure"
    ]
    assert [screen.name for screen in shown] == ["answer", *keys]
    for screen in shown[1:]:
        root = etree.fromstring(screen.svg.encode())
        across, high = (screens.ENLARGED * float(root.get(side)) for side in ("width", "height"))
        assert screen.top >= LEAST, screen.name
        assert screen.top + high <= 1080 - LEAST, screen.name
        if screen.form is screens.BESIDE:
            assert screen.left + across <= 1920 - LEAST, screen.name


def test_text_and_axes_of_a_figure_have_the_ink_of_the_ground(pak_choi, shown):
    for dark in (False, True):
        colours = palette(Settings(), dark=dark)
        svg = screens.drawing(pak_choi, shown[1], colours)
        assert "currentColor" not in svg
        assert svg.count(f'"{colours.ink}"') > 5


@pytest.mark.parametrize("name", SHEETS)
def test_the_answer_of_every_made_trial_fits_its_screen(made, name):
    assert list(faults(made(name), screens.FORMAT)) == []


def test_a_drawing_that_is_too_high_is_left_out(pak_choi, drawn):
    blocks = [
        block for section in pak_choi.sections for block in section.blocks if block.kind == "figure"
    ]
    key = blocks[0].key
    tall = drawn[key].replace('height="', 'height="9', 1)
    narrow_too = replace(blocks[0], narrow_spec="")
    section = replace(pak_choi.sections[1], blocks=(narrow_too,))
    document = replace(pak_choi, sections=(section,))
    assert [screen.name for screen in screens.screens(document, drawn)] == ["answer", key]
    assert [screen.name for screen in screens.screens(document, {key: tall})] == ["answer"]


def test_the_page_lists_screens_and_a_setting_turns_them_off(pak_choi, drawn, shown):
    def html():
        return page.render(pak_choi, drawn, screens=screens.screens(pak_choi, drawn))[
            "pak-choi-root-warmth/index.html"
        ].decode()

    for screen in shown:
        for ending in ("light.png", "dark.png", "light.svg", "dark.svg"):
            assert f'href="screens/{screen.name}-{ending}"' in html()
    with templates.using(Settings(screens=False)):
        assert screens.screens(pak_choi, drawn) == ()
        assert "screens/" not in html()


def test_a_long_name_beside_a_mark_stands_above_it_on_a_narrow_board(pak_choi):
    title = "Warm roots for pak choi in a cold room, and much more to say of it than a line holds"
    head, _ = boards.heading(
        replace(pak_choi, title=title), "Finding", boards.Board(screens.BESIDE, palette(Settings()))
    )
    said = [mark for mark in head if mark.text == "Invented example"]
    (marked,) = said
    assert marked.y > max(mark.y for mark in head if mark.text.startswith("Warm roots"))
