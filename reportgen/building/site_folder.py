"""The folder of a site: show a report, or what the reports share, and overwrite nothing that no
build wrote.
"""

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Final

from reportgen import files
from reportgen.building import manifest, verify
from reportgen.building.manifest import Entry
from reportgen.language import say
from reportgen.model.problem import Problem, Severity, WorkbookError

PAGE: Final = "index.html"
RESULTS: Final = "results.json"
SHARED: Final = (
    PAGE,
    "feed.xml",
    manifest.NAME,
)  # what every site has, beside the folders of the reports
SHARED_FOLDERS: Final = ("assets", "figures")
OF_A_REPORT: Final = (PAGE, manifest.NAME)  # what every report has
NAMED: Final = 5  # files that a message names


def refuse_foreign(site: Path, reports: Iterable[str], force: bool) -> None:
    """Raise WorkbookError where a build into the site would overwrite pages that no build wrote, or
    follow a link.

    `reports` are the folders of the reports that are to be built. It is known before they are what
    they will surely overwrite; each is looked at as a whole when its files are known. Raises
    NotADirectoryError where a file is in the place of a folder.
    """
    folders = tuple(dict.fromkeys(reports))
    _refuse_links(site, (*SHARED, *SHARED_FOLDERS, *folders))
    for folder in (*SHARED_FOLDERS, *folders):
        files.require_folder(site / folder)
    if force:
        return
    found = list(verify.in_the_way(site, "", dict.fromkeys(SHARED)))
    for folder in folders:
        found += verify.in_the_way(site, folder, dict.fromkeys(OF_A_REPORT))
    _refuse(site, found)


def holds_report(site: Path, folder: str) -> bool:
    """Tell whether an earlier build made a report in a folder of the site."""
    return (site / folder / RESULTS).is_file()


def holds_final_report(site: Path, folder: str) -> bool:
    """Tell whether an earlier build made a report of a finished trial in a folder of the site.

    Its results file says so, whichever version of the program wrote it.
    """
    try:
        trial = json.loads((site / folder / RESULTS).read_bytes())["trial"]
        return not trial.get("interim", False)
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return False


def write_report(
    site: Path, folder: str, content: Mapping[str, bytes], entry: Entry, force: bool
) -> None:
    """Show a report's folder with its files and their note in one step; the names of `content`
    begin with the folder.

    Raises WorkbookError, and changes nothing, where a file that no build wrote is in the way;
    OSError.
    """
    own = {name.removeprefix(f"{folder}/"): one for name, one in content.items()}
    own[manifest.NAME] = manifest.written(entry)
    _refuse_in_the_way(site, folder, own, force)
    files.write_folder(site, folder, own, verify.noted_in(site, folder))


def write_shared(site: Path, content: Mapping[str, bytes], entry: Entry, force: bool) -> None:
    """Show what the reports share with its note, the page last but for the note; remove what it
    replaces.

    Raises WorkbookError, and changes nothing, where a file that no build wrote is in the way;
    OSError.
    """
    if PAGE in content:
        last = {PAGE: content[PAGE]}
    else:
        last = {}
    others = {name: one for name, one in content.items() if name != PAGE}
    ordered = others | last | {manifest.NAME: manifest.written(entry)}
    _refuse_in_the_way(site, "", ordered, force)
    files.write_files(site, ordered, verify.noted_in(site))


def write_assets(site: Path, content: Mapping[str, bytes], force: bool) -> None:
    """Write stylesheet, scripts and fonts before the first report that needs them, and add them to
    the site's note.

    What the note names already stays. Raises as `write_shared` does.
    """
    known = verify.noted_in(site)
    wanted = dict(manifest.digests(content))
    if wanted.items() <= known.items() and all(
        files.as_written(site, *one) for one in wanted.items()
    ):
        return
    note = manifest.noted(site / manifest.NAME)
    known.pop(manifest.NAME, "")
    entry = Entry("", tuple(sorted((known | wanted).items())), trials=note.trials if note else ())
    ordered = {**content, manifest.NAME: manifest.written(entry)}
    _refuse_in_the_way(site, "", ordered, force)
    files.write_files(site, ordered, {})


def _refuse_in_the_way(site: Path, folder: str, wanted: Mapping[str, bytes], force: bool) -> None:
    _refuse_links(site, [(Path(folder) / name).as_posix() for name in wanted])
    if not force:
        _refuse(site, verify.in_the_way(site, folder, wanted))


def _refuse_links(site: Path, names: Iterable[str]) -> None:
    found = verify.links(site, names)
    if found:
        raise WorkbookError(
            (
                Problem(
                    Severity.ERROR,
                    "",
                    "",
                    say(
                        "in the place of what is to be built there is a link: {listed}",
                        listed=_listed(site, found),
                    ),
                    say("files and folders of the site's own"),
                    say(
                        "Nothing was written through it. Remove the link, or name another folder with"
                        " --out."
                    ),
                    code="link_in_site",
                ),
            )
        )


def _refuse(site: Path, found: Iterable[str]) -> None:
    names = tuple(found)
    if names:
        raise WorkbookError(
            (
                Problem(
                    Severity.ERROR,
                    "",
                    "",
                    say(
                        "no build wrote these files, or somebody changed them since: {listed}",
                        listed=_listed(site, names),
                    ),
                    say("nothing that a build would overwrite"),
                    say(
                        "They were left as they are. Move them away, name another folder with --out, or"
                        " overwrite them with reportgen build --force."
                    ),
                    code="foreign_files",
                ),
            )
        )


def _listed(site: Path, names: tuple[str, ...]) -> str:
    shown = [str(site / name) for name in names[:NAMED]]
    more = len(names) - len(shown)
    if more:
        return say("{first} and {number} more", first=", ".join(shown), number=more)
    return ", ".join(shown)
