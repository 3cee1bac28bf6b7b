"""The annex, whose sections fold, in a browser: what opens them, and where nothing folds."""

import pytest

from tests import browser
from tests.test_own_price import FEED, written
from tests.trials import trial

pytestmark = pytest.mark.usefixtures("drawn_once")
PHONE, DESK = (390, 844), (1280, 800)
FOLDED = "all => all.map(e => e.hasAttribute('hidden'))"


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return written(tmp_path_factory.mktemp("folds"), trial(costs=FEED))


def folded(page):
    return page.locator(".annex .body").evaluate_all(FOLDED)


def is_open(page, key):
    return (
        page.locator(f"#{key} button").get_attribute("aria-expanded") == "true"
        and page.locator(f"#{key} + .body > :first-child").is_visible()
    )


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_annex_is_folded_and_what_a_grower_reads_is_not(chromium, report, size):
    with browser.opened(chromium, report, size) as page:
        assert all(folded(page))
        assert len(folded(page)) > 5
        # A button within a heading: it stays a heading by ear (WAI-ARIA Authoring Practices,
        # accordion pattern).
        heading = page.get_by_role("heading", level=2, name="All measures")
        assert heading.get_by_role("button", expanded=False).count() == 1
        assert not page.locator("#table-comparisons").is_visible()
        assert not any(page.locator(".sections:not(.annex) .body").evaluate_all(FOLDED))
        assert page.locator(".sections:not(.annex) h2 button").count() == 0
        assert page.locator("#table-growth-figures").is_visible()


def test_a_section_opens_and_folds_by_keyboard(chromium, report):
    with browser.opened(chromium, report, PHONE) as page:
        page.locator("#comparisons button").focus()
        page.keyboard.press("Enter")
        assert is_open(page, "comparisons")
        page.keyboard.press("Space")
        assert not is_open(page, "comparisons")


def test_one_button_opens_every_section_and_folds_them_again(chromium, report):
    with browser.opened(chromium, report, PHONE) as page:
        page.get_by_role("button", name="Open all sections").click()
        assert not any(folded(page))
        page.get_by_role("button", name="Fold all sections").click()
        assert all(folded(page))


@pytest.mark.parametrize("size", [PHONE, (320, 256)], ids=["phone", "enlarged"])
def test_what_folds_is_large_enough_to_touch(chromium, report, size):
    # WCAG 2.2, success criterion 2.5.8: 24 px.
    with browser.opened(chromium, report, size) as page:
        boxes = [
            button.bounding_box() for button in page.locator("h2 button, .fold-all button").all()
        ]
    assert min(min(box["width"], box["height"]) for box in boxes) >= 24


def test_a_link_of_the_contents_opens_the_section_that_it_goes_to_each_time(chromium, report):
    with browser.opened(chromium, report, DESK) as page:
        link = page.locator(".contents a[href='#solution']")
        for _ in range(2):  # the second time the address does not change
            link.click()
            assert is_open(page, "solution")
            assert abs(page.locator("#solution").bounding_box()["y"]) < 60
            page.locator("#solution button").click()
            assert not is_open(page, "solution")


@pytest.mark.parametrize("anchor", ["prices", "table-prices", "figure-ec"])
def test_an_address_with_an_anchor_within_a_folded_section_opens_it(chromium, report, anchor):
    with browser.opened(chromium, report, PHONE) as page:
        page.goto("about:blank")
        page.goto(f"{report.as_uri()}#{anchor}")
        assert (
            page.locator(f"#{anchor}").evaluate(
                "e => e.closest('section').querySelector('.body').hidden"
            )
            is False
        )
        assert -5 <= page.locator(f"#{anchor}").bounding_box()["y"] < PHONE[1] / 2


def test_an_address_that_changes_opens_the_section_that_it_names(chromium, report):
    with browser.opened(chromium, report, PHONE) as page:
        page.evaluate("location.hash = 'figure-ph'")
        page.wait_for_function("() => !document.querySelector('#solution + .body').hidden")
        assert page.locator("#figure-ph").is_visible()


def test_words_within_a_folded_section_are_found_and_open_it(chromium, report):
    # A text fragment goes the way of the browser's own search (WICG, Scroll to Text Fragment).
    with browser.opened(chromium, report, PHONE) as page:
        page.goto("about:blank")
        page.goto(f"{report.as_uri()}#:~:text=Every%20measure%2C%20treatment%20by%20treatment")
        page.wait_for_function("() => !document.querySelector('#comparisons + .body').hidden")
        assert is_open(page, "comparisons")
        assert not is_open(page, "solution")


def test_without_script_nothing_folds(chromium, report):
    with browser.opened(chromium, report, PHONE, java_script_enabled=False) as page:
        assert page.locator("button").count() == 0
        assert page.locator("#table-comparisons").is_visible()


def test_what_is_folded_opens_for_print_and_folds_again_after_it(chromium, report):
    with browser.opened(chromium, report, PHONE) as page:
        before = folded(page)
        page.evaluate("dispatchEvent(new Event('beforeprint'))")
        assert any(before)
        assert not any(folded(page))
        page.emulate_media(media="print")
        assert not page.locator(".fold-all").is_visible()
        assert (
            page.locator("#comparisons button").evaluate(
                "e => getComputedStyle(e, '::after').content"
            )
            == "none"
        )
        page.evaluate("dispatchEvent(new Event('afterprint'))")
        assert folded(page) == before


def test_a_printed_page_holds_the_text_of_folded_sections(chromium, report, tmp_path):
    pikepdf = pytest.importorskip("pikepdf")
    with browser.opened(chromium, report, PHONE) as page:
        page.pdf(path=tmp_path / "folded.pdf")
        page.get_by_role("button", name="Open all sections").click()
        page.pdf(path=tmp_path / "open.pdf")
    pages = []
    for name in ("folded.pdf", "open.pdf"):
        with pikepdf.open(tmp_path / name) as paper:
            pages.append(len(paper.pages))
    assert pages[0] == pages[1] > 3


def test_the_list_of_trials_folds_nothing(chromium, report):
    with browser.opened(chromium, report.parent.parent / "index.html", PHONE) as page:
        assert page.locator("button").count() == 0
