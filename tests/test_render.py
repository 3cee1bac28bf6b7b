"""Pages and figures: checked by parsers that know nothing of the templates."""

import dataclasses
import io
import json
import os
import pickle
import re
import subprocess
import sys
from itertools import pairwise
from typing import Any
from xml.dom import minidom

import lxml.html
import pytest
from PIL import Image

from reportgen import paths, schemas
from reportgen.model.document import (
    Bullets,
    Facts,
    Figure,
    Links,
    Notice,
    Paragraph,
    Photo,
    Prose,
    Report,
    Section,
    Site,
    Subheading,
    Table,
    Trust,
)
from reportgen.model.settings import DEFAULTS
from reportgen.render import assets, figures, page, prose, report_files, site_files, templates

HOSTILE = (
    "</title></p><script>alert(1)</script><img src=x onerror=alert(2)>\" ' {{ 7 * 7 }} {% raw %}"
    " & <b>"
)
TREATMENTS = (
    "Cold roots",
    "Root zone warmed to 20 °C",
    "Root zone warmed to 25 °C by a mat under the tray",
)


def chart(title: str = "Fresh weight per plant (g)", **mark: object) -> str:
    """Return a chart with a clip and a gradient, whose identifiers the converter counts on and on."""
    values = [{"t": name, "g": 60 + 15 * place} for place, name in enumerate(TREATMENTS)]
    encoding = {
        "y": {"field": "t", "type": "nominal", "title": None},
        "x": {"field": "g", "type": "quantitative", "title": title},
        "color": {"field": "g", "type": "quantitative"},
    }
    marks = {"type": "bar", "clip": True} | mark
    return json.dumps(
        {
            "data": {"values": values},
            "mark": marks,
            "encoding": encoding,
            "config": {"font": "Inter"},
        }
    )


def growth_curve() -> str:
    """Return a chart over dates without a time of day, which a local clock would shift."""
    values = [{"d": f"2025-03-{day:02d}", "g": day} for day in (3, 10, 17)]
    encoding = {
        "x": {"field": "d", "type": "temporal"},
        "y": {"field": "g", "type": "quantitative"},
    }
    return json.dumps(
        {
            "data": {"values": values},
            "mark": "line",
            "encoding": encoding,
            "config": {"font": "Inter"},
        }
    )


def figure(key: str = "weight", **changes: str) -> Figure:
    """Return a figure of three bars."""
    plain = Figure(key, "Mean fresh weight by treatment.", "Bars rise from 60 g to 90 g.", chart())
    return dataclasses.replace(plain, **changes)


def table(rows: int = 60) -> Table:
    """Return a table long enough to cross a page."""
    cells = tuple((f"T{n:02d}", TREATMENTS[n % 3], f"{60 + n}.5") for n in range(rows))
    return Table(
        "trays",
        "Trays",
        ("Tray", "Treatment", "Mean (g)"),
        cells,
        (False, False, True),
        "Means of eight.",
    )


def photo() -> Photo:
    """Return a photo of a green field."""
    out = io.BytesIO()
    Image.new("RGB", (64, 32), (60, 140, 70)).save(out, "JPEG")
    return Photo(
        "photo-0123456789ab", "3 March: rafts.", "Leaves cover four rafts.", out.getvalue(), 64, 32
    )


def section_of_everything() -> Section:
    """Return a section with a block of every kind."""
    return Section(
        "growth",
        "Growth",
        (
            Paragraph("Pak choi grew on a bench in an unheated room."),
            Prose(
                "# Day 3\n\nThe *mat* was [bought used](https://example.org/mat).",
                "In the grower's words",
            ),
            Bullets(("One plant died.", "One label was lost."), "Losses"),
            Notice("Mains power near water", ("Follow the local code.",)),
            Facts((("Blocks", "4"),)),
            Subheading("Trays"),
            table(),
            figure(),
            photo(),
            Links((("Results", "results.json", "Every number."),)),
        ),
    )


