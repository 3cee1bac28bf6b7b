"""How a report is cited, described in its page's head and shown in link previews: checked by
published vocabularies.
"""

import dataclasses
import json
from importlib.resources import files

import check_jsonschema
import lxml.html
import pytest
import yaml
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from msgspec_schemaorg.models.creativework.DataDownload import DataDownload
from msgspec_schemaorg.models.creativework.Dataset import Dataset as SchemaDataset
from msgspec_schemaorg.models.intangible.PropertyValue import PropertyValue
from packaging.licenses import canonicalize_license_expression

from reportgen.model.data import DataColumn, Dataset, DataTable
from reportgen.model.document import Facts, Report
from reportgen.render import citation, linked

ADDRESS = "https://example.org/trials"
PAGE = f"{ADDRESS}/mint-spacing/index.html"
HOSTILE = "</script><script>alert(1)</script><!-- & \" ' \u2028\u2029\x85 #: {a: b} - * \U0001f331"
FULL = Dataset(
    author="Ada Example",
    organisation="Example Growers",
    location="Loft, Exampleton",
    licence="CC BY 4.0",
    keywords=("mint", "spacing"),
    started_on="2026-02-02",
    measured=(("Fresh weight", "g/plant"), ("pH of the solution", "")),
    instruments=("weight: kitchen scale",),
)


def report(**changes):
    """Return an invented trial of the spacing of mint."""
    plain = Report(
        slug="mint-spacing",
        language="en",
        title="Does mint want more room?",
        crop="mint",
        question="Does wider spacing give more leaf?",
        answer=("Wide spacing gave 12% more leaf.",),
        byline="Ada Example",
        facts=Facts(()),
        disclosure="None stated",
        description="Wide spacing gave 12% more leaf.",
        harvested_on="2026-03-09",
        sections=(),
        results="{}",
        colophon="",
        data=(DataTable("Plants", (DataColumn("Tray", "", ("A1",)),)),),
    )
    return dataclasses.replace(plain, **changes)


def cff(made=None, dataset=FULL, address=""):
    return citation.render(made or report(), dataset, address=address)["mint-spacing/CITATION.cff"]


def accepted(content, folder):
    """Return whether the published JSON schema of CFF 1.2.0 takes a file."""
    path = folder / "CITATION.cff"
    path.write_bytes(content)
    words = ["--builtin-schema", "vendor.citation-file-format", str(path)]
    return CliRunner().invoke(check_jsonschema.main, words).exit_code == 0


def licences_of_cff():
    folder = files("check_jsonschema") / "builtin_schemas" / "vendor"
    schema = json.loads((folder / "citation-file-format.json").read_text("utf-8"))
    return set(schema["definitions"]["license-enum"]["enum"])


@pytest.mark.parametrize("address", ["", ADDRESS])
@pytest.mark.parametrize(
    "dataset", [FULL, Dataset(), Dataset(licence="CC-BY-3.0-DE"), Dataset(licence="ask me")]
)
def test_the_citation_file_is_valid(tmp_path, dataset, address):
    assert accepted(cff(dataset=dataset, address=address), tmp_path)


def test_a_citation_file_without_authors_or_with_another_licence_would_be_found_out(tmp_path):
    assert not accepted(cff().replace(b"authors:", b"writers:"), tmp_path)
    assert not accepted(cff().replace(b"CC-BY-4.0", b"CC-BY-9.0"), tmp_path)


def test_the_citation_file_says_who_what_and_when():
    read = yaml.safe_load(cff(address=ADDRESS))
    assert read["authors"] == [{"name": "Ada Example"}, {"name": "Example Growers"}]
    assert (read["title"], read["type"], read["license"]) == (
        "Does mint want more room?",
        "dataset",
        "CC-BY-4.0",
    )
    assert read["date-released"] == "2026-03-09"
    assert read["url"] == PAGE
    assert read["keywords"] == ["mint", "spacing"]


