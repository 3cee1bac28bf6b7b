"""Describe the files of recorded data as a Data Package (version 2.0), one resource a file."""

import json
from collections.abc import Iterator, Mapping
from hashlib import sha256
from typing import Any, Final

from reportgen.model.data import DataColumn, Dataset, DataTable
from reportgen.model.document import Report
from reportgen.render import linked
from reportgen.render.data import harmless, heading, moment_format

PROFILE: Final = "https://datapackage.org/profiles/2.0/datapackage.json"
WRITTEN: Final = (
    "How the files are written: numbers are in the unit that stands in the header; dates are by ISO"
    " 8601, times are the trial's local ones; a blank stands for what was not recorded; a time of"
    " 00:00:00 where something ends is the midnight that ends the day. Prices and costs are in the"
    " trial's currency. An apostrophe stands before a text that a spreadsheet would take for a"
    " formula, as one that begins with =, +, - or @: without it the text is as it was recorded."
)
# Names of the fields of MIAPPE 1.2 (Minimum Information About a Plant Phenotyping Experiment),
# where one fits.
MIAPPE_VERSION: Final = "1.2"
MIAPPE: Final = {
    ("Trial", "Title"): "investigationTitle",
    ("Trial", "Question"): "investigationDescription",
    ("Trial", "Licence"): "license",
    ("Trial", "Crop"): "biologicalMaterialId",
    ("Trial", "Cultivar"): "infraspecificName",
    ("Trial", "Growing system"): "culturalPractice",
    ("Trial", "Author"): "personName",
    ("Trial", "Organisation"): "contactInst",
    ("Trial", "Location"): "siteName",
    ("Trial", "Started on"): "studyStartDate",
    ("Trial", "Harvested on"): "studyEndDate",
    ("Trial", "Experimental unit"): "obsUnitType",
    ("Trial", "Layout"): "expeDesignDesc",
    ("Treatments", "Treatment"): "expeFactorValues",
    ("Treatments", "Description"): "expeFactorDesc",
    ("Trays", "Tray"): "obsUnitId",
    ("Trays", "Treatment"): "obsUnitFactorValue",
    ("Trays", "Block"): "spatialDistribution",
    ("Trays", "Position"): "spatialDistribution",
    ("Plants", "Plant"): "obsUnitId",
    ("Harvests", "Plant"): "obsUnitId",
    ("Harvests", "Date"): "eventDate",
    ("Solution", "Event"): "eventType",
    ("Solution", "Date"): "eventDate",
    ("Observations", "Date"): "eventDate",
    ("Observations", "Observation"): "eventDesc",
    ("Light", "PPFD"): "variableId",
}
NUMBERS: Final = ("number", "integer")
OF_VARIABLES: Final = (
    "Plants",
    "Growth",
    "Harvests",
    "Solution",
    "Meter",
    "Climate",
)  # their numbers are observed variables

Entry = dict[str, Any]


def render(
    report: Report, dataset: Dataset, recorded: Mapping[str, bytes], *, address: str = ""
) -> dict[str, bytes]:
    """Return datapackage.json, which stands beside the files of recorded data; nothing where there
    are none.

    `recorded` holds these files as `data.render` gave them; their sizes and digests go into the
    package. `address` is the site's, without a slash at its end.
    """
    if not report.data:
        return {}
    folder = f"{report.slug}/data"
    resources = [
        _resource(table, report, recorded[f"{folder}/{table.file_name}"]) for table in report.data
    ]
    text = json.dumps(
        _package(report, dataset, resources, address), ensure_ascii=False, indent=1, allow_nan=False
    )
    return {f"{folder}/datapackage.json": f"{text}\n".encode()}


def _package(report: Report, dataset: Dataset, resources: list[Entry], address: str) -> Entry:
    """Return the package's descriptor.

    It was created on the day of harvest, when the last of it was recorded.
    """
    return _known(
        {
            "$schema": PROFILE,
            "name": report.slug,
            "title": report.title,
            "description": "\n\n".join(_description(report, dataset)),
            "homepage": linked.address_of(report, address),
            "created": f"{report.harvested_on}T00:00:00Z" if report.harvested_on else "",
            "keywords": list(dataset.keywords),
            "contributors": _contributors(dataset),
            "licenses": _licences(dataset),
            "sources": _sources(dataset),
            "miappeVersion": MIAPPE_VERSION,
            "resources": resources,
        }
    )


def _known(entry: Entry) -> Entry:
    """Return an entry without what was not given: the standard has no empty texts or lists."""
    return {key: value for key, value in entry.items() if value not in ("", [], {})}


