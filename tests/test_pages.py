"""The pages in a real browser: for every width, in light and dark, by keyboard, and with a reader's
own spacing.
"""

import json
import shutil
import subprocess

import pytest

from tests import browser
from tests.test_pipeline import rounds, run
from tests.test_report_photos import snapshot
from tests.test_samples import BASIL, TOMATO
from tests.test_samples import folder as samples
from tests.workbooks import least, put, whole, write

WIDE, PHONE, NARROW = (1280, 800), (390, 844), (320, 640)
# WCAG 2.2, success criterion 1.4.10: 400 % of a window of 1280 x 1024 px leaves 320 x 256 CSS px.
ENLARGED = (320, 256)
SMALL_DESK = (768, 800)
# Boxes are looked at by a script after the page is laid out.
TWO_FRAMES = (
    "new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done(true))))"
)
PAGES = {
    "the list of trials": "separate/index.html",
    "the list with pooled trials": "pooled/index.html",
    "pooled trials": "pooled/pooled.html",
    "a picked crop in Spanish": "separate/tomate-cereza-luz-de-apoyo/index.html",
    "two treatments, every sheet": "separate/every-sheet/index.html",
    "three treatments": "separate/basil-day-length/index.html",
    "the least that has no error": "separate/minimum/index.html",
}
# WCAG 2.0 to 2.2, levels A and AA, and what the checker counts as good practice beyond.
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
# WCAG 2.2, success criterion 1.4.12; text within an image is not the page's to space.
SPACING = """
*:not(svg, svg *) { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important; }
p { margin-bottom: 2em !important; }
"""
every_page = pytest.mark.parametrize("path", PAGES.values(), ids=PAGES.keys())
# Not the one in Spanish: its longest words need the hyphens that a browser with a Spanish
# dictionary sets.
every_report = pytest.mark.parametrize("path", list(PAGES.values())[4:], ids=list(PAGES)[4:])
in_light_and_dark = pytest.mark.parametrize("scheme", ["light", "dark"])


def another_trial():
    """Return the least that has no error, as another trial: two workbooks of one trial are not
    built side by side.
    """
    sheets = put(least(), Trial_B2="The least that has no error")
    for row in sheets["Plants"][1:]:
        row[2] = None if row[2] is None else round(0.9 * row[2], 2)
    return sheets


def scored(sheets):
    """Return a workbook with two scores of its plants, one in numbers and one in words."""
    put(sheets, Plants_F1="Tip burn (0-5)", Plants_G1="Colour (pale < green < dark)")
    for row in range(2, len(sheets["Plants"]) + 1):
        put(
            sheets,
            **{f"Plants_F{row}": row % 6, f"Plants_G{row}": ("pale", "green", "dark")[row % 3]},
        )
    return sheets


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """Return a folder with two sites: trials that have no comparison in common, and trials that
    have one.
    """
    folder = tmp_path_factory.mktemp("pages")
    snapshot(folder / "leaf.jpg", size=(2400, 900))
    pictured = put(
        scored(whole()), Observations_E2="leaf.jpg", Observations_F2="A leaf with a brown tip"
    )
    separate = (
        write(pictured, folder / "every-sheet.xlsx"),
        write(another_trial(), folder / "minimum.xlsx"),
        samples() / BASIL,
        samples() / TOMATO,
    )
    for name, books in {"separate": separate, "pooled": rounds(folder / "books", 3)}.items():
        done = run("build", *books, "--out", folder / name, "--no-pdf")
        assert done.exit_code == 0, done.output
    return folder


@pytest.fixture(scope="module")
def axe():
    return browser.named_file("AXE_CORE", "axe-core's axe.min.js").read_text("utf-8")


@pytest.fixture(scope="module")
def html_checker():
    java = shutil.which("java") or pytest.skip("needs java")
    return java, "-jar", str(browser.named_file("VNU_JAR", "the Nu Html Checker's vnu.jar"))


@every_page
@in_light_and_dark
@pytest.mark.parametrize("size", [WIDE, NARROW], ids=["wide", "narrow"])
def test_the_accessibility_checker_finds_no_violation(chromium, axe, site, *, path, scheme, size):
    with browser.opened(chromium, site / path, size, color_scheme=scheme, bypass_csp=True) as page:
        browser.unfolded(page)
        page.evaluate(axe)
        found = page.evaluate(
            "rules => axe.run({runOnly: rules, resultTypes: ['violations']})", list(RULES)
        )
    assert {
        one["id"]: [node["html"][:200] for node in one["nodes"]] for one in found["violations"]
    } == {}