def report(**changes: Any) -> Report:
    """Return an invented trial of root warmth for pak choi."""
    glance = Section("glance", "At a glance", (figure("glance"),))
    plain = Report(
        slug="warm-roots",
        language="en",
        title="Do warm roots make bigger pak choi?",
        crop="Pak choi",
        question="Does a warm root zone give more fresh weight?",
        headline="Warm roots gave 25% more pak choi",
        lead=("Trays at 20 °C gave 25% more fresh weight.", "The trial does not tell for 25 °C."),
        answer=("Trays at 20 °C gave 25% more fresh weight.", "The trial does not tell for 25 °C."),
        trust=Trust(("It was a fair test.",), disclosure="The mats were lent by their maker."),
        byline="Ada Example",
        facts=Facts((("Trays", "12"), ("Plants", "96"))),
        disclosure="The mats were lent by their maker.",
        description="Root warmth and pak choi.",
        harvested_on="2025-04-08",
        sections=(glance, section_of_everything()),
        results='{"format": "trial-results/1"}\n',
        colophon="Made from warm-roots.xlsx.",
    )
    return dataclasses.replace(plain, **changes)


def bare() -> Report:
    """Return a report in which everything that may be empty is."""
    empty = Section(
        "notes",
        "Notes",
        (Prose(" ", ""), Paragraph(""), Bullets((), "Lead"), Notice("Title", ()), Links(())),
    )
    texts = dict.fromkeys(("crop", "question", "byline", "disclosure", "colophon"), "")
    return report(
        answer=(),
        lead=(),
        trust=Trust(),
        facts=Facts((("Spare", ""),)),
        sections=(
            Section("none", "None", ()),
            dataclasses.replace(empty, blocks=(*empty.blocks, Paragraph("One."))),
        ),
        **texts,
    )


