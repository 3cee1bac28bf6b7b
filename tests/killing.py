"""Kill builds at each of their steps on the disk, and look at the site that is left: `python
tests/killing.py`.

The whole of `pipeline.build` runs, but for what is heavy: reading a workbook and drawing its report
are replaced by a few small files, so that hundreds of builds take seconds, and no process that has
drawn charts is forked.
"""

import json
import os
import re
import shutil
import signal
import stat
import sys
from hashlib import sha256
from pathlib import Path
from types import SimpleNamespace

from reportgen import files, pipeline, sources
from reportgen.building import reports, shared, steps
from reportgen.model.document import Facts, Report
from reportgen.model.settings import DEFAULTS
from reportgen.pipeline import BuildOptions, BuildOutput

STEPS = {
    "open",
    "os.rename",
    "os.remove",
    "os.rmdir",
    "os.mkdir",
    "os.link",
    "os.chmod",
    "os.truncate",
}
WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT
PLAIN = BuildOptions(pdf=False, jobs=1, rebuild=True)
TRIALS = {"old": ("one", "two", "three"), "new": ("one", "two", "three", "four")}
MINE = {"one/notes.txt": b"mine", "two/extra/figure.svg": b"mine too"}


def stylesheet(version):
    return f"assets/site.{version}.css"


def report_of(name, version):
    """Return the small files of a report: some change, some stay, some are new, some go."""
    page = f'<link href="../{stylesheet(version)}"><img src="figures/{version}.svg">{version}'
    return {
        f"{name}/index.html": page.encode() * 50,
        f"{name}/results.json": f'"{version}"'.encode() * 50,
        f"{name}/figures/{version}.svg": version.encode() * 50,
        f"{name}/data/plants.csv": b"the same" * 50,
    }


def shared_of(names, version):
    """Return the small files of what reports share."""
    links = "".join(f'<a href="{name}/index.html">' for name in names)
    page = f'<link href="{stylesheet(version)}">{links}<img src="figures/together-{version}.svg">'
    return {
        "index.html": page.encode(),
        "feed.xml": version.encode() * 50,
        "pooled.json": f'"{version}"'.encode() * 50,
        f"figures/together-{version}.svg": version.encode() * 50,
        stylesheet(version): version.encode() * 50,
    }


def build(site, books, version):
    """Build a site of a version with the real pipeline from made-up reports."""
    settings = DEFAULTS
    sources.checked = lambda source, *_, **__: SimpleNamespace(
        slug=source.stem, photos=(), findings=(), interim=False
    )
    steps.later_versions = lambda *_: {}  # these trials hold no plants to tell them by
    reports.make = lambda job: made(job.trial.slug, version)
    shared.shared_files = lambda entries, *_: shared_of(
        [one.report.slug for one in entries], version
    )
    shared.asset_files = lambda *_: {stylesheet(version): version.encode() * 50}
    workbooks = tuple(books / f"{name}.xlsx" for name in TRIALS[version])
    for built in pipeline.build(workbooks, site, settings, PLAIN):
        assert built.page, built.problems


def made(slug, version):
    listed = Report(slug, "en", slug, "", "", (), "", Facts(()), "", "", "", (), "", "")
    return BuildOutput(listed, None, report_of(slug, version), "")


# ---- ways to write a site ------------------------------------------------------------------------


def file_by_file(site, name, content, replaced):
    """Write a folder as no build does: the check must tell."""
    for file, one in content.items():
        (site / name / file).parent.mkdir(parents=True, exist_ok=True)
        (site / name / file).write_bytes(one)


def take_way(way):
    if way == "in two steps":
        files.exchange = lambda *_: False
    if way == "file by file":
        files.write_folder = file_by_file


# ---- to be killed --------------------------------------------------------------------------------


class Steps:
    """Count the steps of a process on the disk; be killed before the step `last`, a file being half
    written then.
    """

    def __init__(self, last=None):
        self.count, self.last = 0, last
        self.exchange = files.exchange
        os.fsync, files.exchange = self.synced, self.exchanged
        sys.addaudithook(self.heard)

    def step(self):
        if self.count == self.last:
            os.kill(os.getpid(), signal.SIGKILL)
        self.count += 1

    def heard(self, event, arguments):
        if event in STEPS and (event != "open" or arguments[2] & WRITING):
            self.step()

    def synced(self, opened):
        found = os.fstat(opened)
        if self.count == self.last and stat.S_ISREG(found.st_mode) and found.st_nlink == 1:
            os.truncate(
                f"/proc/self/fd/{opened}", found.st_size // 2
            )  # what a crash may leave of a file
        self.step()

    def exchanged(self, one, other):
        self.step()
        done = self.exchange(one, other)
        self.step()
        return done


def in_child(task):
    """Run a task in a forked process; return how that ended (os.waitpid)."""
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1]
    try:
        task()
    except BaseException as error:
        print(repr(error), file=sys.stderr, flush=True)
        os._exit(1)
    os._exit(0)


