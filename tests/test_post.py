"""The post for a blog: checked by parsers that know nothing of the templates, and measured in
themes that mean ill.
"""

import base64
import dataclasses
import io
import json
import re
from itertools import pairwise

import lxml.html
import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from PIL import Image

from reportgen.model.data import Dataset
from reportgen.model.document import (
    AnswerBox,
    AnswerRow,
    Aside,
    Change,
    Facts,
    Figure,
    Paragraph,
    Prose,
    Report,
    Safety,
    Section,
    TreatmentCard,
    TreatmentCards,
    Trust,
)
from reportgen.render import post, templates
from tests.test_samples import PAK_CHOI, report_of

ADDRESS = "https://example.org/trials"
PAGE = f"{ADDRESS}/mint-depth/index.html"
HOSTILE = (
    "</p><script>alert(1)</script> *a* _b_ `c` [d](javascript:e) ![f](g) <h> | i \\| # & &amp;"
    " ~~j~~ {{ k }} $l$"
)
TREATMENTS = ("Shallow", "Deep")
PARSER = MarkdownIt("commonmark").enable(["table", "strikethrough"])


def chart():
    """Return a chart of two bars."""
    values = [{"t": name, "g": 60 + 15 * place} for place, name in enumerate(TREATMENTS)]
    encoding = {"y": {"field": "t", "type": "nominal"}, "x": {"field": "g", "type": "quantitative"}}
    size = {"width": 560, "height": 120}
    return json.dumps({"data": {"values": values}, "mark": "bar", "encoding": encoding} | size)


def figure(key, words):
    narrow = chart().replace('"width": 560', '"width": 250')
    return Figure(
        key,
        f"Caption of {key}. {words}",
        f"What {key} shows. {words}",
        chart(),
        f"Title of {key} {words}",
        narrow,
    )


def box(words):
    changes = (
        Change(
            f"Deep {words}",
            f"73 {words}",
            f"+22 % {words}",
            f"10 % to 35 % more {words}",
            "more",
            "more",
        ),
    )
    rows = tuple(
        AnswerRow(f"{name} {words}", f"g {words}", f"60 {words}", changes)
        for name in ("Weight", "Water", "Cost")
    )
    return AnswerBox(f"Shallow {words}", rows)


def made(words="", **changes):
    """Return an invented trial of the depth of reservoirs under mint, with `words` in every text."""
    card = TreatmentCard(
        f"Deep {words}", False, "", (), Safety("Heat", (f"Heat mats burn. {words}",))
    )
    compared = Section(
        "compared",
        "What was compared",
        (TreatmentCards((card,)), Safety("Safety", (f"Mains. {words}",))),
    )
    growth = Section(
        "growth",
        f"Growth {words}",
        (figure("weights", words), figure("leaves", words), Paragraph("p.")),
    )
    energy = Section(
        "energy", f"Cost {words}", (figure("cost", words), Aside("Notes", (f"Meters. {words}",)))
    )
    fair = Section("fair", "Fair", (figure("layout", words),))
    own = Section(
        "own-words",
        "In the grower's words",
        (Prose(f"We **liked** it. {words}\n\n- one\n- two", "Ada"),),
    )
    last = Section(
        "safety",
        "Working safely",
        (Safety("Acids", (f"Acids burn and so on. {words}", "Mains."), (f"Acids burn. {words}",)),),
    )
    plain = Report(
        slug="mint-depth",
        language="en",
        title=f"Mint and depth {words}",
        crop=f"Mint {words}",
        question=f"Does mint want deeper water? {words}",
        answer=(f"Deep trays gave 22 % more. {words}",),
        byline=f"Ada Example {words}",
        facts=Facts(((f"Size {words}", f"8 trays {words}"),)),
        disclosure=f"The trays were lent. {words}",
        description="Depth and mint.",
        harvested_on="2026-03-09",
        sections=(compared, growth, energy, fair, own, last),
        results="{}",
        colophon="",
        dataset=Dataset(author=f"Ada Example {words}", licence="CC BY 4.0"),
        headline=f"Deep water: 22 % more mint {words}",
        lead=(f"Deep trays gave 22 % more. {words}", f"They cost as much. {words}"),
        box=box(words),
        trust=Trust(
            (f"4 trays each. {words}",),
            (f"One lamp served all. {words}",),
            "",
            (f"Invented example {words}",),
        ),
    )
    return dataclasses.replace(plain, **changes)


def files(document, **options):
    return post.render(document, **options)


