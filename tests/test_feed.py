"""Feed and sitemap: held against the grammar of their standards, and read by a feed reader's
parser.
"""

import dataclasses
import uuid

import feedparser
import lxml.html
import pytest
from lxml import etree

from reportgen.model.data import Dataset
from reportgen.model.document import (
    AnswerBox,
    AnswerRow,
    Change,
    Facts,
    Report,
    Section,
    Site,
    Trust,
)
from reportgen.render import feed

ADDRESS = "https://example.org/trials"
HOSTILE = "</title><script>alert(1)</script> & \" ' <b>\x00\x0b]]>"
ATOM = "{http://www.w3.org/2005/Atom}"

# RFC 4287, sections 3 and 4, written as RELAX NG: which elements a feed and an entry hold, how
# often, in which form. Left out are the elements that no feed of ours has (contributor, icon, logo,
# source, subtitle).
GRAMMAR = """
<grammar xmlns="http://relaxng.org/ns/structure/1.0" ns="http://www.w3.org/2005/Atom"
         datatypeLibrary="http://www.w3.org/2001/XMLSchema-datatypes">
  <start><element name="feed"><ref name="common"/><interleave>
    <zeroOrMore><ref name="author"/></zeroOrMore>
    <zeroOrMore><ref name="category"/></zeroOrMore>
    <optional><element name="generator">
      <optional><attribute name="uri" ns=""><data type="anyURI"/></attribute></optional>
      <optional><attribute name="version" ns=""/></optional><text/>
    </element></optional>
    <ref name="id"/><zeroOrMore><ref name="link"/></zeroOrMore><optional><ref name="rights"/></optional>
    <ref name="title"/><ref name="updated"/>
    <zeroOrMore><element name="entry"><ref name="common"/><interleave>
      <zeroOrMore><ref name="author"/></zeroOrMore>
      <zeroOrMore><ref name="category"/></zeroOrMore>
      <ref name="id"/><zeroOrMore><ref name="link"/></zeroOrMore><optional><ref name="rights"/></optional>
      <optional><element name="content"><ref name="words"/></element></optional>
      <optional><element name="published"><ref name="moment"/></element></optional>
      <optional><element name="summary"><ref name="words"/></element></optional>
      <ref name="title"/><ref name="updated"/>
    </interleave></element></zeroOrMore>
  </interleave></element></start>
  <define name="common"><optional><attribute name="lang" ns="http://www.w3.org/XML/1998/namespace">
    <data type="language"/></attribute></optional></define>
  <define name="words"><ref name="common"/><optional><attribute name="type" ns=""><choice><value>text</value>
    <value>html</value></choice></attribute></optional><text/></define>
  <define name="title"><element name="title"><ref name="words"/></element></define>
  <define name="rights"><element name="rights"><ref name="words"/></element></define>
  <define name="id"><element name="id"><data type="anyURI"><param name="minLength">1</param></data></element></define>
  <define name="updated"><element name="updated"><ref name="moment"/></element></define>
  <define name="moment"><data type="dateTime"><param name="pattern">.+T.+(Z|[+\\-]\\d{2}:\\d{2})</param></data></define>
  <define name="author"><element name="author"><interleave><element name="name"><data type="string">
    <param name="minLength">1</param></data></element>
    <optional><element name="uri"><data type="anyURI"/></element></optional></interleave></element></define>
  <define name="category"><element name="category"><attribute name="term" ns=""/><empty/></element></define>
  <define name="link"><element name="link"><attribute name="href" ns=""><data type="anyURI"/></attribute>
    <optional><attribute name="rel" ns=""><choice><value>alternate</value><value>self</value></choice></attribute>
    </optional><optional><attribute name="type" ns=""><data type="string"><param name="pattern">.+/.+</param></data>
    </attribute></optional><empty/></element></define>
</grammar>
"""
# sitemaps.org, "Sitemaps XML format": urlset holds url, url holds loc, a whole address under 2,048
# characters.
SITEMAP = """
<grammar xmlns="http://relaxng.org/ns/structure/1.0" ns="http://www.sitemaps.org/schemas/sitemap/0.9"
         datatypeLibrary="http://www.w3.org/2001/XMLSchema-datatypes">
  <start><element name="urlset"><oneOrMore><element name="url"><element name="loc"><data type="anyURI">
    <param name="pattern">https?://[!-~]+</param><param name="maxLength">2047</param></data></element></element>
  </oneOrMore></element></start>
</grammar>
"""


