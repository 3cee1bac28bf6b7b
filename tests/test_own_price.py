"""A reader's own price of electricity: what the page holds for it, and what a browser makes of it."""

from contextlib import contextmanager
from dataclasses import replace

import lxml.html
import pytest

from reportgen import language, metrics, render, report
from reportgen.metrics.price import costs_of_gram
from reportgen.model.document import OwnPrice
from reportgen.model.trial import Cost, Load, TariffPeriod
from reportgen.report import numbers, ratios
from tests import browser
from tests.trials import readings, trial

# Of a tray: 12 kWh of three trays over 196 g of three trays, 14 kWh over 254 g; feed 3 EUR and 6
# EUR, alike given out.
GRAMS = 1000  # a kilogram, by which pages give costs
FEED = (Cost("feed", "half", 3.0), Cost("feed", "full", 6.0))
pytestmark = pytest.mark.usefixtures("drawn_once", "without_screens")
PRICE, CURRENCY, STATUS = "#own-price-price", "#own-price-currency", "#own-price-said"


def composed(made):
    return report.compose(made, metrics.compute(made))


def blocks(made):
    return [
        block
        for section in composed(made).sections
        for block in section.blocks
        if isinstance(block, OwnPrice)
    ]


def written(folder, made):
    """Write the site of one trial, and return the report's page."""
    document = composed(made)
    files = render.report_files(document, pdf=False) | render.site_files(
        report.collect("Trials", (document,))
    )
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return folder / made.slug / "index.html"


@contextmanager
def asked(chromium, path, *size):
    """Give a report's page on which a reader has opened the fields."""
    with browser.opened(chromium, path, *size) as page:
        page.locator(".own-price summary").click()
        yield page


@pytest.fixture(scope="module")
def page_with_other_costs(tmp_path_factory):
    return written(tmp_path_factory.mktemp("own"), trial(costs=FEED))


@pytest.fixture(scope="module")
def page_of_electricity_alone(tmp_path_factory):
    return written(tmp_path_factory.mktemp("own"), trial())


def shown(page):
    """Return the rows of the table as a reader sees them."""
    rows = page.locator("#table-own-price tbody tr")
    return [row.locator("th, td:visible").all_inner_texts() for row in rows.all()]


# What the page holds


def test_the_page_holds_the_fixed_cost_and_the_energy_of_a_kilogram():
    (block,) = blocks(trial(costs=FEED))
    half, full = block.lines
    assert (half.fixed, full.fixed) == pytest.approx((3 / 0.196, 6 / 0.254), rel=1e-12)
    assert (half.energy, full.energy) == pytest.approx((12 / 0.196, 14 / 0.254), rel=1e-12)
    assert (half.is_reference, full.is_reference) == (True, False)
    assert (block.price, block.currency, block.has_others, block.reference) == (
        "0.25",
        "EUR",
        True,
        "Half strength",
    )


@pytest.mark.parametrize(
    "changes",
    [
        {"electricity_price": None},
        {"tariff": (TariffPeriod(6.0, 22.0, 0.3), TariffPeriod(22.0, 6.0, 0.2))},
        {"meter": readings(None, 20.0)},
        {"meter": ()},
    ],
    ids=["no price", "a tariff", "a shared meter", "no meter"],
)
def test_where_another_price_would_tell_nothing_the_fields_are_left_out(changes):
    assert blocks(trial(**changes)) == []


HALF_LAMP, FULL_LAMP = Load("half", "lamp", 20.0, 16.0), Load("full", "lamp", 30.0, 16.0)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({}, "measured in this trial, without a margin of error."),
        (
            {"meter": (), "loads": (HALF_LAMP, FULL_LAMP)},
            (
                "of this trial, calculated from the power of devices and not measured, without a"
                " margin of error."
            ),
        ),
        (
            {"meter": readings("half", 12.0), "loads": (FULL_LAMP,)},
            (
                "without a margin of error: calculated from the power of devices for Full strength,"
                " measured for the rest."
            ),
        ),
    ],
    ids=["metered", "calculated", "one of each"],
)
def test_the_fields_say_whether_electricity_was_measured_or_calculated(changes, said):
    (block,) = blocks(trial(**changes))
    assert block.notes[0].endswith(said)