def html(document, **options):
    """Return the post as elements under one element of the test's own."""
    return lxml.html.fragment_fromstring(
        files(document, **options)["mint-depth/post.html"].decode(), create_parent=True
    )


def markdown(document, **options):
    return files(document, **options)["mint-depth/post.md"].decode()


def shown(tokens):
    """Return the text that parsed Markdown shows, the texts of its pictures included."""
    inline = [child for token in tokens for child in token.children or ()]
    return [
        child.content
        for child in inline
        if child.type in ("text", "text_special", "image", "code_inline")
    ]


def one_line(text):
    return " ".join(
        part for part in post.LINE_ENDS.split(text.replace("\0", "\ufffd").strip()) if part
    )


@pytest.mark.parametrize("words", ["", HOSTILE])
def test_a_post_is_a_piece_of_html_that_runs_and_fetches_nothing(words):
    root = html(made(words), address=ADDRESS)
    assert {element.tag for element in root.iter()} <= set(
        {
            "div",
            "p",
            "strong",
            "em",
            "a",
            "ul",
            "li",
            "h2",
            "figure",
            "img",
            "figcaption",
            "code",
            "blockquote",
        }
        | {"table", "caption", "thead", "tbody", "tr", "th", "td"}
    )
    for image in root.iter("img"):
        kind, _, content = image.get("src").partition(",")
        assert kind == "data:image/png;base64"
        assert base64.b64decode(content, validate=True).startswith(
            b"\x89PNG\r\n\x1a\n"
        )  # PNG specification, 5.2
    assert {link.get("href") for link in root.iter("a")} == {
        PAGE,
        "https://spdx.org/licenses/CC-BY-4.0.html",
    }
    assert not root.xpath(".//@*[starts-with(name(), 'on') or name() = 'id' or name() = 'class']")
    assert "url(" not in "".join(root.xpath(".//@style"))


def test_a_post_tells_what_matters_in_order_and_leaves_the_title_to_the_blog():
    said = " ".join(html(made(), address=ADDRESS).text_content().split())
    told = (
        *(
            "Invented example",
            "Does mint want deeper water?",
            "Deep water: 22 % more mint",
            "Deep trays gave 22 % more.",
        ),
        *("They cost as much.", "Shallow → Deep", "60 → 73", "more: +22 %"),
        *(
            "How far to trust it",
            "One lamp served all.",
            "4 trays each.",
            "Disclosure: The trays were lent.",
            "8 trays",
        ),
        *(
            "Title of weights",
            "Caption of weights.",
            "Title of cost",
            "We liked it.",
            "Heat mats burn.",
            "Acids burn.",
        ),
        *(
            "The full report",
            "How to cite: Ada Example",
            PAGE,
            "Licence of text and data: CC-BY-4.0",
        ),
    )
    places = [said.find(words) for words in told]
    assert -1 not in places
    assert places == sorted(places)
    assert "Mint and depth" not in said.split("How to cite")[0]
    assert said.count("Mains.") == 1
    for left_out in ("Title of leaves", "Title of layout", "Meters."):
        assert left_out not in said


@pytest.mark.parametrize("level", [1, 2, 4])
def test_headings_start_at_the_level_that_the_blog_leaves_to_posts(level):
    document = made()
    assert {
        one.tag for one in html(document, heading=level).iter() if re.fullmatch("h[1-6]", one.tag)
    } == {f"h{level}"}
    heads = [
        token
        for token in PARSER.parse(markdown(document, heading=level))
        if token.type == "heading_open"
    ]
    assert {token.tag for token in heads} == {f"h{level}"}


def test_without_an_address_a_post_links_to_its_licence_only():
    assert [link.get("href") for link in html(made()).iter("a")] == [
        "https://spdx.org/licenses/CC-BY-4.0.html"
    ]
    assert "index.html" not in markdown(made())


def test_a_licence_in_words_of_ones_own_is_told_without_a_link():
    document = made(dataset=Dataset(licence="Ask me <first>"))
    assert "Ask me <first>" in html(document).text_content()
    assert not list(html(document).iter("a"))


def test_a_post_of_a_trial_without_cost_has_another_figure_in_its_place():
    document = made()
    water = Section("water", "Water", (figure("water-use", ""),))
    rest = tuple(section for section in document.sections if section.key != "energy")
    assert [one.key for one in post.figures(document)] == ["weights", "cost"]
    with_water = dataclasses.replace(document, sections=(*rest, water))
    assert [one.key for one in post.figures(with_water)] == ["weights", "water-use"]