def test_no_text_breaks_the_citation_file(tmp_path):
    hostile = Dataset(author=HOSTILE, organisation=HOSTILE, licence=HOSTILE, keywords=(HOSTILE,))
    content = cff(report(title=HOSTILE, description=HOSTILE), hostile)
    assert accepted(content, tmp_path)
    read = yaml.safe_load(content)
    assert [read["title"], read["abstract"], read["keywords"][0], read["authors"][0]["name"]] == [
        HOSTILE
    ] * 4


def test_a_trial_whose_author_is_not_known_is_cited_as_anonymous():
    assert yaml.safe_load(cff(dataset=Dataset()))["authors"] == [{"name": "anonymous"}]


def test_what_is_said_twice_is_cited_once(tmp_path):
    content = cff(
        dataset=Dataset(
            author="Example Growers", organisation="Example Growers", keywords=("mint", "mint")
        )
    )
    assert accepted(content, tmp_path)
    assert yaml.safe_load(content)["authors"] == [{"name": "Example Growers"}]


def test_every_licence_that_is_named_in_the_citation_file_is_on_the_list_of_its_schema():
    parts = ("", "-NC", "-ND", "-SA", "-NC-ND", "-NC-SA")
    typed = [
        f"CC-BY{part}-{version}"
        for part in parts
        for version in ("1.0", "2.0", "2.5", "3.0", "4.0")
    ]
    typed += ["CC0-1.0", "ODbL-1.0", "ODC-By-1.0", "PDDL-1.0"]
    for one in typed:
        assert citation.IN_CFF.fullmatch(canonicalize_license_expression(one))
        assert one in licences_of_cff()


@pytest.mark.parametrize(
    ("typed", "identifier"),
    [
        ("CC-BY-4.0", "CC-BY-4.0"),
        ("cc by 4.0", "CC-BY-4.0"),
        (" cc0-1.0 ", "CC0-1.0"),
        ("mit", "MIT"),
    ],
)
def test_a_licence_of_the_spdx_list_has_the_address_of_its_text(typed, identifier):
    # SPDX License List: each licence has a page https://spdx.org/licenses/ID.html.
    assert linked.licence(typed) == linked.Licence(
        identifier, f"https://spdx.org/licenses/{identifier}.html"
    )


@pytest.mark.parametrize(
    "typed", ["", "all rights reserved", "MIT OR CC0-1.0", "LicenseRef-mine", "MIT+", "()", "CC"]
)
def test_words_that_name_no_single_licence_of_the_list_stay_words(typed):
    assert linked.licence(typed) is None


@given(st.text())
def test_any_text_can_be_asked_whether_it_names_a_licence(typed):
    found = linked.licence(typed)
    assert found is None or found.identifier.casefold() == "-".join(typed.split()).casefold()


def test_the_line_of_citation_says_who_what_when_and_where():
    said = "Ada Example. Does mint want more room? (2026). Example Growers. Trial report."
    assert citation.text(report(), FULL) == said
    assert citation.text(report(), FULL, address=ADDRESS) == f"{said} {PAGE}"
    assert (
        citation.text(report(harvested_on=""), Dataset())
        == "Does mint want more room? Trial report."
    )


def described(dataset=FULL, made=None, pdf=True, address=ADDRESS):
    return linked.described(made or report(), dataset, pdf=pdf, address=address)


def unknown(found, kind):
    """Return the properties that schema.org's vocabulary does not know of a type."""
    known = {*kind.__struct_encode_fields__, "@type", "@context", "@id"}
    return set(found) - known


def test_every_property_is_one_of_schema_org():
    found = described()
    assert unknown(found, SchemaDataset) == set()
    assert [unknown(one, DataDownload) for one in found["distribution"]] == [set()] * 3
    assert [unknown(one, PropertyValue) for one in found["variableMeasured"]] == [set()] * 2
    assert unknown({"licence": ""}, SchemaDataset) == {"licence"}