def test_the_accessibility_checker_finds_what_is_wrong(chromium, axe, site):
    # Against a checker that looks at nothing: text of 1.3:1, and a page without its heading.
    spoil = """() => { document.querySelector('.standfirst').style.color = '#dddddd';
      document.querySelector('h1').remove(); }"""
    with browser.opened(chromium, site / PAGES["three treatments"], bypass_csp=True) as page:
        page.evaluate(spoil)
        page.evaluate(axe)
        found = page.evaluate("rules => axe.run({runOnly: rules})", list(RULES))
    assert {"color-contrast", "page-has-heading-one"} <= {one["id"] for one in found["violations"]}


def posted(post, folder):
    """Return the path of a page with a post in it, as a blog makes one."""
    page = folder / f"{post.parent.name}.html"
    frame = (
        "<!doctype html><html lang=en><title>A blog</title><main><h1>A post</h1>{}</main></html>"
    )
    page.write_text(frame.format(post.read_text("ascii")), "ascii")
    return page


def test_the_html_is_valid(html_checker, site, tmp_path):
    posts = [posted(post, tmp_path) for post in site.glob("separate/*/post.html")]
    pages = sorted(map(str, [*site.glob("*/**/index.html"), *site.glob("*/pooled.html"), *posts]))
    assert len(pages) >= len(PAGES) + 3
    command = [*html_checker, "--format", "json", "--exit-zero-always", *pages]
    said = json.loads(subprocess.run(command, capture_output=True, check=True).stderr)["messages"]
    # The checker reads a file that has no origin, so that it cannot know what 'self' is in the
    # page's policy; and it takes a block of data for a script. Browsers load the stylesheet, as
    # every other test here shows.
    assert [one for one in said if "Content Security Policy" not in one["message"]] == []


def test_the_page_loads_its_style_and_font_and_nothing_is_refused(chromium, site):
    with browser.opened(chromium, site / PAGES["three treatments"]) as page:
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text))
        page.reload()
        assert page.evaluate("document.fonts.ready.then(() => document.fonts.check('16px Inter'))")
        assert page.evaluate("getComputedStyle(document.body).fontFamily").startswith("Inter")
        assert said == []


# By keyboard


@every_page
def test_the_first_stop_is_a_skip_link_that_skips(chromium, site, path):
    with browser.opened(chromium, site / path) as page:
        page.keyboard.press("Tab")
        skip = page.locator(".skip:focus")
        assert skip.bounding_box()["y"] >= 0
        page.keyboard.press("Enter")
        assert page.evaluate("document.activeElement.id") == "main"
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.closest('main') !== null")


@every_page
@pytest.mark.parametrize("size", [WIDE, NARROW], ids=["wide", "narrow"])
def test_the_keyboard_reaches_everything_in_order_and_shows_where_it_is(chromium, site, path, size):
    # WCAG 2.2, success criteria 2.1.1, 2.1.2, 2.4.3, 2.4.7 and 2.4.11.
    with browser.opened(chromium, site / path, size) as page:
        browser.unfolded(page)
        page.evaluate(TWO_FRAMES)
        stops = []
        for _ in range(page.evaluate(browser.COUNT)):
            page.keyboard.press("Tab")
            stops.append(page.evaluate(browser.FOCUS))
        page.keyboard.press("Tab")
        assert page.evaluate(browser.FOCUS) is None, "focus does not leave the page"
    assert [stop["place"] for stop in stops] == list(range(len(stops)))
    assert [
        stop for stop in stops if stop["outline"] < 2 or stop["cut"] or not stop["uncovered"]
    ] == []
    assert [stop for stop in stops if not stop["inside"]] == []


@every_report
@pytest.mark.parametrize("size", [NARROW, SMALL_DESK], ids=["narrow", "small desk"])
def test_the_keyboard_stops_only_at_boxes_that_scroll_and_scrolls_them(chromium, site, path, size):
    with browser.opened(chromium, site / path, size) as page:
        browser.unfolded(page)
        page.evaluate(TWO_FRAMES)
        for region in page.locator(".scroll:visible").all():
            scrolls = region.evaluate("e => e.scrollWidth > e.clientWidth + 1")
            stated = [region.get_attribute(name) for name in ("role", "tabindex", "aria-label")]
            assert stated == (["group", "0", "Scrolls sideways"] if scrolls else [None, None, None])
            if scrolls:
                region.focus()
                page.keyboard.press("ArrowRight")
                page.wait_for_function("e => e.scrollLeft > 0", arg=region.element_handle())


def test_a_table_wider_than_a_small_window_scrolls(chromium, site):
    # Or the test above would have nothing to scroll.
    with browser.opened(chromium, site / PAGES["two treatments, every sheet"], SMALL_DESK) as page:
        browser.unfolded(page)
        page.locator(".scroll[tabindex='0'] #table-comparisons").wait_for()


# On a phone


