"""The package of recorded data: read and checked by a library that knows the standard and nothing
of this program.
"""

import csv
import dataclasses
import io
import json
from datetime import date, datetime, time
from pathlib import Path

import frictionless
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen import metrics, report
from reportgen.model.data import Dataset
from reportgen.render import data, package
from tests.test_samples import report_of
from tests.workbooks import put, trial, whole, write

SAMPLES = ("pak-choi-root-warmth.xlsx", "basil-day-length.xlsx", "tomate-cereza-luz-de-apoyo.xlsx")
# MIAPPE 1.2, "MIAPPE_Checklist_Data_Model", column Codename, as far as the names are used here.
CODENAMES = {
    *(
        "investigationTitle",
        "investigationDescription",
        "license",
        "biologicalMaterialId",
        "infraspecificName",
    ),
    *(
        "culturalPractice",
        "personName",
        "contactInst",
        "siteName",
        "studyStartDate",
        "studyEndDate",
        "obsUnitType",
    ),
    *("expeDesignDesc", "expeFactorValues", "expeFactorDesc", "obsUnitId", "obsUnitFactorValue"),
    *("spatialDistribution", "eventType", "eventDate", "eventDesc", "variableId"),
}


def composed(path):
    made = trial(path)
    return report.compose(made, metrics.compute(made))


def packed(document, dataset=None, **more):
    """Return the files of recorded data with their package."""
    recorded = data.render(document, {})
    return recorded | package.render(document, dataset or Dataset(), recorded, **more)


def laid(found, folder, change=lambda descriptor: None):
    """Write files to a folder, the package changed, and return the path of the package."""
    for name, content in found.items():
        (folder / Path(name).name).write_bytes(content)
    path = folder / "datapackage.json"
    descriptor = json.loads(path.read_text("utf-8"))
    change(descriptor)
    path.write_text(json.dumps(descriptor), "utf-8")
    return str(path)


def without_digests(descriptor):
    for resource in descriptor["resources"]:
        del resource["bytes"], resource["hash"]


def errors(path):
    """Return what frictionless, the reference reader of the standard, says of a package and its
    rows.
    """
    return frictionless.validate(path).flatten(["type", "message"])


def descriptor_of(found):
    return next(
        json.loads(content) for name, content in found.items() if name.endswith("datapackage.json")
    )


def schema_of(found, name):
    return next(each for each in descriptor_of(found)["resources"] if each["name"] == name)[
        "schema"
    ]


def field_of(found, table, name):
    return next(field for field in schema_of(found, table)["fields"] if field["name"] == name)


@pytest.fixture(scope="module")
def document(tmp_path_factory):
    return composed(write(whole(), tmp_path_factory.mktemp("whole") / "trial.xlsx"))


@pytest.fixture(scope="module")
def found(document):
    return packed(document)


def test_a_workbook_with_every_sheet_gives_a_valid_package_and_valid_rows(found, tmp_path):
    assert errors(laid(found, tmp_path)) == []
    assert (
        len(frictionless.Package(str(tmp_path / "datapackage.json")).resources) == 14
    )  # all but Loads, which is empty


@pytest.mark.parametrize("name", SAMPLES)
def test_each_sample_gives_a_valid_package_and_valid_rows(name, tmp_path):
    assert errors(laid(packed(report_of(name)), tmp_path)) == []


BROKEN = [
    ("plants.csv", b"A1,1,22.0,", b"A1,1,heavy,", "type-error"),
    ("plants.csv", b"A1,1,22.0,", b"A1,1,-22.0,", "constraint-error"),
    ("plants.csv", b"A1,1,22.0,", b"A1,2,22.0,", "primary-key"),
    ("plants.csv", b"A1,1,22.0,", b"Z9,1,22.0,", "foreign-key"),
    ("plants.csv", b"Fresh weight (g)", b"Fresh weight (kg)", "incorrect-label"),
    ("plants.csv", b"A1,1,22.0,", b"A1,,22.0,", "constraint-error"),
    ("solution.csv", b",fill,", b",flood,", "constraint-error"),
    ("solution.csv", b"2026-04-01", b"1 April 26", "type-error"),
    ("meter.csv", b"2026-04-01 09:00", b"2026-04-01T09h00", "type-error"),
    ("meter.csv", b"m-half,half,", b"m-half,third,", "constraint-error"),
    ("tariff.csv", b"06:00:00", b"6 o'clock", "type-error"),
    ("instruments.csv", b",yes", b",maybe", "type-error"),
    ("trays.csv", b"A1,half,1,4", b"A1,half,1,4.5", "type-error"),
]