CHANGE = Change("Wide", "56", "+12 %", "3 % to 22 % more", "confounded", "not comparable")


def report(slug="mint-spacing", **changes):
    """Return an invented trial of the spacing of mint."""
    plain = Report(
        slug=slug,
        language="en",
        title="Does mint want more room?",
        crop="mint",
        question="Does wider spacing give more leaf?",
        answer=("Wide spacing gave 12 % more leaf.", "It used as much water."),
        byline="Ada Example",
        facts=Facts(()),
        disclosure="None stated",
        description="Spacing of mint.",
        harvested_on="2026-03-09",
        sections=(),
        results="{}",
        colophon="",
        headline="Wide spacing: 12 % more mint",
        lead=("Wide spacing gave 12 % more leaf.", "It used as much water."),
        box=AnswerBox("Narrow", (AnswerRow("Leaf", "g", "50", (CHANGE,)),)),
        trust=Trust(("4 trays each.",), ("One lamp served all.",), "", ("Invented example",)),
    )
    return dataclasses.replace(plain, **changes)


def site(*reports):
    return Site(
        "Trials of a small house", reports or (report(), report("dill", harvested_on="2025-11-30"))
    )


DATASETS = {"mint-spacing": Dataset(author="Ada Example", licence="CC-BY-4.0")}


def atom(collection=None, address=""):
    return feed.render(collection or site(), DATASETS, address=address)["feed.xml"]


def told(content, grammar=GRAMMAR):
    """Return what the grammar finds wrong with a document."""
    schema = etree.RelaxNG(etree.fromstring(grammar))
    schema.validate(etree.fromstring(content))
    return [error.message for error in schema.error_log]


@pytest.mark.parametrize("address", ["", ADDRESS])
def test_the_feed_is_what_the_standard_asks_for(address):
    assert told(atom(address=address)) == []


@pytest.mark.parametrize("lacking", ["id", "title", "updated"])
@pytest.mark.parametrize("where", ["feed", "entry"])
def test_a_feed_without_one_of_its_parts_would_be_found_out(where, lacking):
    root = etree.fromstring(atom())
    holder = root if where == "feed" else root.find(f"{ATOM}entry")
    holder.remove(holder.find(f"{ATOM}{lacking}"))
    assert told(etree.tostring(root))


@pytest.mark.parametrize("address", ["", ADDRESS])
def test_a_feed_reader_takes_the_feed_without_complaint(address):
    read = feedparser.parse(atom(address=address))
    assert not read.bozo, read.get("bozo_exception")
    assert read.version == "atom10"
    assert read.feed.title == "Trials of a small house"
    assert [entry.title for entry in read.entries] == ["Wide spacing: 12 % more mint"] * 2
    assert (
        read.entries[0].summary
        == "Invented example. Wide spacing gave 12 % more leaf. It used as much water."
    )
    assert read.entries[0].updated_parsed[:3] == (2026, 3, 9)
    assert read.entries[0].tags[0].term == "mint"
    assert read.entries[0].rights == "CC-BY-4.0"


@pytest.mark.parametrize("address", ["", ADDRESS])
def test_an_entry_holds_the_whole_answer_as_html(address):
    (content,) = feedparser.parse(atom(address=address), sanitize_html=False).entries[0].content
    assert content.type == "text/html"
    root = lxml.html.fragment_fromstring(content.value, create_parent=True)
    said = " ".join(root.text_content().split())
    for words in (
        "Invented example",
        "Does wider spacing give more leaf?",
        "It used as much water.",
        "Narrow → Wide",
    ):
        assert words in said
    for words in (
        "50 → 56",
        "not comparable: +12 % (3 % to 22 % more)",
        "One lamp served all.",
        "4 trays each.",
    ):
        assert words in said
    assert next(root.iter("a")).get("href") == f"{address}/mint-spacing/index.html".removeprefix(
        "/"
    )


def test_the_feed_is_as_new_as_its_latest_harvest_while_results_are_the_first():
    read = feedparser.parse(atom())
    assert read.feed.updated == read.entries[0].published == "2026-03-09T00:00:00Z"