@every_report
@pytest.mark.parametrize("size", [NARROW, PHONE], ids=["narrow", "phone"])
def test_every_table_fits_a_phone_with_all_its_columns(chromium, site, path, size):
    with browser.opened(chromium, site / path, size) as page:
        browser.unfolded(page)
        tables = page.locator(".scroll:has(table)")
        assert tables.count() >= 1
        assert (
            tables.evaluate_all(
                "all => all.map(e => e.scrollWidth - e.clientWidth).filter(over => over > 0)"
            )
            == []
        )
        boxes = page.locator(":is(.box, .table) td:not(:empty)").evaluate_all(
            "all => all.map(e => e.getBoundingClientRect()).map(one => [one.left, one.right,"
            " one.width, one.height])"
        )
    assert min(box[0] for box in boxes) >= 0
    assert max(box[1] for box in boxes) <= size[0]
    assert min(min(box[2:]) for box in boxes) > 0


@every_report
def test_a_cell_of_a_card_has_the_name_of_its_column_but_a_change_and_its_verdict(
    chromium, site, path
):
    named = """all => all.filter(e => e.closest('.annex') ||
      !e.matches('td:has(+ .limits), .limits + td')).map(e => [
      getComputedStyle(e, '::before').content.split('"')[1],
      e.closest('table').querySelectorAll('thead th')[e.cellIndex].textContent,
    ])"""
    with browser.opened(chromium, site / path, NARROW) as page:
        found = page.locator(".many td").evaluate_all(named)
        assert [one for one in found if one[0] != one[1]] == []
        page.set_viewport_size({"width": WIDE[0], "height": WIDE[1]})
        assert (
            page.locator(".many td").evaluate_all(
                "all => all.map(e => getComputedStyle(e, '::before').content)"
            )
            == ["none"] * page.locator(".many td").count()
        )
    assert found


@every_report
def test_tables_stay_tables_by_ear_where_they_look_like_cards(chromium, site, path):
    counts = []
    for size in (WIDE, NARROW):
        with browser.opened(chromium, site / path, size) as page:
            browser.unfolded(page)
            session = page.context.new_cdp_session(page)
            nodes = session.send("Accessibility.getFullAXTree")["nodes"]
            heard = [node for node in nodes if not node["ignored"]]
            # Cells that say nothing are left out of cards.
            silent = [
                node
                for node in heard
                if node["role"]["value"] == "cell" and not node["name"]["value"]
            ]
            roles = [node["role"]["value"] for node in heard if node not in silent]
            counts.append(
                {
                    role: roles.count(role)
                    for role in ("table", "row", "columnheader", "rowheader", "cell")
                }
            )
    assert counts[0]["table"] >= 2
    assert min(counts[0].values()) > 0
    assert counts[0] == counts[1]


@every_report
def test_cautions_show_on_a_phone_beside_what_they_concern_without_a_touch(chromium, site, path):
    with browser.opened(chromium, site / path, PHONE) as page:
        cautions = page.locator(".safety")
        assert cautions.count() >= 1
        assert all(one.is_visible() for one in cautions.all())
        assert page.locator("details .safety, .annex .safety").count() == 0


# At every width, with every setting


@every_page
@pytest.mark.parametrize(
    "size", [NARROW, ENLARGED, PHONE, (767, 800), (768, 800), (1120, 800), WIDE], ids=str
)
def test_no_page_scrolls_sideways(chromium, site, path, size):
    # WCAG 2.2, success criterion 1.4.10.
    with browser.opened(chromium, site / path, size) as page:
        browser.unfolded(page)
        assert (
            page.evaluate(
                "document.documentElement.scrollWidth - document.documentElement.clientWidth"
            )
            <= 0
        )
        assert page.evaluate(browser.TOO_WIDE) == []


@every_page
@pytest.mark.parametrize("size", [WIDE, NARROW], ids=["wide", "narrow"])
def test_a_readers_own_spacing_of_text_loses_nothing(chromium, site, path, size):
    with browser.opened(chromium, site / path, size, bypass_csp=True) as page:
        browser.unfolded(page)
        assert page.evaluate(browser.LOST) == []
        page.add_style_tag(content=SPACING)
        assert (
            page.evaluate("getComputedStyle(document.querySelector('h1')).letterSpacing")
            != "normal"
        )
        assert page.evaluate(browser.LOST) == []
        assert page.evaluate(browser.TOO_WIDE) == []


@every_report
@pytest.mark.parametrize("size", [WIDE, PHONE], ids=["desk", "phone"])
def test_the_first_screen_has_title_question_finding_and_the_first_figures(
    chromium, site, path, size
):
    with browser.opened(chromium, site / path, size) as page:
        parts = page.locator(
            ".front .trial, .front .question, h1, .standfirst, .box tbody:nth-of-type(1)"
            " tr:first-child"
        )
        assert parts.count() >= 4
        ends = [box["y"] + box["height"] for box in (part.bounding_box() for part in parts.all())]
    assert max(ends) <= size[1]