@pytest.mark.parametrize("broken", BROKEN)
def test_a_broken_file_is_told_by_its_package(found, tmp_path, broken):
    name, right, wrong, kind = broken
    content = found[f"trial/data/{name}"]
    assert right in content
    path = laid(
        found | {f"trial/data/{name}": content.replace(right, wrong, 1)}, tmp_path, without_digests
    )
    assert kind in [error for error, _ in errors(path)]


def test_a_file_that_was_changed_in_any_way_no_longer_has_the_digest_of_its_package(
    found, tmp_path
):
    changed = found["trial/data/plants.csv"].replace(b"22.0", b"23.0", 1)
    told = errors(laid(found | {"trial/data/plants.csv": changed}, tmp_path))
    assert [kind for kind, _ in told] == ["hash-count"]


def test_every_field_is_called_exactly_as_its_column_in_the_file(found):
    for resource in descriptor_of(found)["resources"]:
        header = next(csv.reader(io.StringIO(found[f"trial/data/{resource['path']}"].decode())))
        assert [field["name"] for field in resource["schema"]["fields"]] == header


def test_values_come_back_with_their_types(found, tmp_path):
    laid(found, tmp_path)
    opened = frictionless.Package(str(tmp_path / "datapackage.json"))
    first = {
        name: opened.get_resource(name).read_rows()[0]
        for name in ("plants", "meter", "tariff", "trial")
    }
    assert (first["plants"]["Fresh weight (g)"], first["plants"]["Plant"]) == (22, "1")
    assert first["meter"]["Read at"] == datetime(2026, 4, 1, 9)
    assert (first["tariff"]["From"], first["tariff"]["To"]) == (time(6), time(22))
    assert first["trial"]["Started on"] == date(2026, 4, 1)
    flags = [row["Per treatment"] for row in opened.get_resource("instruments").read_rows()]
    assert flags == [False, True]


def test_moments_with_seconds_are_all_written_to_the_second(tmp_path):
    sheets = put(whole(), Climate_B2=datetime(2026, 4, 2, 0, 0, 30))
    made = packed(composed(write(sheets, tmp_path / "trial.xlsx")))
    assert field_of(made, "climate", "Read at")["format"] == "%Y-%m-%d %H:%M:%S"
    rows = list(csv.reader(io.StringIO(made["trial/data/climate.csv"].decode())))
    assert [row[1] for row in rows[1:3]] == ["2026-04-02 00:00:30", "2026-04-02 12:00:00"]
    assert errors(laid(made, tmp_path)) == []


def test_the_midnight_that_ends_a_day_is_a_time_that_the_standard_knows(tmp_path):
    sheets = whole() | {
        "Tariff": [
            ["From", "To", "Price per kWh"],
            ["00:00", "07:00", 0.2],
            ["07:00", "24:00", 0.3],
        ]
    }
    made = packed(composed(write(sheets, tmp_path / "trial.xlsx")))
    assert made["trial/data/tariff.csv"].decode().splitlines()[2] == "07:00:00,00:00:00,0.3"
    assert errors(laid(made, tmp_path)) == []


def test_a_field_says_what_the_declaration_says_of_its_column(found):
    assert field_of(found, "plants", "Fresh weight (g)") == {
        "name": "Fresh weight (g)",
        "type": "number",
        "description": (
            "Weight at harvest, 0 where a plant that lives gave nothing; blank for a plant that was"
            " lost, and everywhere in a trial that weighs nothing fresh."
        ),
        "unit": "g",
        "constraints": {"minimum": 0, "maximum": 1e6},
        "miappe": "variableId",
    }
    assert field_of(found, "trays", "Plants started")["constraints"] == {
        "minimum": 0,
        "maximum": 100_000,
    }
    assert (
        field_of(found, "growth", "Canopy cover (%)")["description"]
        == "A measurement of the grower's own."
    )


def test_rows_are_told_apart_by_a_primary_key_only_where_no_part_of_it_can_be_blank(found):
    # Data Package 2.0, Table Schema, "primaryKey": the fields of a primary key are never missing.
    assert schema_of(found, "plants")["primaryKey"] == ["Tray", "Plant"]
    assert schema_of(found, "growth")["uniqueKeys"] == [["Tray", "Plant", "Date"]]
    assert "primaryKey" not in schema_of(found, "growth")
    assert not {"primaryKey", "uniqueKeys"} & set(schema_of(found, "solution"))