def test_a_post_has_no_map_of_places():
    document = made()
    rest = tuple(section for section in document.sections if section.key != "energy")
    without = dataclasses.replace(document, sections=rest)
    assert [one.key for one in post.figures(without)] == ["weights"]


def test_a_report_without_figures_of_an_answer_makes_a_post_without_a_table():
    document = made(box=AnswerBox("Shallow", ()), interim="Interim: figures may change.")
    assert not list(html(document).iter("table"))
    assert "Interim: figures may change." in html(document).text_content()
    assert "| --- |" not in markdown(document)


def test_the_growers_markdown_keeps_its_marks_in_html_and_its_words_in_markdown():
    said = Prose(
        "A *plain* [tray](https://example.org) and"
        " <b>html</b>\n\n```\ncode\n```\n\n[bad](javascript:x)",
        "Ada",
    )
    document = made(sections=(Section("own-words", "Words", (said,)),))
    root = html(document)
    assert next(link.get("href") for link in root.iter("a")) == "https://example.org"
    assert next(root.iter("em")).text == "plain"
    assert "<b>html</b>" in root.text_content()
    words = "".join(shown(PARSER.parse(markdown(document))))
    assert "A plain tray and <b>html</b>" in words
    assert "code" in words


def test_every_picture_says_what_it_shows_and_has_its_size():
    for image in html(made()).iter("img"):
        assert image.get("alt").startswith("What ")
        drawn = Image.open(io.BytesIO(base64.b64decode(image.get("src").partition(",")[2])))
        assert drawn.size == (2 * int(image.get("width")), 2 * int(image.get("height")))


@pytest.mark.parametrize("words", ["", "21 °C – ½ m² Καλλιέργεια 作物"])
def test_letters_are_right_whatever_encoding_a_reader_takes_the_fragment_to_be_in(words):
    content = files(made(words))["mint-depth/post.html"]
    texts = {
        lxml.html.fromstring(content.decode(code)).text_content()
        for code in ("utf-8", "cp1252", "shift_jis")
    }
    assert len(texts) == 1
    assert words in texts.pop()


def test_the_markdown_has_no_words_of_its_own_beside_those_of_the_html():
    said = [
        set(re.findall(r'say\("([^"]+)"', (templates.folder() / "pages" / name).read_text("utf-8")))
        for name in ("post.html", "post.md")
    ]
    assert said[0] == said[1]
    assert len(said[0]) > 4


def test_every_element_rules_out_what_a_theme_may_say_of_it():
    for element in html(made(), address=ADDRESS).iter():
        if element.getparent() is not None:
            style = element.get("style", "")
            assert re.match(r"all:(revert|initial)!important;", style), element.tag
            assert style.count(":") == style.count("!important;")


@pytest.mark.parametrize("words", ["", HOSTILE])
def test_the_markdown_holds_no_html_and_names_the_pictures_beside_it(words):
    document = made(words)
    tokens = PARSER.parse(markdown(document, address=ADDRESS))
    inline = [child for token in tokens for child in token.children or ()]
    assert not [
        token
        for token in (*tokens, *inline)
        if token.type.startswith("html") or token.type == "s_open"
    ]
    images = [token.attrs["src"] for token in inline if token.type == "image"]
    assert images == ["figures/weights.png", "figures/cost.png"]
    assert {token.attrs["href"] for token in inline if token.type == "link_open"} == {
        PAGE,
        "https://spdx.org/licenses/CC-BY-4.0.html",
    }


def test_words_that_look_like_markdown_change_nothing_of_the_posts_structure():
    kinds = [
        [token.type for token in PARSER.parse(markdown(made(words)))] for words in ("", HOSTILE)
    ]
    assert kinds[0] == kinds[1]
    assert kinds[0].count("table_open") == 1
    said = "".join(shown(PARSER.parse(markdown(made(HOSTILE)))))
    assert said.count(one_line(HOSTILE)) > 15


def plain(words):
    """Return a text without what says which way it runs: the post sets its own where letters run
    the other way.
    """
    return one_line(re.sub("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]", "", words))


WORDS = st.text(
    st.one_of(st.sampled_from("\\`*_{}[]<>#!|~&$^+-=.:;()1 \n\t\r\"'ab\0"), st.characters()),
    max_size=40,
)


