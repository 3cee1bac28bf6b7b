"""The preview's own pages: what is wrong, what is not there, what is still being built."""

from pathlib import Path
from typing import Final

from reportgen import language
from reportgen.language import marked, say
from reportgen.preview.status import Failure, LastBuild
from reportgen.render import templates

LAST_GOOD: Final = "last-good"  # the query that asks for a page in spite of its workbook's errors
WORKBOOK_ERRORS: Final = (
    marked("Not built: a workbook has errors"),
    marked(
        "What an earlier build made of it is kept. This page goes when the workbook is saved"
        " without the errors."
    ),
)
WAITING: Final = (
    marked("There is nothing to show yet"),
    marked("The report shows itself once the workbook is saved with what is named here."),
)
SITE_ERRORS: Final = (
    marked("The site is not built"),
    marked("What an earlier build made is kept. This page goes when what stands here is mended."),
)

Link = tuple[str, str]  # text, address


def failures_page(
    failures: tuple[Failure, ...], build: LastBuild, root: Path, has_earlier: bool
) -> str:
    """Return the page that lists problems, with a link to the page as it was last built where
    `has_earlier`.
    """
    of_workbooks = any(failure.slug for failure in failures)
    heading, lead = WORKBOOK_ERRORS if of_workbooks else SITE_ERRORS
    if all(failure.waits for failure in failures):
        heading, lead = WAITING
    links = _links(root, build)
    if has_earlier:
        links = [(say("The page as it was last built"), f"?{LAST_GOOD}"), *links]
    return _page(say(heading), say(lead), build, failures, links)


def building_page(build: LastBuild) -> str:
    """Return the page that is shown until the first build is done."""
    return _page(
        say("The site is being built"), say("The page shows itself when it is done."), build
    )


def missing_page(build: LastBuild, root: Path) -> str:
    """Return the page for an address that no report has."""
    lead = say("Its workbook may have been renamed.")
    return _page(say("There is no such page"), lead, build, links=_links(root, build))


def _links(root: Path, build: LastBuild) -> list[Link]:
    """Return the list of trials and the reports that are there."""
    failed = {failure.slug for failure in build.failures}
    links = []
    if (root / "index.html").is_file():
        links.append((say("All trials"), f"/?{LAST_GOOD}"))
    for name in sorted(page.parent.name for page in root.glob("*/index.html")):
        if name in failed:
            query = f"?{LAST_GOOD}"
        else:
            query = ""
        links.append((name, f"/{name}/{query}"))
    return links


def _page(
    heading: str,
    lead: str,
    build: LastBuild,
    failures: tuple[Failure, ...] = (),
    links: list[Link] | None = None,
) -> str:
    return templates.fill(
        "preview/problems.html",
        heading=heading,
        lead=lead,
        build=build.name,
        failures=failures,
        links=links or [],
        language=language.current().tag,
    )
