"""The fields of `datapackage.json` that reports have: those of Data Package 2.0 that are used, and
how units and terms of MIAPPE are added to them.
"""

from typing import Literal, NotRequired

from typing_extensions import TypedDict


class Constraints(TypedDict):
    """What the values of a field can be."""

    required: NotRequired[bool]
    """Whether every row has a value."""
    minimum: NotRequired[float]
    """The smallest value that is possible."""
    exclusiveMinimum: NotRequired[float]
    """What every value is above."""
    maximum: NotRequired[float]
    """The largest value that is possible."""
    enum: NotRequired[list[str]]
    """The words that a value can be."""


class FieldEntry(TypedDict):
    """A column of a file."""

    name: str
    """Its header: name and unit."""
    type: Literal["string", "number", "integer", "boolean", "date", "datetime", "time"]
    """The kind of its values."""
    format: NotRequired[str]
    """How moments are written, by strftime of C."""
    trueValues: NotRequired[list[str]]
    """The word that stands for true."""
    falseValues: NotRequired[list[str]]
    """The word that stands for false."""
    description: NotRequired[str]
    """What it holds."""
    unit: NotRequired[str]
    """The unit of its numbers."""
    constraints: NotRequired[Constraints]
    """What its values can be."""
    miappe: NotRequired[str]
    """The field of MIAPPE 1.2 that it is, where one fits."""


class Reference(TypedDict):
    """What a foreign key refers to."""

    resource: str
    """The name of the file's resource."""
    fields: list[str]
    """The columns of its key."""


class ForeignKey(TypedDict):
    """Columns whose values are keys of another file."""

    fields: list[str]
    """The columns."""
    reference: Reference
    """What they refer to."""


class TableSchema(TypedDict):
    """What is in a file."""

    fields: list[FieldEntry]
    """Its columns, in order."""
    missingValues: list[str]
    """What stands for no value."""
    primaryKey: NotRequired[list[str]]
    """The columns that tell its rows apart."""
    uniqueKeys: NotRequired[list[list[str]]]
    """The same, where some of these columns may be blank."""
    foreignKeys: NotRequired[list[ForeignKey]]
    """The columns that refer to other files."""


class Resource(TypedDict):
    """A file of recorded data: one sheet of the workbook."""

    name: str
    """Its name in small letters."""
    path: str
    """Its file name, beside the descriptor."""
    type: Literal["table"]
    """That it is a table."""
    title: str
    """The name of the sheet."""
    description: str
    """What a row is."""
    format: Literal["csv"]
    """Comma-separated values."""
    mediatype: Literal["text/csv"]
    """The same as a media type."""
    encoding: Literal["utf-8"]
    """How its letters are written."""
    bytes: int
    """Its size."""
    hash: str
    """Its SHA-256, after `sha256:`."""
    schema: TableSchema
    """What is in it."""


class Contributor(TypedDict):
    """Who ran the trial, or for whom it was run."""

    title: str
    """The name."""
    roles: NotRequired[list[str]]
    """What they did, in DataCite's words."""
    organization: NotRequired[str]
    """Where they belong."""


class Licence(TypedDict):
    """Under which terms the data may be used."""

    name: str
    """The identifier of SPDX."""
    path: str
    """Where its text lies."""


class Source(TypedDict):
    """What the data were taken from."""

    title: str
    """What it is."""
    version: str
    """The SHA-256 of its content, after `sha256:`."""


class DataPackage(TypedDict):
    """The recorded data of a trial, one file a sheet."""

    name: str
    """The name of the report's folder."""
    title: str
    """The title of the report."""
    description: str
    """What was measured, and how the files are written."""
    homepage: NotRequired[str]
    """The address of the report."""
    created: NotRequired[str]
    """The day of harvest, RFC 3339."""
    keywords: NotRequired[list[str]]
    """The keywords, as typed."""
    contributors: NotRequired[list[Contributor]]
    """Who ran the trial."""
    licenses: NotRequired[list[Licence]]
    """Under which terms the data may be used."""
    sources: NotRequired[list[Source]]
    """The workbook."""
    miappeVersion: str
    """The version of MIAPPE whose terms are used."""
    resources: list[Resource]
    """The files."""