@given(WORDS)
def test_any_text_comes_back_from_markdown_as_it_was_in_a_paragraph(words):
    tokens = PARSER.parse(str(post.start(words)))
    assert [token.type for token in tokens] in ([], ["paragraph_open", "inline", "paragraph_close"])
    assert plain("".join(shown(tokens))) == plain(one_line(words))


@given(WORDS)
def test_any_text_comes_back_from_markdown_as_it_was_in_a_list_and_in_a_table(words):
    listed = PARSER.parse(f"- {post.text('x' + words)}\n- {post.start('x' + words)}\n")
    assert [token.type for token in listed].count("list_item_open") == 2
    tabled = PARSER.parse(f"| a | b |\n| --- | --- |\n| {post.text('x' + words)} | y |\n")
    cells = [token for token in tabled if token.type == "inline"]
    assert [plain("".join(shown([cell]))) for cell in cells] == [
        "a",
        "b",
        plain(one_line(f"x{words}")),
        "y",
    ]


def test_posts_are_the_same_when_made_again():
    assert files(made(), address=ADDRESS) == files(made(), address=ADDRESS)


def test_captions_that_two_figures_share_are_told_once():
    document = report_of(PAK_CHOI)
    told = [caption for caption in post.captions(document).values() if caption]
    assert len(told) == len(set(told)) >= 1
    assert {one.caption for one in post.figures(document)} == set(told)


def test_the_growers_words_are_quoted():
    root = html(made())
    (quote,) = root.iter("blockquote")
    assert "liked" in quote.text_content()
    assert "\n> We liked it." in files(made())["mint-depth/post.md"].decode()


def test_a_samples_post_is_short_and_tells_answer_safety_and_the_growers_words():
    document = report_of(PAK_CHOI)
    made_files = files(document)
    root = lxml.html.fromstring(made_files["pak-choi-root-warmth/post.html"].decode())
    said = " ".join(root.text_content().split())
    for words in (
        document.headline,
        *document.lead,
        document.disclosure,
        "Mains power near water",
        "Heat mats",
    ):
        assert " ".join(words.split()) in said
    own = [
        one.markdown
        for section in document.sections
        for one in section.blocks
        if isinstance(one, Prose)
    ]
    of_grower = len(" ".join(own).split())
    assert of_grower > 100
    assert len(said.split()) - of_grower <= 460
    assert len(made_files["pak-choi-root-warmth/post.html"]) < 150_000


UNSET = "body * { all: unset !important }"
DARK_AND_HUGE = """
html { font-size: 60px; color-scheme: dark } body { background: #000; color: #eee; font: italic 3rem/0.8 cursive }
body * { color: #222 !important; background: #000 !important; font-size: 3rem !important; letter-spacing: .4em }
h2 { text-transform: uppercase !important; font-size: 6em !important; position: absolute !important; left: -9999px }
img { filter: invert(1) !important; width: 30px !important; height: 400px !important } a { color: #000 !important }
p { text-indent: -9999px !important } ul { columns: 4; list-style: none !important }
"""
TORN = """
table, caption, thead, tbody, tr, th, td { display: block !important; float: left !important; width: 2000px !important }
div { min-width: 3000px !important; column-count: 3 !important; transform: rotate(9deg) !important }
p, li { opacity: .1 !important; white-space: nowrap !important } ul { display: none !important }
figure { visibility: hidden !important; height: 0 !important; overflow: hidden !important }
img { position: absolute !important; max-width: 10px !important; object-fit: cover } td { font-size: 0 !important }
"""
MEASURE = """() => {
  const lit = text => { const [r, g, b] = text.match(/[\\d.]+/g).map(v => v / 255)
    .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b }
  const ground = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor
    if (!c.endsWith(', 0)')) return c } return 'rgb(255, 255, 255)' }
  const root = document.querySelector('#theme > div')
  const all = [root, ...root.querySelectorAll('*')]
  const told = all.filter(e => [...e.childNodes].some(n => n.nodeType == 3 && n.data.trim()))
  const texts = told.map(e => { const s = getComputedStyle(e), b = e.getBoundingClientRect()
    const pair = [lit(s.color), lit(ground(e))].sort((x, y) => y - x)
    return { tag: e.tagName, contrast: (pair[0] + 0.05) / (pair[1] + 0.05), size: parseFloat(s.fontSize),
      line: parseFloat(s.lineHeight) / parseFloat(s.fontSize), width: b.width, height: b.height, left: b.left,
      spill: s.display == 'inline' ? 0 : e.scrollWidth - e.clientWidth,
      plain: [s.textTransform, s.letterSpacing, s.textIndent, s.visibility, s.position].join() } })
  const images = [...root.querySelectorAll('img')].map(e => { const b = e.getBoundingClientRect()
    return { width: b.width, height: b.height, drawn: e.naturalWidth, tall: e.naturalHeight,
      filter: getComputedStyle(e).filter } })
  const dimmed = all.filter(e => { const s = getComputedStyle(e); return s.opacity != 1 || s.transform != 'none'
    || s.visibility != 'visible' || s.display == 'none' || s.float != 'none' }).length
  const rows = [...root.querySelectorAll('tr')].map(row => [...row.children].map(e => { const b =
    e.getBoundingClientRect(); return [b.left, b.top, b.right] }))
  const regions = [...root.querySelectorAll('[tabindex]')].map(e => { e.focus(); return [document.activeElement == e,
    e.getBoundingClientRect().right] })
  return { texts, images, dimmed, rows, regions, wide: document.scrollingElement.scrollWidth,
    edge: root.getBoundingClientRect().right }
}"""


