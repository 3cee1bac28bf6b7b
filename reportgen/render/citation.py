"""Say how a report is cited: in one line, and as CITATION.cff (Citation File Format 1.2.0)."""

import re
from typing import Final

from reportgen.language import say
from reportgen.model.data import Dataset
from reportgen.model.document import Report
from reportgen.render import linked

# The licences of texts and data that the list in the schema of CFF 1.2.0 has; SPDX added others to
# its own since.
IN_CFF: Final = re.compile(
    r"CC0-1\.0|CC-BY(-NC)?(-ND|-SA)?-[1-4]\.[05]|ODbL-1\.0|ODC-By-1\.0|PDDL-1\.0"
)
MESSAGE: Final = "Please cite the report when you use its data."
NO_AUTHOR: Final = "anonymous"


def render(report: Report, dataset: Dataset, *, address: str = "") -> dict[str, bytes]:
    """Return the report's CITATION.cff.

    Its date is the day of harvest, since no workbook tells when its report was published. An
    author's name stays whole: which part of it is the family name is not known. `address` is the
    site's, without a slash at its end.
    """
    import yaml

    cited = {
        "cff-version": "1.2.0",
        "message": MESSAGE,
        "type": "dataset",
        "title": report.title,
        "authors": _authors(dataset),
        "abstract": report.description,
        "keywords": list(dict.fromkeys(dataset.keywords)),
        "date-released": report.harvested_on,
        "url": linked.address_of(report, address),
        **_licence(dataset),
    }
    known = {key: value for key, value in cited.items() if value}
    text = yaml.safe_dump(known, allow_unicode=True, sort_keys=False, width=120)
    return {f"{report.slug}/CITATION.cff": text.encode()}


def text(report: Report, dataset: Dataset, *, address: str = "") -> str:
    """Return how the report is cited, in the current language: who, what, year of harvest, for
    whom, where.
    """
    author = dataset.author or dataset.organisation
    if report.harvested_on:
        held = f"{report.title} ({report.harvested_on[:4]})"
    else:
        held = report.title
    if dataset.author:
        by = dataset.organisation
    else:
        by = ""
    parts = (author, held, by, say("Trial report"))
    sentences = (part if part[-1] in ".?!" else f"{part}." for part in parts if part)
    return " ".join([*sentences, linked.address_of(report, address)]).strip()


def _authors(dataset: Dataset) -> list[dict[str, str]]:
    """Return who ran the trial and for whom, as entities: a name in one piece is no person of
    CFF's.
    """
    names = dict.fromkeys(name for name in (dataset.author, dataset.organisation) if name)
    return [{"name": name} for name in names or (NO_AUTHOR,)]


def _licence(dataset: Dataset) -> dict[str, str]:
    known = linked.licence(dataset.licence)
    if known is None:
        return {}
    listed = IN_CFF.fullmatch(known.identifier)
    if listed:
        return {"license": known.identifier}
    return {"license-url": known.address}
