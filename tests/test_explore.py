"""Figures that a reader explores: what is loaded when, what the marks say, and how the page stays
without it.
"""

import json
import re
from dataclasses import replace

import pytest

from reportgen.charts.tooltips import reach, titled, told
from reportgen.render import runtime
from tests import browser, vega_bundle
from tests.test_own_price import written
from tests.trials import WEIGHTS, trial

pytestmark = pytest.mark.usefixtures("drawn_once", "without_screens")
PHONE = (320, 640)
MAIN, CHANGES = (
    "yield-per-plant-started",
    "changes",
)  # trays' dots, and changes with their intervals
EXPLORE, LEAVE, NEXT, PREVIOUS = "Explore", "Back to the plain figure", "Next mark", "Previous mark"


def with_runtime(folder, made):
    """Write the site of one trial with the script that figures are explored by, and return the
    report's page.
    """
    page = written(folder, made)
    for name, content in runtime.files().items():
        (folder / name).write_bytes(content)
    return page


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return with_runtime(tmp_path_factory.mktemp("explore"), trial())


def figure_of(page, key, name=EXPLORE):
    """Return a figure that is being explored."""
    browser.unfolded(page)
    figure = page.locator(f"#figure-{key}")
    figure.get_by_role("button", name=name).click()
    figure.locator(".exploring").wait_for()
    return figure


def said(figure):
    return figure.get_by_role("status").inner_text()


def test_nothing_is_loaded_before_a_reader_asks_and_then_only_from_the_site_itself(
    chromium, report
):
    with browser.opened(chromium, report) as page:
        asked, told_by_browser = [], []
        page.on("request", lambda request: asked.append(request.url))
        page.on("console", lambda message: told_by_browser.append(message.text))
        page.on("pageerror", lambda error: told_by_browser.append(str(error)))
        page.reload()
        assert not [url for url in asked if "vega" in url]
        before = len(asked)
        for key in (CHANGES, MAIN, "ec"):
            figure_of(page, key)
        assert [url.rpartition("/")[2] for url in asked[before:]] == [
            runtime.name().removeprefix("assets/")
        ]
        # A refusal by the content security policy, such as of a text compiled to code, is said on
        # the console.
        assert told_by_browser == []


def test_every_mark_says_what_was_recorded(chromium, report):
    with browser.opened(chromium, report) as page:
        figure = figure_of(page, "fresh-weight")
        texts: list[str] = []
        while said(figure) not in texts[:1]:
            texts += [said(figure)] if figure.locator(".current").count() else []
            figure.locator(".explored").press("ArrowRight")
    found = {
        one.groups()
        for one in (re.search(r": (\w\d); .*: ([\d.]+)$", text) for text in texts)
        if one
    }
    recorded = {
        (tray, f"{weight:g}")
        for tray, weights in WEIGHTS.items()
        for weight in weights
        if weight is not None
    }
    assert recorded <= found


def test_a_figure_that_is_asked_for_twice_at_once_is_drawn_once(chromium, report):
    with browser.opened(chromium, report) as page:
        figure = page.locator(f"#figure-{MAIN}")
        button = figure.get_by_role("button", name=EXPLORE)
        button.evaluate("button => { button.click(); button.click(); }")
        figure.locator(".exploring").wait_for()
        figure.get_by_role("button", name=LEAVE).wait_for()
        assert figure.locator(".explored").count() == 1


def test_buttons_step_forth_and_back_and_round(chromium, report):
    with browser.opened(chromium, report) as page:
        figure = figure_of(page, CHANGES)
        figure.get_by_role("button", name=NEXT).click()
        first = said(figure)
        figure.get_by_role("button", name=NEXT).click()
        assert said(figure) != first
        figure.get_by_role("button", name=PREVIOUS).click()
        assert said(figure) == first
        figure.get_by_role("button", name=PREVIOUS).click()
        last = said(figure)
        figure.get_by_role("button", name=NEXT).click()
        assert said(figure) == first != last
        assert figure.locator(".current").count() == 1