def test_an_entry_is_as_new_as_its_result():
    changed = report(changed_at="2026-05-01T10:00:00Z")
    read = feedparser.parse(atom(site(changed)))
    assert read.entries[0].updated == read.feed.updated == "2026-05-01T10:00:00Z"
    assert read.entries[0].published == "2026-03-09T00:00:00Z"


def test_every_entry_has_an_author_of_its_own_or_that_of_the_feed():
    # RFC 4287, 4.1.1: a feed has an author unless every entry has one.
    read = feedparser.parse(atom())
    assert read.feed.author == "Trials of a small house"
    assert read.entries[0].author == "Ada Example"
    assert etree.fromstring(atom()).findall(f"{ATOM}entry")[1].find(f"{ATOM}author") is None


def test_with_an_address_every_link_and_name_is_whole():
    read = feedparser.parse(atom(address=ADDRESS))
    links = {link.rel: link.href for link in read.feed.links}
    assert links == {"alternate": f"{ADDRESS}/index.html", "self": f"{ADDRESS}/feed.xml"}
    assert read.feed.id == f"{ADDRESS}/"
    assert [entry.id for entry in read.entries] == [
        f"{ADDRESS}/mint-spacing/index.html",
        f"{ADDRESS}/dill/index.html",
    ]
    assert [entry.link for entry in read.entries] == [entry.id for entry in read.entries]


def test_without_an_address_links_are_relative_and_names_are_uuids_of_their_own():
    root = etree.fromstring(atom())
    assert root.xpath("//*[local-name() = 'link']/@href") == [
        "index.html",
        "mint-spacing/index.html",
        "dill/index.html",
    ]
    names = [uuid.UUID(element.text) for element in root.iter(f"{ATOM}id")]
    assert len(set(names)) == 3
    assert {name.version for name in names} == {5}
    assert {name.variant for name in names} == {uuid.RFC_4122}


def test_a_name_outlives_a_change_of_words():
    def names(collection):
        return [element.text for element in etree.fromstring(atom(collection)).iter(f"{ATOM}id")]

    assert names(site(report())) == names(site(report(title="Mint and room", answer=("It does.",))))
    assert names(site(report()))[1] != names(site(report("dill")))[1]


@pytest.mark.parametrize("address", ["", ADDRESS])
def test_no_text_breaks_the_feed(address):
    collection = Site(
        HOSTILE, (report(headline=HOSTILE, crop=HOSTILE, lead=(HOSTILE,), trust=Trust()),)
    )
    files = feed.render(
        collection, {"mint-spacing": Dataset(author=HOSTILE, licence=HOSTILE)}, address=address
    )
    assert told(files["feed.xml"]) == []
    shown = HOSTILE.translate({0: None, 11: None})
    root = etree.fromstring(files["feed.xml"])
    assert {
        element.text for element in root.iter(f"{ATOM}title", f"{ATOM}summary", f"{ATOM}rights")
    } == {shown}


def test_the_sitemap_names_every_page_of_a_site_with_an_address():
    content = feed.render(site(report("dill-düngung")), {}, address=ADDRESS)["sitemap.xml"]
    assert told(content, SITEMAP) == []
    places = [element.text for element in etree.fromstring(content).iter("{*}loc")]
    # RFC 3986, 2.5: ü is %C3%BC in an address.
    assert places == [f"{ADDRESS}/index.html", f"{ADDRESS}/dill-d%C3%BCngung/index.html"]
    assert told(content.replace(b"https://example.org", b""), SITEMAP)


def test_the_sitemap_names_the_page_of_trials_together():
    pooled = dataclasses.replace(site(), sections=(Section("pooled", "Together", ()),))
    places = [
        one.text
        for one in etree.fromstring(feed.render(pooled, {}, address=ADDRESS)["sitemap.xml"]).iter(
            "{*}loc"
        )
    ]
    assert f"{ADDRESS}/pooled.html" in places


def test_a_site_without_an_address_has_no_sitemap():
    assert list(feed.render(site(), {})) == ["feed.xml"]


def test_a_site_without_reports_has_no_feed():
    assert feed.render(Site("Trials", ()), {}, address=ADDRESS) == {}


def test_the_same_site_gives_the_same_bytes():
    assert feed.render(site(), DATASETS, address=ADDRESS) == feed.render(
        site(), DATASETS, address=ADDRESS
    )