@pytest.fixture(scope="module")
def fragment():
    return files(made(), address=ADDRESS)["mint-depth/post.html"].decode()


@pytest.mark.parametrize("width", [320, 700, 1200])
@pytest.mark.parametrize("theme", [UNSET, DARK_AND_HUGE, TORN], ids=["unset", "dark", "torn"])
def test_a_post_stays_readable_in_a_theme_that_means_ill(chromium, fragment, theme, width):
    page = chromium.new_page(viewport={"width": width, "height": 900})
    page.set_content(
        f"<!doctype html><style>body {{ margin: 0 }} {theme}</style><main"
        f" id=theme>{fragment}</main>"
    )
    page.wait_for_function("[...document.images].every(image => image.complete)")
    found = page.evaluate(MEASURE)
    page.close()
    assert found["wide"] <= width
    assert found["edge"] <= width
    assert found["dimmed"] == 0
    assert len(found["texts"]) > 30
    for text in found["texts"]:
        assert text["contrast"] >= 4.5, text  # WCAG 2.2, criterion 1.4.3
        assert text["size"] >= 12, text
        assert text["size"] <= 24, text
        assert text["line"] >= 1.2, text
        assert min(text["width"], text["height"]) > 8, text
        assert text["spill"] <= 1, text
        assert text["left"] >= 0, text
        assert text["plain"] == "none,normal,0px,visible,static", text
    for image in found["images"]:
        assert image["filter"] == "none"
        assert 200 <= image["width"] <= min(width, 640)
        assert image["width"] / image["height"] == pytest.approx(
            image["drawn"] / image["tall"], rel=0.01
        )
    for row in found["rows"]:
        assert {top for _, top, _ in row} == {row[0][1]}
        assert all(left[2] <= right[0] + 1 for left, right in pairwise(row))
    assert found["regions"] == []  # nothing scrolls by itself


def test_a_post_without_its_styles_fits_a_phone_but_for_its_pictures(chromium, fragment):
    page = chromium.new_page(viewport={"width": 320, "height": 900})
    bare = re.sub(r' style="[^"]*"', "", fragment)
    page.set_content(f"<!doctype html><main id=theme>{bare}</main>")
    texts = page.evaluate(
        "() => [...document.querySelectorAll('p, li, td, th, h2')].map(e =>"
        " e.getBoundingClientRect().right)"
    )
    page.close()
    assert len(texts) > 20
    assert max(texts) <= 320


def test_the_themes_do_spoil_a_post_without_its_styles(chromium, fragment):
    page = chromium.new_page(viewport={"width": 700, "height": 900})
    bare = re.sub(r' style="[^"]*"', "", fragment)
    page.set_content(f"<!doctype html><style>{TORN}</style><main id=theme>{bare}</main>")
    found = page.evaluate(MEASURE)
    page.close()
    assert found["dimmed"] > 10
    assert found["wide"] > 700


def test_links_show_where_the_focus_is(chromium, fragment):
    page = chromium.new_page(viewport={"width": 320, "height": 900})
    page.set_content(
        f"<!doctype html><style>*:focus {{ outline: none !important }}</style>{fragment}"
    )
    outlines = set()
    for _ in range(3):
        page.keyboard.press("Tab")
        outlines.add(page.evaluate("getComputedStyle(document.activeElement).outlineStyle"))
    page.close()
    assert outlines == {"auto"}