def test_a_mark_that_is_pointed_at_says_the_same(chromium, report):
    with browser.opened(chromium, report) as page:
        figure = figure_of(page, "water-per-gram")
        figure.locator(".explored").press("ArrowRight")
        text = said(figure)
        mark = figure.locator(".current").bounding_box()
        figure.locator(".explored").press("ArrowRight")
        assert said(figure) != text
        page.mouse.move(mark["x"] + mark["width"] / 2, mark["y"] + mark["height"] / 2)
        figure.get_by_text(text).wait_for()


def test_a_mark_of_a_ratio_says_the_interval_in_the_table(chromium, report):
    with browser.opened(chromium, report) as page:
        figure = figure_of(page, CHANGES)
        figure.get_by_role("button", name=NEXT).click()
        text = said(figure)
        table = page.locator("#table-comparisons").inner_text().replace("\xa0", " ")
    low, high = (float(bound) for bound in re.search(r"\(([\d.]+) to ([\d.]+)\)$", text).groups())
    assert re.search(rf"{low:.0f} ?% to {high:.0f} ?%", table)


def test_a_figure_that_is_explored_keeps_its_name_and_the_plain_figure_comes_back(chromium, report):
    with browser.opened(chromium, report) as page:
        plain = page.locator("#figure-fresh-weight .scroll").inner_html()
        figure = figure_of(page, "fresh-weight")
        assert not figure.locator(".scroll > svg").first.is_visible()
        host = figure.locator(".explored")
        assert host.get_attribute("role") == "img"
        assert (
            host.get_attribute("aria-label") == figure.locator("svg > title").first.text_content()
        )
        figure.get_by_role("button", name=LEAVE).click()
        assert figure.locator(".scroll").inner_html() == plain
        assert figure.locator(".scroll > svg").first.is_visible()
        assert not figure.get_by_role("button", name=NEXT).is_visible()


def test_a_phone_explores_the_form_for_narrow_screens(chromium, report):
    with browser.opened(chromium, report, PHONE) as page:
        browser.unfolded(page)
        figure = figure_of(page, CHANGES)
        assert figure.locator(".scroll").evaluate("e => e.scrollWidth - e.clientWidth") <= 0
        assert page.evaluate(browser.TOO_WIDE) == []
        boxes = [one.bounding_box() for one in figure.get_by_role("button").all()]
    assert len(boxes) == 3
    assert (
        min(min(box["width"], box["height"]) for box in boxes) >= 24
    )  # WCAG 2.2, success criterion 2.5.8


def test_a_mark_out_of_sight_is_scrolled_to(chromium, report):
    with browser.opened(chromium, report, PHONE) as page:
        browser.unfolded(page)
        figure = figure_of(page, "fresh-weight")
        figure.get_by_role("button", name=PREVIOUS).click()  # the last
        mark, region = (
            figure.locator(".current").bounding_box(),
            figure.locator(".scroll").bounding_box(),
        )
        assert region["x"] <= mark["x"] <= region["x"] + region["width"]


def test_where_the_script_does_not_come_the_figure_stays_and_the_reader_is_told(chromium, tmp_path):
    with browser.opened(chromium, written(tmp_path, trial())) as page:
        figure = page.locator(f"#figure-{MAIN}")
        figure.get_by_role("button", name=EXPLORE).click()
        figure.get_by_text("could not be loaded").wait_for()
        assert figure.locator(".scroll > svg").first.is_visible()
        for name, content in runtime.files().items():
            (tmp_path / name).write_bytes(content)
        figure_of(page, MAIN)  # a second try


def test_without_script_and_on_paper_there_is_the_plain_figure_alone(chromium, report):
    with browser.opened(chromium, report, java_script_enabled=False) as page:
        assert page.locator("figure button").count() == 0
        assert page.locator("#figure-fresh-weight svg").first.is_visible()
    with browser.opened(chromium, report) as page:
        figure_of(page, "fresh-weight")
        page.emulate_media(media="print")
        assert page.locator("#figure-fresh-weight .scroll > svg").first.is_visible()
        assert not page.locator("#figure-fresh-weight .explored").is_visible()
        assert page.locator("figure button:visible").count() == 0


def test_a_spanish_figure_says_its_values_with_a_decimal_comma(chromium, tmp_path):
    made = trial(about=replace(trial().about, language="es"))
    with browser.opened(chromium, with_runtime(tmp_path, made)) as page:
        figure = page.locator("#figure-water-per-gram")
        figure.locator(".explore button").first.click()
        figure.locator(".exploring").wait_for()
        figure.locator(".explored").press("ArrowRight")
        assert re.search(r": \d+,\d", said(figure))