def test_a_treatment_whose_cost_is_not_known_is_left_out_and_said():
    (block,) = blocks(trial(costs=(Cost("lamp", "full", 90.0, 30_000.0, None),)))
    assert [line.name for line in block.lines] == ["Half strength"]
    assert "Left out, because a part of its cost is not known: Full strength." in block.notes
    (other,) = blocks(trial(costs=(Cost("lamp", "half", 90.0, 30_000.0, None),)))
    assert (other.reference, [line.is_reference for line in other.lines]) == ("", [False])


def test_the_notes_say_what_is_counted_and_what_does_not_follow():
    (block,) = blocks(trial(costs=FEED, water_price=0.002))
    (alone,) = blocks(trial())
    assert "(water; feed) stay as they are, in EUR" in block.notes[1]
    assert alone.notes[1] == "Electricity is the only cost that this trial counts."
    assert block.notes[-1] == "Your price changes only this table."


def test_the_signs_of_numbers_are_those_of_the_language():
    made = trial(about=replace(trial().about, language="es"))
    (block,) = blocks(made)
    # Unicode CLDR, es: decimal comma, groups by a point, "#,##0%" with a no-break space.
    assert (block.signs.point, block.signs.group, block.signs.percent) == (
        ",",
        ".",
        ("", "\N{NO-BREAK SPACE}%"),
    )


def test_paper_and_a_page_without_script_show_nothing_of_it():
    document = composed(trial(costs=FEED))
    page = lxml.html.fromstring(render.report_files(document, pdf=False)["coriander/index.html"])
    assert page.xpath("//template//*[@id='own-price']")
    assert not page.xpath("//*[@id='own-price'][not(ancestor::template)]")
    assert "own-price" not in render.paper.markup(document)


def test_a_browser_without_script_shows_nothing_of_it(chromium, page_with_other_costs):
    with browser.opened(chromium, page_with_other_costs, java_script_enabled=False) as page:
        assert page.locator("#table-prices").is_visible()
        assert page.get_by_text("At your own price").count() == 0


# What a browser makes of it


def test_at_first_the_figures_are_those_at_the_trials_own_price(chromium, page_with_other_costs):
    with asked(chromium, page_with_other_costs) as page:
        # By hand: 0.25 x 12/0.196 = 15.306, + 3/0.196 = 30.612; 0.25 x 14/0.254 = 13.780, + 6/0.254
        # = 37.402.
        assert shown(page) == [
            ["Half strength", "15.3", "30.6", "100%"],
            ["Full strength", "13.8", "37.4", "122%"],
        ]


def test_figures_follow_the_price_as_the_program_itself_works_them_out(
    chromium, page_with_other_costs
):
    made = trial(costs=FEED)
    half, full = costs_of_gram(
        made, {one.measure.key: one for one in metrics.compute(made).measures}
    )
    with asked(chromium, page_with_other_costs) as page:
        for typed in (
            "0",
            "0.001",
            "0.07",
            "0.25",
            "0,333",
            "1",
            "17.25",
            ".5",
            "2500",
            "1 234.5",
            "7654321",
        ):
            page.fill(PRICE, typed)
            price = float(typed.replace(",", ".").replace(" ", ""))
            for line, row in zip((half, full), shown(page), strict=True):
                electricity, cost = GRAMS * line.slope * price, GRAMS * line.at(price)
                assert row[1:3] == [numbers.plain(electricity), numbers.plain(cost)], typed
                assert f"{row[3]} (no interval)" == ratios.ratio(
                    line.at(price) / half.at(price), None, None
                ), typed