def steps_of(task, note):
    """Return how many steps a task takes on the disk."""

    def counted():
        steps = Steps()
        task()
        note.write_text(str(steps.count))

    assert in_child(counted) == 0
    return int(note.read_text())


# ---- what is left --------------------------------------------------------------------------------


def seen(site):
    """Return the SHA-256 of each file that a visitor can see, by name."""
    return {
        path.relative_to(site).as_posix(): sha256(path.read_bytes()).hexdigest()
        for path in sorted(site.rglob("*"))
        if path.is_file() and not path.relative_to(site).parts[0].startswith(".")
    }


def part(found, folder):
    """Return the files of one folder of the site; those of no report where `folder` is empty."""
    if folder:
        return {name: one for name, one in found.items() if name.startswith(f"{folder}/")}
    reports = TRIALS["new"]
    return {name: one for name, one in found.items() if name.split("/")[0] not in reports}


def pages_of(found):
    """Return what the reports share, less what may come earlier and go later: assets, and the note
    that names them.
    """
    return {
        name: one
        for name, one in part(found, "").items()
        if not name.startswith(("assets/", "built.json"))
    }


def hidden(site):
    return sorted(path.name for path in site.glob(".*"))


def begun(site):
    """Return the journals that a next build will finish."""
    return [path.read_text() for path in site.glob(".*/journal.json") if path.stat().st_size]


def faults(site, old, new):
    """Return what is wrong with a site whose build was killed."""
    found = seen(site)
    told = []
    for folder in TRIALS["new"]:
        there = part(found, folder)
        aside = any(f'"folder": "{folder}"' in journal for journal in begun(site))
        if there not in (part(old, folder), part(new, folder)) and not (aside and not there):
            told.append(f"{folder} is neither the old nor the new one")
    if pages_of(found) not in (pages_of(old), pages_of(new)) and not begun(site):
        told.append("what the reports share is mixed, and no journal tells")
    told += [f"{page} names {address}" for page, address in dangling(site)]
    return told


def dangling(site):
    """Yield each page with an address that is not there, where no journal says that it is on its
    way.
    """
    pages = [site / "index.html", *site.glob("[!.]*/index.html")]
    for page in pages:
        for address in re.findall(
            r'(?:href|src)="([^"]+)"', page.read_text() if page.exists() else ""
        ):
            aside = any(
                f'"folder": "{Path(address).parts[0]}"' in journal for journal in begun(site)
            )
            if not (page.parent / address).exists() and not aside:
                yield page.relative_to(site).as_posix(), address


def main(scratch, way, start, every):
    """Kill a build before each of its steps, or some; print how many kills there were and every
    fault.
    """
    os.fsync = lambda _: None  # what a process wrote outlives it without; it takes most of the time
    books = make_books(scratch / "books")
    for version in TRIALS:
        make_site(scratch / version, books, version)
    take_way(way)
    old, new = seen(scratch / "old"), seen(scratch / "new")
    if start == "where there is none":
        shutil.rmtree(scratch / "old")
        old, new = {}, {name: one for name, one in new.items() if name not in MINE}
    counting = site_at(scratch, "counted")
    total = steps_of(lambda: build(counting, books, "new"), scratch / "count")
    told, killed = [], 0
    for number in range(0, total, every):
        site = site_at(scratch, number)
        killed += is_killed(site, books, number)
        found = faults(site, old, new) if site.exists() else []
        found += not_healed(site, books, new)
        told += [f"step {number}: {fault}" for fault in found]
        shutil.rmtree(site)
    print(json.dumps({"killed": killed, "faults": told}))


def make_books(folder):
    folder.mkdir()
    for name in TRIALS["new"]:
        (folder / f"{name}.xlsx").write_bytes(name.encode())
    return folder


def make_site(site, books, version):
    """Build a site, and add files that no build wrote.

    Done here, so that children have loaded what a build needs.
    """
    build(site, books, version)
    for name, content in MINE.items():
        (site / name).parent.mkdir(parents=True, exist_ok=True)
        (site / name).write_bytes(content)


def site_at(scratch, number):
    """Return the folder of a site for one build: a copy of the old site where there is one."""
    site = scratch / f"site-{number}"
    if (scratch / "old").exists():
        shutil.copytree(scratch / "old", site)
    return site


def is_killed(site, books, number):
    """Build the new site, to be killed before a step; tell whether it was."""

    def stopped():
        Steps(number)
        build(site, books, "new")

    ended = in_child(stopped)
    return os.WIFSIGNALED(ended) and os.WTERMSIG(ended) == signal.SIGKILL


def not_healed(site, books, new):
    """Build again; return what is wrong with the site then."""
    if in_child(lambda: build(site, books, "new")) != 0:
        return ["the next build failed"]
    if seen(site) != new or hidden(site):
        return [f"the next build did not heal {hidden(site)}"]
    return []


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], sys.argv[3], int(sys.argv[4]))
