"""`reportgen verify`: a site beside its notes of what was built."""

import json
import shutil

import pytest

from reportgen import files
from reportgen.building import verify
from reportgen.building.verify import Difference, Kind
from reportgen.files import TEMPORARY
from tests.test_pipeline import digests, rounds, run


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    folder = tmp_path_factory.mktemp("built")
    books = rounds(folder / "books", 2)
    assert run("build", *books, "--out", folder / "site", "--no-pdf", "--jobs", "1").exit_code == 0
    return folder / "site"


@pytest.fixture
def site(built, tmp_path):
    return shutil.copytree(built, tmp_path / "site")


def test_a_site_as_it_was_built_has_no_differences(site):
    done = run("verify", site)
    assert done.exit_code == 0
    assert done.output == f"{site}: every file is as it was built\n"


def every_file(site):
    return sorted(name for name in digests(site))


def test_a_note_that_is_altered_is_named_and_not_believed(site):
    note = site / "round-0/built.json"
    note.write_bytes(note.read_bytes() + b" ")
    found = verify.differences(site)
    assert Difference(Kind.DIFFERS, "round-0/built.json") in found
    assert {one.kind for one in found if one.name.startswith("round-0/figures")} <= {Kind.FOREIGN}


@pytest.mark.parametrize("harm", ["altered", "missing"])
def test_each_file_that_is_altered_or_missing_is_named_alone(site, harm):
    for name in every_file(site):
        if name.endswith("built.json"):
            continue
        whole = (site / name).read_bytes()
        if harm == "missing":
            (site / name).unlink()
        else:
            (site / name).write_bytes(whole[:-1])
        kind = Kind.MISSING if harm == "missing" else Kind.DIFFERS
        assert verify.differences(site) == (Difference(kind, name),)
        (site / name).write_bytes(whole)


def test_what_no_build_wrote_is_named_a_whole_folder_once(site):
    (site / ".git/objects").mkdir(parents=True)
    (site / ".git/objects/one").write_bytes(b"")
    (site / "round-0/figures/mine.svg").write_bytes(b"")
    (site / "CNAME").write_bytes(b"")
    found = verify.differences(site)
    assert found == tuple(
        Difference(Kind.FOREIGN, name) for name in (".git", "CNAME", "round-0/figures/mine.svg")
    )


def test_a_report_that_is_listed_and_gone_is_named(site):
    shutil.rmtree(site / "round-1")
    assert verify.differences(site) == (Difference(Kind.MISSING, "round-1/built.json"),)


def test_a_link_is_no_file_that_was_built(site, tmp_path):
    shutil.move(site / "round-1", tmp_path / "elsewhere")
    (site / "round-1").symlink_to(tmp_path / "elsewhere")
    (site / "feed.xml").rename(tmp_path / "feed.xml")
    (site / "feed.xml").symlink_to(tmp_path / "feed.xml")
    found = verify.differences(site)
    assert [one for one in found if one.kind is Kind.LINK] == [
        Difference(Kind.LINK, "feed.xml"),
        Difference(Kind.LINK, "round-1"),
    ]
    assert {one.name.split("/")[0] for one in found} == {"feed.xml", "round-1"}


def test_what_a_stopped_build_left_is_named_as_that(site):
    (site / f"{TEMPORARY}abc").mkdir()
    assert verify.differences(site) == (Difference(Kind.UNFINISHED, f"{TEMPORARY}abc"),)


def sealed(entry):
    """Return a note with the digest that tells of changes by hand, as the program writes it."""
    whole = {"entry": entry, "digest": verify.manifest.digest(json.dumps(entry))}
    return f"{json.dumps(whole, ensure_ascii=False, indent=1)}\n".encode()


def test_a_note_tells_of_its_own_folder_alone(site, tmp_path):
    (tmp_path / "mine.txt").write_bytes(b"mine")
    note = json.loads((site / "round-0/built.json").read_bytes())
    note["entry"]["files"] += [["../mine.txt", files.sha256(b"mine")], ["round-1/other", "0"]]
    (site / "round-0/built.json").write_bytes(sealed(note["entry"]))
    assert verify.differences(site) == ()


def test_the_command_names_each_difference_and_scripts_get_json(site):
    (site / "index.html").unlink()
    (site / "mine").write_bytes(b"")
    done = run("verify", site)
    assert done.exit_code == 1
    assert done.output.splitlines() == [
        "index.html was built and is not there",
        "mine was written by no build",
        f"{site}: 2 differences",
    ]
    done = run("verify", site, "--json")
    assert done.exit_code == 1
    assert json.loads(done.output) == {
        "differences": [
            {"kind": "missing", "name": "index.html"},
            {"kind": "foreign", "name": "mine"},
        ]
    }


def test_nothing_is_changed_by_a_look(site):
    (site / "mine").write_bytes(b"")
    (site / f"{TEMPORARY}abc").mkdir()
    before = digests(site), sorted(site.rglob("*"))
    run("verify", site)
    assert (digests(site), sorted(site.rglob("*"))) == before


def test_a_folder_that_is_no_site_is_wrong_usage(tmp_path):
    for folder in (tmp_path, tmp_path / "none"):
        done = run("verify", folder)
        assert done.exit_code == 2
    assert "holds no built.json" in run("verify", tmp_path).stderr