def hostile(value: Any) -> Any:
    """Return a value with hostile text for every text that is not a name, an address or a chart."""
    if isinstance(value, str):
        return HOSTILE
    if isinstance(value, Links):
        return Links(tuple((HOSTILE, address, HOSTILE) for _, address, _ in value.items))
    if isinstance(value, tuple):
        return tuple(hostile(item) for item in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        kept = {"slug", "key", "results"}
        fields = {field.name: getattr(value, field.name) for field in dataclasses.fields(value)}
        changed = {name: hostile(item) for name, item in fields.items() if name not in kept}
        if "spec" in changed:
            changed["spec"] = changed["narrow_spec"] = chart(title=HOSTILE)
        return dataclasses.replace(value, **changed)
    return value


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    return report_files(report())


@pytest.fixture(scope="module")
def tree(files: dict[str, bytes]) -> Any:
    return lxml.html.document_fromstring(files["warm-roots/index.html"].decode())


def page_of(document: Report, with_pdf: bool = True) -> Any:
    filled = page.render(document, figures.draw(document), pdf=with_pdf)
    return lxml.html.document_fromstring(filled[f"{document.slug}/index.html"].decode())


def addresses(parsed: Any) -> list[str]:
    return [
        address for _, attribute, address, _ in parsed.iterlinks() if attribute in ("href", "src")
    ]


# Files


SCREENS = tuple(
    f"{name}-{ground}.{kind}"
    for name in ("answer", "weight")
    for ground in ("light", "dark")
    for kind in ("png", "svg")
)


def test_a_report_is_a_page_its_pictures_its_post_its_results_and_its_pdf(files):
    assert set(files) == {
        "warm-roots/index.html",
        "warm-roots/card.png",
        "warm-roots/figures/glance.png",
        "warm-roots/figures/glance.svg",
        "warm-roots/figures/weight.png",
        "warm-roots/figures/weight.svg",
        "warm-roots/photos/photo-0123456789ab.jpg",
        "warm-roots/post.html",
        "warm-roots/post.md",
        *(f"warm-roots/screens/{name}" for name in SCREENS),
        "warm-roots/results.json",
        "warm-roots/CITATION.cff",
        "warm-roots/report.pdf",
    }
    assert files["warm-roots/results.json"] == b'{"format": "trial-results/1"}\n'


def test_every_file_has_the_same_bytes_from_another_process_with_another_past_and_clock():
    code = (
        "import pickle, sys\n"
        "from reportgen.render import figures, report_files\n"
        "report, other = pickle.load(sys.stdin.buffer)\n"
        "figures.svg(other)\n"
        "pickle.dump(report_files(report), sys.stdout.buffer)\n"
    )
    dated = report(
        sections=(
            *report().sections,
            Section("curve", "Curve", (figure("g", spec=growth_curve()),)),
        )
    )
    ran = subprocess.run(
        [sys.executable, "-c", code],
        input=pickle.dumps((dated, figure("other"))),
        capture_output=True,
        check=True,
        env=os.environ | {"TZ": "Pacific/Auckland", "PYTHONHASHSEED": "7"},
    )
    assert pickle.loads(ran.stdout) == report_files(dated)


def test_loading_the_room_loads_neither_the_layout_engine_nor_the_chart_converter():
    code = "import sys, reportgen.render; print({'weasyprint', 'vl_convert'} & set(sys.modules))"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "set()"


@pytest.mark.parametrize("name", ["../other", "a/b", "", 'a"b', "a.b", "a b"])
def test_a_name_that_would_leave_its_folder_is_refused(name):
    with pytest.raises(ValueError, match="file name"):
        report_files(report(slug=name), pdf=False)
    with pytest.raises(ValueError, match="file name"):
        report_files(report(sections=(Section("s", "S", (figure(name),)),)), pdf=False)


@pytest.mark.parametrize(
    "address", ["javascript:alert(1)", "data:text/html,x", "/etc", "//host/x", "file:///x"]
)
def test_an_address_that_would_run_or_escape_is_refused(address):
    linked = report(sections=(Section("s", "S", (Links((("Text", address, ""),)),)),))
    with pytest.raises(ValueError, match="address"):
        report_files(linked, pdf=False)


def test_templates_are_found_inside_an_installed_package_and_beside_a_checkout(
    tmp_path, monkeypatch
):
    room = tmp_path / "package" / "paths.py"
    monkeypatch.setattr(paths, "__file__", str(room))
    assert paths.templates.__wrapped__() == tmp_path / "templates"
    (tmp_path / "package" / "templates").mkdir(parents=True)
    assert paths.templates.__wrapped__() == tmp_path / "package" / "templates"


def test_the_site_has_one_stylesheet_one_script_and_its_fonts_under_names_that_change_with_their_content(
    monkeypatch,
):
    gathered = assets.files()
    (style,) = [name for name in gathered if name.endswith(".css")]
    (script,) = [name for name in gathered if name.endswith(".js")]
    used = set(re.findall(r'url\("([^"]+)"\)', gathered[style].decode()))
    named_as_they_are = {assets.FONT_LICENCE, f"assets/{schemas.FILES['results']}"}
    assert {f"assets/{name}" for name in used} == set(gathered) - {
        style,
        script,
    } - named_as_they_are
    assert all(
        re.fullmatch(r"assets/[\w-]+\.[0-9a-f]{10}\.(css|js|woff2)", name)
        for name in gathered
        if name not in named_as_they_are
    )
    monkeypatch.setattr(assets, "STYLES", ("tokens.css",))
    assert (
        f"assets/{assets._fingerprinted('site.css', assets._stylesheet.__wrapped__(DEFAULTS))}"
        != style
    )


# Page


def test_the_page_says_its_language_title_and_description(tree):
    assert tree.get("lang") == "en"
    assert tree.findtext(".//title") == "Do warm roots make bigger pak choi?"
    assert tree.xpath("string(//meta[@name='description']/@content)") == "Root warmth and pak choi."


def test_the_answer_and_who_had_an_interest_stand_before_facts_byline_and_sections(tree):
    text = tree.text_content()
    parts = [
        "Do warm roots",
        "Does a warm root zone",
        "Warm roots gave",
        "Trays at 20 °C gave",
        "It was a fair test",
        "lent by",
        "96",
        "Ada Example",
        "Pak choi grew",
    ]
    places = [text.index(part, text.index("This report as PDF")) for part in parts]
    assert places == sorted(places)


def test_only_the_sites_own_script_runs_and_nothing_is_fetched_from_elsewhere(tree):
    policy = tree.xpath("string(//meta[@http-equiv='Content-Security-Policy']/@content)")
    # CSP Level 3, section 6.1.3: default-src stands in for every fetch directive that is not given.
    assert (
        policy
        == "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src"
        " 'self'; connect-src 'none'; base-uri 'none'; form-action 'none'"
    )
    (script,) = tree.xpath(
        "//script[not(@type='application/ld+json' or @type='application/json')]"
    )  # those are data
    assert script.attrib == {"src": f"../{assets.script_name()}", "defer": "defer"}
    assert not script.text
    assert not tree.xpath("//style | //iframe | //object | //embed | //base | //form")
    assert not tree.xpath("//@style | //@*[starts-with(name(), 'on')]")


def test_addresses_are_relative_but_for_the_growers_own_links(tree):
    outside = [address for address in addresses(tree) if re.match(r"[a-z]+:|/", address)]
    assert outside == ["data:,", "https://example.org/mat"]


def test_headings_start_with_one_h1_and_skip_no_level(tree):
    levels = [int(heading.tag[1]) for heading in tree.iter("h1", "h2", "h3", "h4", "h5", "h6")]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(deeper - level <= 1 for level, deeper in pairwise(levels))


def test_tables_have_a_caption_and_every_header_a_scope(tree):
    # WCAG 2.2, techniques H39 (caption) and H63 (scope).
    (found,) = tree.iter("table")
    assert found.findtext("caption/span") == "Trays"
    assert found.xpath("thead//th/@scope") == ["col"] * 3
    assert found.xpath("tbody/tr/*[1]/@scope") == ["row"] * 60
    assert len(found.xpath("tbody/tr/td[2][@class='number']")) == 60
    assert not found.xpath("//th[not(@scope)]")


def test_identifiers_are_unique_and_every_reference_finds_one(tree):
    identifiers = tree.xpath("//@id")
    assert len(identifiers) == len(set(identifiers))
    inner = [address[1:] for address in addresses(tree) if address.startswith("#")]
    labels = tree.xpath("//@aria-labelledby")
    drawn = re.findall(r"url\(#([^)]+)\)", lxml.html.tostring(tree, encoding="unicode"))
    assert len(drawn) >= 4  # a clip and a gradient in each of the two figures
    assert set(inner + labels + drawn) <= set(identifiers)


def test_a_photo_stands_with_its_size_its_text_and_its_caption(tree, files):
    (figure,) = tree.xpath("//figure[img]")
    (image,) = figure.iter("img")
    assert image.get("alt") == "Leaves cover four rafts."
    assert figure.findtext("figcaption") == "3 March: rafts."
    shown = Image.open(io.BytesIO(files[f"warm-roots/{image.get('src')}"]))
    assert shown.size == (int(image.get("width")), int(image.get("height")))


def test_the_page_names_its_picture_for_previews_and_links_to_its_post(files, tree):
    assert {"post.html", "post.md", "card.png"} <= set(addresses(tree))
    assert not tree.xpath("//meta[@property='og:image']")  # previews take whole addresses only
    known = page_of(report(address="https://example.org/trials"))
    (named,) = known.xpath(
        "//meta[@property='og:image']/@content"
    )  # The Open Graph protocol, basic metadata
    assert named.removeprefix("https://example.org/trials/") in files


def test_what_may_be_wider_than_the_screen_stands_in_a_box_that_scrolls(tree):
    # WCAG 2.2, success criterion 1.4.10 (reflow). Where it does scroll, the script lets the
    # keyboard reach the box.
    wide = tree.xpath("//table | //*[local-name()='svg']")
    assert wide
    for one in wide:
        assert one.getparent().get("class") == "scroll"
        assert one.getparent().get("data-scrolls") == "Scrolls sideways"


def test_contents_list_the_sections_that_have_something_to_say():
    listed = page_of(bare()).xpath("//nav[@aria-label='Contents']//a/@href")
    assert listed == ["#notes"]


def test_empty_texts_leave_nothing_on_the_page():
    found = page_of(bare())
    assert not found.xpath(
        "//main//*[not(normalize-space()) and not(self::div) and not(ancestor::template)]"
    )
    assert [heading.text for heading in found.iter("h2", "h3")] == ["Notes"]
    assert "Lead" not in found.text_content()


def test_the_page_links_to_a_pdf_only_where_there_is_one():
    assert "report.pdf" in addresses(page_of(report()))
    assert "report.pdf" not in addresses(page_of(report(), with_pdf=False))
    assert "warm-roots/report.pdf" not in report_files(report(), pdf=False)


def test_hostile_text_is_text_in_every_field():
    attacked = hostile(report())
    found = page_of(attacked)
    assert not found.xpath(
        "//script[not(@type='application/ld+json' or @type='application/json')][not(@src)] | //b[."
        " != $hostile] | //img[not(starts-with(@src, 'photos/'))]",
        hostile=HOSTILE,
    )
    assert not found.xpath("//@*[starts-with(name(), 'on')]")
    assert found.findtext(".//title") == HOSTILE
    assert found.get("lang") == HOSTILE
    assert found.findtext(".//h1") == found.findtext(".//h2[@id='growth']") == HOSTILE
    assert found.findtext(".//table//td") == found.findtext(".//caption/span") == HOSTILE
    assert found.xpath("string(//*[local-name()='svg']/*[local-name()='title'])") == HOSTILE
    assert "49" not in found.text_content()


def test_hostile_text_in_the_list_of_trials_is_text():
    attacked = Site(HOSTILE, (hostile(report()),))
    found = lxml.html.document_fromstring(site_files(attacked)["index.html"].decode())
    assert found.findtext(".//h1") == found.findtext(".//h2/a") == HOSTILE
    assert not found.xpath("//script[not(@src or @type='application/json')] | //img | //b")


def of_two(**changes: Any) -> Site:
    """Return a site with a section on what its trials tell together."""
    blocks = (
        Subheading("Warm against cold"),
        Paragraph("Pooled."),
        figure("comparison-1"),
        table(3),
        Links((("Warm roots", "warm-roots/index.html", ""),)),
    )
    plain = Site(
        "Our trials",
        (report(),),
        (Section("same-comparison", "Together", blocks),),
        '{"comparisons": []}\n',
    )
    return dataclasses.replace(plain, **changes)


def test_what_trials_tell_together_has_a_page_of_its_own_with_its_figure_and_numbers():
    files = site_files(of_two())
    index = lxml.html.document_fromstring(files["index.html"].decode())
    assert "pooled.html#same-comparison" in addresses(index)
    assert "Warm against cold" not in index.text_content()
    found = lxml.html.document_fromstring(files["pooled.html"].decode())
    headings = [heading.text_content() for heading in found.iter("h1", "h2", "h3")]
    assert headings == ["Trials together", "Together", "Warm against cold"]
    assert (
        found.xpath("string(//*[local-name()='svg']/*[local-name()='title'])")
        == "Bars rise from 60 g to 90 g."
    )
    assert files["figures/comparison-1.svg"].decode().startswith("<svg")
    assert files["pooled.json"] == b'{"comparisons": []}\n'
    assert "index.html" in addresses(found)
    identifiers = found.xpath("//@id")
    assert set(found.xpath("//@aria-labelledby")) <= set(identifiers)
    assert len(identifiers) == len(set(identifiers))


def test_a_list_of_trials_with_nothing_in_common_is_a_list_and_no_more():
    files = site_files(of_two(sections=(), results=""))
    found = lxml.html.document_fromstring(files["index.html"].decode())
    assert set(files) - set(assets.files()) == {"index.html", "feed.xml"}
    assert [child.tag for child in found.get_element_by_id("main")] == ["header", "ul"]
    assert not found.xpath("//section | //figure | //header//a")


def test_hostile_text_in_what_trials_tell_together_is_text():
    attacked = hostile(of_two())
    found = lxml.html.document_fromstring(site_files(attacked)["pooled.html"].decode())
    assert found.findtext(".//h3") == found.findtext(".//td") == HOSTILE
    assert not found.xpath("//script[not(@src or @type='application/json')] | //img | //b")


@pytest.mark.parametrize(
    "block", [figure("../other"), Links((("Text", "javascript:alert(1)", ""),))]
)
def test_what_trials_tell_together_breaks_out_of_no_folder(block):
    with pytest.raises(ValueError, match=r"file name|address"):
        site_files(of_two(sections=(Section("s", "S", (block,)),)))


def test_the_list_of_trials_keeps_their_order_and_links_to_each():
    first = report(harvest_day="8 April 2025", headline="Trays at 20 °C gave 25% more")
    second = report(
        slug="cold-roots", harvested_on="2024-11-02", harvest_day="2 November 2024", question=""
    )
    found = lxml.html.document_fromstring(
        site_files(Site("Our trials", (first, second)))["index.html"].decode()
    )
    assert found.xpath("//h2/a/@href") == ["warm-roots/index.html", "cold-roots/index.html"]
    assert found.xpath("//time/@datetime") == ["2025-04-08", "2024-11-02"]
    assert "Trays at 20 °C gave 25% more" in found.text_content()
    assert "does not tell" not in found.text_content()


def luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb.

    Formula: WCAG 2.2, definition of relative luminance.
    """
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(weight * c for weight, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
def test_text_stands_out_from_its_ground_in_light_and_dark(scheme):
    tokens = (
        (templates.folder() / "assets" / "tokens.css")
        .read_text("utf-8")
        .split("@media screen")[scheme]
    )
    colours = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", tokens))
    pairs = [(ink, "ground") for ink in ("ink", "soft", "accent")]
    pairs += [(ink, "caution-ground") for ink in ("ink", "caution")]
    for ink, ground in pairs:
        darker, lighter = sorted((luminance(colours[ink]), luminance(colours[ground])))
        assert (lighter + 0.05) / (darker + 0.05) >= 4.5, (
            ink,
            ground,
        )  # WCAG 2.2, success criterion 1.4.3


# The grower's own words


def test_prose_is_set_with_its_headings_made_paragraphs():
    assert (
        prose.html("# Day 3\n\nWe *moved* it.")
        == '<p class="prose-heading">Day 3</p>\n<p>We <em>moved</em> it.</p>\n'
    )


@pytest.mark.parametrize(
    "markdown",
    [
        "<script>alert(1)</script>",
        "a <b onclick=x>b</b>",
        "![photo](https://example.org/x.png)",
        "[a](javascript:alert(1))",
        "[a](JaVaScRiPt:alert(1))",
        "<javascript:alert(1)>",
        "[a](data:text/html,x)",
        "[a](file:///etc/passwd)",
        "[a](../../other)",
        "[a]: javascript:alert(1)\n\n[a]",
        '[a](https://example.org/"onmouseover=alert)',
    ],
)
def test_prose_cannot_run_fetch_or_lead_astray(markdown):
    found = lxml.html.fragment_fromstring(prose.html(markdown), create_parent="div")
    assert not found.xpath(".//script | .//b | .//img")
    assert not found.xpath("//@*[starts-with(name(), 'on')]")
    assert all(re.match("https?://|mailto:", address) for address in addresses(found))


@pytest.mark.parametrize(
    "address", ["https://example.org/a", "http://example.org", "mailto:a@example.org"]
)
def test_prose_keeps_web_and_mail_addresses(address):
    assert addresses(lxml.html.fromstring(prose.html(f"[text]({address})"))) == [address]


# Figures


def test_a_figure_is_one_image_with_its_text_as_title():
    root = minidom.parseString(figures.svg(figure(alternative=HOSTILE + "\x0b"))).documentElement
    assert root.getAttribute("role") == "img"
    assert root.firstChild.tagName == "title"
    assert root.firstChild.firstChild.data == HOSTILE
    inner = [element for element in root.getElementsByTagName("*") if element.hasAttribute("role")]
    assert inner == []


def test_hostile_text_in_a_chart_is_drawn_as_text():
    root = minidom.parseString(figures.svg(figure(spec=chart(title=HOSTILE)))).documentElement
    texts = [
        "".join(node.data for node in text.childNodes)
        for text in root.getElementsByTagName("text")
        if text.firstChild
    ]
    assert HOSTILE in texts
    assert not root.getElementsByTagName("script") + root.getElementsByTagName("img")


def test_identifiers_of_a_figure_do_not_depend_on_what_was_drawn_before():
    first = figures.svg(figure("a"))
    figures.svg(figure("b"))
    assert figures.svg(figure("a")) == first
    assert sorted(set(re.findall(r'id="([^"]+)"', first))) == ["chart-a-1", "chart-a-2"]


def test_inline_style_of_a_chart_becomes_attributes():
    drawn = figures.svg(figure(spec=chart(blend="multiply")))
    assert "style=" not in drawn
    assert 'mix-blend-mode="multiply"' in drawn


def test_a_chart_fetches_no_data():
    spec = json.dumps(
        {
            "data": {"url": "http://127.0.0.1:9/d.csv"},
            "mark": "bar",
            "encoding": {"x": {"field": "a"}},
        }
    )
    with pytest.raises(ValueError, match="not allowed"):
        figures.svg(figure(spec=spec))