def test_a_name_that_looks_like_markup_stays_text(chromium, tmp_path):
    name = "</script><img src=x onerror=alert(1)>"
    treatments = tuple(
        replace(one, name=name) if one.code == "full" else one for one in trial().treatments
    )
    with browser.opened(chromium, with_runtime(tmp_path, trial(treatments=treatments))) as page:
        figure = figure_of(page, "water-per-gram")
        figure.locator(".explored").press("ArrowLeft")
        assert name in said(figure)
        assert page.locator("img").count() == 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_accessibility_checker_finds_no_violation_while_figures_are_explored(
    chromium, report, scheme
):
    axe = browser.named_file("AXE_CORE", "axe-core's axe.min.js").read_text("utf-8")
    with browser.opened(chromium, report, color_scheme=scheme, bypass_csp=True) as page:
        for key in (CHANGES, MAIN, "ec"):
            figure_of(page, key).get_by_role("button", name=NEXT).click()
        page.evaluate(axe)
        found = page.evaluate("axe.run({resultTypes: ['violations']})")
    assert {
        one["id"]: [node["html"][:200] for node in one["nodes"]] for one in found["violations"]
    } == {}


# What a site holds for it


def test_the_script_is_what_the_converter_bundles():
    if runtime.name() != f"assets/{vega_bundle.name()}":
        pytest.skip("the script is that of another version of the converter")
    assert runtime.files()[runtime.name()] == vega_bundle.content()


def test_the_licences_stand_beside_the_script_which_names_their_file():
    found = runtime.files()
    script, licences = found[runtime.name()].decode(), found["assets/vega-licenses.txt"].decode()
    assert script.startswith("/*! Licences: vega-licenses.txt */")
    # BSD 3-Clause, its second condition; the ISC licence; the MIT licence (SPDX: BSD-3-Clause, ISC,
    # MIT).
    assert "Redistributions in binary form must reproduce the above copyright" in licences
    assert (
        "Permission to use, copy, modify, and/or distribute this software for any purpose"
        in licences
    )
    assert (
        "Permission is hereby granted, free of charge, to any person obtaining a copy" in licences
    )
    for library in (
        "vega",
        "vega-lite",
        "vega-embed",
        "vega-interpreter",
        "d3-scale",
        "semver",
        "fast-json-patch",
    ):
        assert re.search(rf"(^|, ){library}(,|$)", licences, re.MULTILINE), library


# Words


@pytest.mark.parametrize(
    ("low", "high", "text"),
    [
        (98.04, 110.456, "98.04 to 110.5"),
        (None, 12.0, "no lower limit to 12"),
        (0.5, None, "0.5 to no upper limit"),
        (None, None, ""),
    ],
)
def test_an_interval_is_said_and_a_missing_one_is_not(low, high, text):
    assert reach(low, high) == text
    assert told(104.2, low, high) == (f"104.2 ({text})" if text else "104.2")


def test_a_tooltip_has_our_title_else_its_axis_title_and_four_digits():
    fields = [{"field": "tray", "type": "nominal"}, {"field": "water", "type": "quantitative"}]
    axis = {"field": "water", "title": ["Water used (L)", "a note"], "type": "quantitative"}
    made = titled({"layer": [{"encoding": {"x": axis}}, {"encoding": {"tooltip": fields}}]})
    assert made["layer"][1]["encoding"]["tooltip"] == [
        {"field": "tray", "type": "nominal", "title": "Tray"},
        {"field": "water", "type": "quantitative", "title": "Water used (L)", "format": ".4~r"},
    ]


def test_no_figure_says_a_field_by_its_bare_name(report):
    page = report.read_text("utf-8")
    specs = [
        json.loads(text)
        for text in re.findall(r'<script type="application/json">(.*?)</script>', page)
    ]
    entries = [
        entry for spec in specs for entry in re.findall(r'"tooltip": (\[.*?\])', json.dumps(spec))
    ]
    assert len(entries) > 8
    for entry in (one for text in entries for one in json.loads(text)):
        assert entry["title"] != entry["field"]