@every_report
@pytest.mark.parametrize("size", [WIDE, PHONE], ids=["desk", "phone"])
def test_an_answer_box_shows_both_figures_the_change_the_bar_and_the_word_of_each_row(
    chromium, site, path, size
):
    with browser.opened(chromium, site / path, size) as page:
        rows = page.locator(".box tbody tr")
        assert rows.count() >= 1
        assert (
            page.locator(".box tbody .reference:visible").count()
            == page.locator(".box tbody").count()
        )
        for part in (".treated", ".change", ".bar", ".word"):
            assert page.locator(f".box tbody {part}:visible").count() == rows.count()
        assert page.locator(".box thead .interval text:visible").count() >= 1


@pytest.fixture(scope="module")
def unfinished(tmp_path_factory):
    """Return the page of an unfinished trial in Spanish, whose dates are long."""
    folder = tmp_path_factory.mktemp("unfinished")
    sheets = put(least(), Trial_B6=None, Trial_A8="Language", Trial_B8="es")
    for row in sheets["Plants"][3:]:
        row[2] = None
    done = run("build", write(sheets, folder / "trial.xlsx"), "--out", folder / "site", "--no-pdf")
    assert done.exit_code == 0, done.output
    return folder / "site" / "trial" / "index.html"


@pytest.mark.parametrize("width", [360, 820, 1000, 1280, 1400])
def test_facts_have_room_for_words_and_an_unfinished_trial_says_so_above_its_title(
    chromium, unfinished, width
):
    widths = (
        "place => Array.from(document.querySelectorAll(place), one =>"
        " one.getBoundingClientRect().width)"
    )
    with browser.opened(chromium, unfinished, (width, 800)) as page:
        facts = page.evaluate(widths, ".front .facts dd")
        mark, title = (page.locator(place).first.bounding_box() for place in (".front .mark", "h1"))
    assert min(facts) > 200
    assert mark["y"] + mark["height"] <= title["y"]


@every_report
@in_light_and_dark
@pytest.mark.parametrize("forced", ["none", "active"])
def test_figures_stand_on_the_pages_ground_in_its_ink(chromium, site, path, scheme, forced):
    # In the system's own colours (forced colours) too.
    with browser.opened(chromium, site / path, color_scheme=scheme, forced_colors=forced) as page:
        browser.unfolded(page)
        grounds = page.locator("figure .scroll").evaluate_all(
            "all => all.map(e => getComputedStyle(e).backgroundColor)"
        )
        inks = page.locator("figure svg text").evaluate_all(
            "all => all.map(e => getComputedStyle(e).fill)"
        )
        ink = page.evaluate("getComputedStyle(document.body).color")
    assert all(ground.endswith(", 0)") for ground in grounds)
    assert grounds
    assert set(inks) == {ink}


@every_page
def test_forced_colours_keep_links_and_focus(chromium, site, path):
    with browser.opened(chromium, site / path, color_scheme="dark", forced_colors="active") as page:
        assert page.evaluate("matchMedia('(forced-colors: active)').matches")
        page.keyboard.press("Tab")
        assert page.evaluate(browser.FOCUS)["outline"] >= 2
        ground = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
        links = page.locator("main a").evaluate_all(
            "all => all.map(e => getComputedStyle(e).color)"
        )
    assert ground not in links


@every_report
def test_a_phone_shows_rows_under_their_labels_without_scrolling_and_desk_and_paper_the_whole_figure(
    chromium, site, path
):
    shown = (
        "all => all.map(e => [...e.querySelectorAll('svg')].map(svg =>"
        " svg.getBoundingClientRect().width > 0))"
    )
    with browser.opened(chromium, site / path, NARROW) as page:
        browser.unfolded(page)
        figures = page.locator("figure .scroll:has(svg + svg)")
        assert figures.count() >= 1
        assert {tuple(each) for each in figures.evaluate_all(shown)} == {(False, True)}
        assert max(figures.evaluate_all("all => all.map(e => e.scrollWidth - e.clientWidth)")) == 0
        page.set_viewport_size({"width": WIDE[0], "height": WIDE[1]})
        assert {tuple(each) for each in figures.evaluate_all(shown)} == {(True, False)}
        page.set_viewport_size({"width": NARROW[0], "height": NARROW[1]})
        page.emulate_media(media="print")
        assert {tuple(each) for each in figures.evaluate_all(shown)} == {(True, False)}


@every_report
def test_a_figures_card_is_as_wide_as_its_figure(chromium, site, path):
    with browser.opened(chromium, site / path) as page:
        widths = page.locator("figure .scroll").evaluate_all(
            "all => all.map(e => e.clientWidth -"
            " e.querySelector('svg').getBoundingClientRect().width)"
        )
    assert max(widths) <= 2 * 16  # its padding