def test_the_page_describes_the_data():
    found = described()
    assert found["name"] == "Does mint want more room?"
    assert found["license"] == "https://spdx.org/licenses/CC-BY-4.0.html"
    assert [one["name"] for one in found["creator"]] == ["Ada Example", "Example Growers"]
    assert found["temporalCoverage"] == "2026-02-02/2026-03-09"  # ISO 8601, an interval
    assert found["spatialCoverage"] == {"@type": "Place", "name": "Loft, Exampleton"}
    assert found["variableMeasured"] == [
        {"@type": "PropertyValue", "name": "Fresh weight", "unitText": "g/plant"},
        {"@type": "PropertyValue", "name": "pH of the solution"},
    ]
    assert found["measurementTechnique"] == ["weight: kitchen scale"]
    assert found["isAccessibleForFree"] is True


@given(st.text(), st.text(), st.sampled_from(["", "2026-02-02"]))
def test_the_description_has_50_to_5000_characters_whatever_the_report_says(
    crop, words, started_on
):
    # The bounds that search engines set for a Dataset's description.
    made = report(crop=crop[:40], description=words * 3000)
    assert 50 <= len(linked.description(made, Dataset(started_on=started_on))) <= 5000


def test_a_long_description_is_cut_between_words():
    cut = linked.description(report(description="leaf " * 2000), FULL)
    assert 4990 <= len(cut) <= 5000
    assert cut.endswith("leaf…")


def test_files_have_addresses_where_the_site_has_one():
    folder = f"{ADDRESS}/mint-spacing"
    assert [one["contentUrl"] for one in described()["distribution"]] == [
        f"{folder}/data/plants.csv",
        f"{folder}/results.json",
        f"{folder}/report.pdf",
    ]
    without = described(pdf=False, address="")
    assert [one["name"] for one in without["distribution"]] == ["plants.csv", "results.json"]
    assert ADDRESS not in json.dumps(without)
    assert not {"url", "@id"} & set(without)
    assert not [one for one in without["distribution"] if "contentUrl" in one]


def test_what_is_not_known_is_not_described():
    found = described(Dataset(licence="Ask before you print it"))
    assert found["license"] == "Ask before you print it"
    assert not {
        "creator",
        "keywords",
        "temporalCoverage",
        "spatialCoverage",
        "variableMeasured",
    } & set(found)


def test_no_text_ends_the_block_of_data_in_a_page():
    dataset = Dataset(author=HOSTILE, location=HOSTILE, licence=HOSTILE, keywords=(HOSTILE,))
    made = report(title=HOSTILE, description=HOSTILE)
    text = linked.script(made, dataset, pdf=True)
    assert not set(text) & set("<>&'\u2028\u2029")
    page = lxml.html.fromstring(
        f'<html><head><script type="application/ld+json">{text}</script></head></html>'
    )
    (block,) = page.xpath("//script")
    assert json.loads(block.text)["name"] == HOSTILE
    assert json.loads(block.text)["creator"][0]["name"] == HOSTILE


def test_a_preview_shows_a_picture_only_where_it_has_a_whole_address():
    shown = dict(linked.preview(report(), address=ADDRESS, card="figures/card.png"))
    # The four properties that ogp.me asks of every page.
    assert set(shown) > {"og:title", "og:type", "og:image", "og:url"}
    assert shown["og:image"] == f"{ADDRESS}/mint-spacing/figures/card.png"
    assert (shown["og:image:width"], shown["og:image:height"]) == ("1200", "630")
    assert shown["twitter:card"] == "summary_large_image"
    for pairs in (
        linked.preview(report(), card="figures/card.png"),
        linked.preview(report(), address=ADDRESS),
    ):
        assert not [name for name, _ in pairs if name.startswith("og:image")]
        assert dict(pairs)["twitter:card"] == "summary"


def test_the_same_report_gives_the_same_text():
    assert cff() == cff()
    assert linked.script(report(), FULL, pdf=True) == linked.script(report(), FULL, pdf=True)