def test_codes_refer_to_their_sheet_unless_a_word_may_stand_for_all_of_them(found):
    trays = {"fields": ["Tray"], "reference": {"resource": "trays", "fields": ["Tray"]}}
    assert schema_of(found, "plants")["foreignKeys"] == [trays]
    assert "foreignKeys" not in schema_of(found, "meter")
    assert field_of(found, "meter", "Treatment")["constraints"]["enum"] == ["half", "full", "all"]


def test_codes_that_begin_like_formulas_are_found_again_on_every_sheet(tmp_path):
    def as_text(book):
        for cell in (cell for sheet in book for row in sheet.iter_rows() for cell in row):
            cell.data_type = "s" if cell.data_type == "f" else cell.data_type

    codes = {"full": "=full", "B1": "+B1", "A1": "'=A1"}
    sheets = {
        name: [[codes.get(cell, cell) for cell in row] for row in rows]
        for name, rows in whole().items()
    }
    made = packed(composed(write(sheets, tmp_path / "trial.xlsx", as_text)))
    assert made["trial/data/treatments.csv"].decode().splitlines()[2].startswith("'=full,")
    assert errors(laid(made, tmp_path)) == []


@given(st.text() | st.text(alphabet="'=+ a"))
def test_the_apostrophe_before_a_text_can_be_taken_off_again(text):
    written = data.harmless(text)
    ours = written.startswith("'") and data.harmless(written.lstrip("'")) != written.lstrip("'")
    assert (written[1:] if ours else written) == text
    assert not data.harmless(text).lstrip(" \u00a0").startswith(data.FORMULA_BEGINS)


def test_the_package_says_how_its_files_are_written(found):
    said = descriptor_of(found)["description"]
    for words in (
        "An apostrophe stands before a text",
        "in the unit that stands in the header",
        "midnight",
    ):
        assert words in said


def test_the_package_says_whose_the_data_are(document):
    dataset = Dataset(
        author="Ada Example",
        organisation="Example Growers",
        licence="cc by 4.0",
        keywords=("coriander", "EC"),
        source_sha256="ab" * 32,
    )
    made = descriptor_of(packed(document, dataset, address="https://example.org/trials"))
    assert made["$schema"] == "https://datapackage.org/profiles/2.0/datapackage.json"
    assert made["contributors"] == [
        {"title": "Ada Example", "roles": ["DataCollector"], "organization": "Example Growers"}
    ]
    assert made["licenses"] == [
        {"name": "CC-BY-4.0", "path": "https://spdx.org/licenses/CC-BY-4.0.html"}
    ]
    assert made["keywords"] == ["coriander", "EC"]
    assert made["created"] == "2026-05-06T00:00:00Z"
    assert made["homepage"] == "https://example.org/trials/trial/index.html"
    assert made["sources"][0]["version"] == f"sha256:{'ab' * 32}"


def test_a_licence_in_words_is_said_in_words(document, tmp_path):
    made = packed(document, Dataset(licence="Ask before you print it"))
    assert "licenses" not in descriptor_of(made)
    assert "Licence: Ask before you print it" in descriptor_of(made)["description"]
    assert errors(laid(made, tmp_path)) == []


def test_an_organisation_alone_stands_for_those_who_worked_for_it(document):
    made = descriptor_of(packed(document, Dataset(organisation="Example Growers")))
    assert made["contributors"] == [{"title": "Example Growers"}]


def test_what_was_not_given_is_left_out(found):
    assert not {"contributors", "licenses", "keywords", "homepage", "sources"} & set(
        descriptor_of(found)
    )


def test_names_of_miappe_stand_where_one_fits(found):
    used = {
        (resource["name"], field["name"]): field["miappe"]
        for resource in descriptor_of(found)["resources"]
        for field in resource["schema"]["fields"]
        if "miappe" in field
    }
    assert set(package.MIAPPE.values()) | set(used.values()) <= CODENAMES
    assert used["trays", "Tray"] == "obsUnitId"
    assert used["trial", "Started on"] == "studyStartDate"
    assert used["light", "PPFD (µmol/m2/s)"] == used["growth", "Height (cm)"] == "variableId"
    assert ("light", "X (cm)") not in used


def test_the_same_report_gives_the_same_bytes(document, found):
    assert packed(document) == found


def test_a_report_without_data_has_no_package(document):
    assert packed(dataclasses.replace(document, data=())) == {}