def _description(report: Report, dataset: Dataset) -> Iterator[str]:
    yield linked.description(report, dataset)
    yield WRITTEN
    if dataset.licence and not linked.licence(dataset.licence):
        yield f"Licence: {dataset.licence}"


def _contributors(dataset: Dataset) -> list[Entry]:
    """Return who ran the trial, by DataCite's word for it; else for whom it was run."""
    if dataset.author:
        person = {
            "title": dataset.author,
            "roles": ["DataCollector"],
            "organization": dataset.organisation,
        }
        return [_known(person)]
    if dataset.organisation:
        return [{"title": dataset.organisation}]
    return []


def _licences(dataset: Dataset) -> list[Entry]:
    known = linked.licence(dataset.licence)
    if known:
        return [{"name": known.identifier, "path": known.address}]
    return []


def _sources(dataset: Dataset) -> list[Entry]:
    workbook = {"title": "The workbook of the trial", "version": f"sha256:{dataset.source_sha256}"}
    if dataset.source_sha256:
        return [workbook]
    return []


def _resource(table: DataTable, report: Report, content: bytes) -> Entry:
    return {
        "name": table.name.casefold(),
        "path": table.file_name,
        "type": "table",
        "title": table.name,
        "description": table.description,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": len(content),
        "hash": f"sha256:{sha256(content).hexdigest()}",
        "schema": _schema(table, report),
    }


def _schema(table: DataTable, report: Report) -> Entry:
    """Return the Table Schema of a file."""
    fields = [_field(table, column, report) for column in table.columns]
    return (
        {"fields": fields, "missingValues": [""]}
        | _key(table)
        | _known({"foreignKeys": _foreign_keys(table, report)})
    )


def _field(table: DataTable, column: DataColumn, report: Report) -> Entry:
    if column.type == "boolean":
        truth = {"trueValues": ["yes"], "falseValues": ["no"]}
    else:
        truth = {}
    observed = table.name in OF_VARIABLES and column.type in NUMBERS
    field = {
        "name": heading(column),
        "type": column.type,
        "format": moment_format(column) if column.type == "datetime" else "",
        **truth,
        "description": column.description,
        "unit": column.unit,
        "constraints": _constraints(column, report),
        "miappe": MIAPPE.get((table.name, column.name), "variableId" if observed else ""),
    }
    return _known(field)


def _constraints(column: DataColumn, report: Report) -> Entry:
    required: Entry = {"required": True} if column.required else {}
    choices = _choices(column, report)
    return required | _bounds(column) | ({"enum": choices} if choices else {})


def _bounds(column: DataColumn) -> Entry:
    """Return what a number can be; the bounds of an amount with its unit behind it, which is text,
    cannot be said.
    """
    if column.type not in NUMBERS:
        return {}
    bounds = {
        "minimum": column.at_least,
        "exclusiveMinimum": column.above,
        "maximum": column.at_most,
    }
    as_type = int if column.type == "integer" else float
    return {name: as_type(bound) for name, bound in bounds.items() if bound is not None}


def _choices(column: DataColumn, report: Report) -> list[str]:
    """Return the words of a column; where some stand in place of a code, the codes too, as no
    foreign key says that.
    """
    if column.also:
        codes = _codes(column.refers, report)
    else:
        codes = ()
    return [*map(harmless, codes), *map(harmless, column.choices), *column.also]


def _codes(table: str, report: Report) -> tuple[str, ...]:
    """Return the codes in the key of a table, none where the report has no such table."""
    codes: list[str] = []
    for data in report.data:
        if data.name == table:
            for column in data.columns:
                if column.name in data.key:
                    codes += [value for value in column.values if isinstance(value, str)]
    return tuple(codes)


def _key(table: DataTable) -> Entry:
    """Return the columns that tell rows apart: a primary key, or unique ones where some of them may
    be blank.
    """
    columns = [column for column in table.columns if column.name in table.key]
    if not columns or len(columns) < len(table.key):
        return {}
    names = list(map(heading, columns))
    if all(column.required for column in columns):
        return {"primaryKey": names}
    return {"uniqueKeys": [names]}


def _foreign_keys(table: DataTable, report: Report) -> list[Entry]:
    tables = {data.name: data for data in report.data}
    keys: list[Entry] = []
    for column in table.columns:
        if column.refers in tables and not column.also:
            fields = list(tables[column.refers].key)
            reference = {"resource": column.refers.casefold(), "fields": fields}
            keys.append({"fields": [heading(column)], "reference": reference})
    return keys
