"""The list of trials by crop, in a browser."""

from dataclasses import replace

import pytest

from reportgen import metrics, render, report
from tests import browser
from tests.trials import trial

GROWN = ("mint", "dill", "Mint", "radish & rocket")  # the third is the first again


def listed(folder, crops, language="en"):
    """Write a list of trials, one of each of `crops`, and return its page."""
    made = []
    for number, crop in enumerate(crops):
        about = replace(
            trial().about,
            crop=crop,
            cultivar=f"cultivar {number}",
            title=f"Trial {number}",
            language=language,
        )
        one = trial(slug=f"trial-{number}", about=about)
        made.append(report.compose(one, metrics.compute(one)))
    for name, content in render.site_files(report.collect("Trials", tuple(made))).items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return folder / "index.html"


@pytest.fixture(scope="module")
def page_of_several(tmp_path_factory):
    return listed(tmp_path_factory.mktemp("list"), GROWN)


def titles(page):
    return page.locator(".trials > li:visible .title").all_inner_texts()


def test_each_crop_is_offered_once_with_its_number_of_trials(chromium, page_of_several):
    with browser.opened(chromium, page_of_several) as page:
        offered = page.get_by_label("Crop").locator("option").all_inner_texts()
    assert offered == ["All crops", "dill (1)", "mint (2)", "radish & rocket (1)"]


def test_a_crop_that_is_chosen_leaves_its_trials_and_all_crops_bring_the_others_back(
    chromium, page_of_several
):
    with browser.opened(chromium, page_of_several) as page:
        assert titles(page) == ["Trial 0", "Trial 1", "Trial 2", "Trial 3"]
        page.get_by_label("Crop").select_option("mint")
        assert titles(page) == ["Trial 0", "Trial 2"]
        assert page.get_by_role("status").inner_text() == "2 of 4 trials are shown."
        page.get_by_label("Crop").select_option(label="radish & rocket (1)")
        assert titles(page) == ["Trial 3"]
        page.get_by_label("Crop").select_option("")
        assert len(titles(page)) == 4


def test_the_keyboard_chooses_a_crop(chromium, page_of_several):
    with browser.opened(chromium, page_of_several) as page:
        page.get_by_label("Crop").focus()
        page.keyboard.press("ArrowDown")
        assert titles(page) == ["Trial 1"]


def test_where_all_trials_grew_the_same_crop_there_is_nothing_to_choose(chromium, tmp_path):
    with browser.opened(chromium, listed(tmp_path, ("mint", "Mint"))) as page:
        assert len(titles(page)) == 2
        assert page.locator("select, template").count() == 0


def test_without_script_and_on_paper_the_list_is_whole_and_has_no_filter(chromium, page_of_several):
    with browser.opened(chromium, page_of_several, java_script_enabled=False) as page:
        assert len(titles(page)) == 4
        assert page.locator("select").count() == 0
    with browser.opened(chromium, page_of_several) as page:
        page.emulate_media(media="print")
        assert not page.locator("select").is_visible()


def test_a_crop_that_looks_like_markup_stays_text(chromium, tmp_path):
    hostile = "\"><img src=x onerror=alert(1)>'"
    with browser.opened(chromium, listed(tmp_path, ("mint", hostile))) as page:
        page.get_by_label("Crop").select_option(label=f"{hostile} (1)")
        assert titles(page) == ["Trial 1"]
        assert page.locator("img").count() == 0


@pytest.mark.parametrize("size", [(1280, 800), (320, 256)], ids=["wide", "enlarged"])
def test_the_field_is_large_enough_to_touch_and_fits(chromium, page_of_several, size):
    # WCAG 2.2, success criteria 2.5.8 (24 px) and 1.4.10 (320 px).
    with browser.opened(chromium, page_of_several, size) as page:
        box = page.get_by_label("Crop").bounding_box()
        assert min(box["width"], box["height"]) >= 24
        assert box["x"] + box["width"] <= size[0]
        assert page.evaluate(browser.TOO_WIDE) == []