def test_with_another_currency_other_costs_are_left_out_since_nothing_converts_them(
    chromium, page_with_other_costs
):
    with asked(chromium, page_with_other_costs) as page:
        page.fill(CURRENCY, "  KES ")
        page.fill(PRICE, "20")
        assert page.locator("#table-own-price thead th:visible").all_inner_texts() == [
            "Treatment",
            "Electricity (KES/kg)",
            "Cost relative to Half strength",
        ]
        assert [row[1:] for row in shown(page)] == [["1224", "100%"], ["1102", "90%"]]
        assert page.inner_text(STATUS).startswith(
            "At 20 KES/kWh the electricity of a kilogram of fresh weight costs: Half strength 1224"
            " KES/kg"
        )
        page.fill(CURRENCY, "eur")
        assert len(shown(page)[0]) == 4


def test_what_is_no_price_is_said_and_no_figure_stays(chromium, page_with_other_costs):
    with asked(chromium, page_with_other_costs) as page:
        for typed in ("", "x", "-1", "0.3.1", "1,234.5", "1e3", "0x10", "Infinity", ".", "9" * 15):
            page.fill(PRICE, typed)
            assert page.get_attribute(PRICE, "aria-invalid") == "true", typed
            assert page.inner_text(STATUS) == "Type a price of 0 or more in digits, such as 0.25."
            assert not page.locator("#table-own-price").is_visible()
        page.fill(PRICE, "0.5")
        assert page.get_attribute(PRICE, "aria-invalid") == "false"
        assert page.locator("#table-own-price").is_visible()


def test_where_electricity_is_free_and_alone_no_ratio_is_made_up(
    chromium, page_of_electricity_alone
):
    with asked(chromium, page_of_electricity_alone) as page:
        page.fill(PRICE, "0")
        assert [row[1:] for row in shown(page)] == [["0", "not known"], ["0", "not known"]]


def test_a_ratio_just_off_the_reference_never_shows_as_a_bare_100_percent(chromium, tmp_path):
    made = trial(meter=readings("half", 12.0) + readings("full", 12.0 * 254 / 196 * 1.001))
    with asked(chromium, written(tmp_path, made)) as page:
        assert [row[2] for row in shown(page)] == ["100%", "just over 100%"]


def test_a_spanish_page_reads_and_writes_a_decimal_comma(chromium, tmp_path):
    made = trial(costs=FEED, about=replace(trial().about, language="es"))
    half, full = costs_of_gram(
        made, {one.measure.key: one for one in metrics.compute(made).measures}
    )
    with asked(chromium, written(tmp_path, made)) as page:
        assert page.input_value(PRICE) == "0,25"
        page.fill(PRICE, "300000,5")
        found = shown(page)
    with language.using(language.of("es")):
        costs = [GRAMS * line.at(300000.5) for line in (half, full)]
        assert [row[2] for row in found] == [numbers.plain(cost) for cost in costs]


def test_a_name_that_looks_like_markup_stays_text(chromium, tmp_path):
    name = "<img src=x onerror=alert(1)> {price} & \"'"
    treatments = tuple(
        replace(one, name=name) if one.code == "full" else one for one in trial().treatments
    )
    with asked(chromium, written(tmp_path, trial(treatments=treatments))) as page:
        assert page.locator(".own-price img").count() == 0
        assert shown(page)[1][0] == " ".join(name.split())
        assert name in page.inner_text(STATUS)


@pytest.mark.parametrize("size", [(1280, 800), (320, 640)], ids=["wide", "narrow"])
def test_fields_have_names_and_are_large_enough_to_touch(chromium, page_with_other_costs, size):
    # WCAG 2.2, success criteria 2.5.8 (24 px), 4.1.2 (name) and 4.1.3 (status messages).
    with asked(chromium, page_with_other_costs, size) as page:
        for name in ("Price per kWh", "Currency"):
            field = page.get_by_label(name)
            field.scroll_into_view_if_needed()
            box = field.bounding_box()
            assert min(box["width"], box["height"]) >= 24
            assert box["x"] + box["width"] <= size[0]
        assert page.get_by_role("status").filter(has_text="EUR/kWh").count() == 1


def test_it_stays_off_paper_when_a_browser_prints(chromium, page_with_other_costs):
    with asked(chromium, page_with_other_costs) as page:
        page.emulate_media(media="print")
        assert not page.locator(".own-price").is_visible()
