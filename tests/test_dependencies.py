"""What the program is made of: bounded, pinned with hashes for CI, and listed for whoever must
know.
"""

import json
import os
import re
import subprocess
import sys
import tomllib
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
CONSTRAINTS = (ROOT / ".ci/constraints.txt").read_text("utf-8")
STUBS = (
    "types-",
    "scipy-stubs",
)  # read by the type checker alone, and numbered as what they describe
# Python Packaging User Guide, "Version specifiers": these clauses end a range.
ENDING = ("<", "<=", "==", "~=")


def requirements_of(texts):
    return [Requirement(text) for text in texts if "reportgen-trials[" not in text]


def extras():
    return [
        text for texts in PROJECT["project"]["optional-dependencies"].values() for text in texts
    ]


RUNTIME = requirements_of(PROJECT["project"]["dependencies"])
ALL = [*RUNTIME, *requirements_of(extras()), *requirements_of(PROJECT["build-system"]["requires"])]


def pins():
    """Return the versions that the constraints file pins for each name, one for each kind of
    machine.
    """
    versions = {}
    for block in re.split(r"\n(?=\S)", CONSTRAINTS):
        requirement = Requirement(block.split(" \\")[0])
        pinned = next(iter(requirement.specifier))
        assert pinned.operator == "==", block
        versions.setdefault(canonicalize_name(requirement.name), []).append(Version(pinned.version))
    return versions


@pytest.mark.parametrize(
    "requirement", [one for one in ALL if not one.name.startswith(STUBS)], ids=str
)
def test_every_dependency_has_an_upper_bound(requirement):
    assert any(clause.operator in ENDING for clause in requirement.specifier)


@pytest.mark.parametrize("requirement", ALL, ids=str)
def test_the_constraints_file_pins_what_the_project_allows(requirement):
    versions = pins()[canonicalize_name(requirement.name)]
    assert all(version in requirement.specifier for version in versions)


def test_the_constraints_file_has_a_hash_for_everything_and_names_no_host():
    # pip, "Secure installs": --hash=sha256:<digest>; once one requirement has a hash, all need one.
    for block in re.split(r"\n(?=\S)", CONSTRAINTS.rstrip("\n")):
        first, *rest = block.split(" \\\n")
        assert re.fullmatch(r"[a-z0-9-]+==[^ ]+( ; .+)?", first), first
        assert rest, first
        assert all(re.fullmatch(r"    --hash=sha256:[0-9a-f]{64}", line) for line in rest), first
    assert "://" not in CONSTRAINTS


def installed_closure(requirements):
    """Return the names and versions of all that is required, as it is installed here."""
    versions, looked_at, waiting = {}, set(), list(requirements)
    while waiting:
        requirement = waiting.pop()
        name = canonicalize_name(requirement.name)
        versions[name] = metadata.version(name)
        for extra in {"", *requirement.extras} - {
            extra for seen, extra in looked_at if seen == name
        }:
            looked_at.add((name, extra))
            further = [Requirement(text) for text in metadata.requires(name) or ()]
            waiting += [
                one
                for one in further
                if one.marker is None or one.marker.evaluate({"extra": extra})
            ]
    return versions


def licence_is_known(name):
    described = metadata.metadata(name)
    classified = any(one.startswith("License ::") for one in described.get_all("Classifier", []))
    return classified or bool(described.get("License-Expression"))


def test_the_list_of_components_names_every_library_that_runs_with_version_and_licence(tmp_path):
    # CycloneDX 1.6, JSON reference: components[].name, .version, .licenses; dependencies[].ref,
    # .dependsOn.
    file = tmp_path / "sbom.json"
    environment = {**os.environ, "PYTHON": sys.executable}
    subprocess.run([ROOT / ".ci/sbom.sh", file, sys.executable], check=True, env=environment)
    listed = json.loads(file.read_text("utf-8"))
    assert (listed["bomFormat"], listed["specVersion"]) == ("CycloneDX", "1.6")
    assert listed["metadata"]["component"]["name"] == PROJECT["project"]["name"]

    components = {canonicalize_name(one["name"]): one for one in listed["components"]}
    closure = installed_closure(RUNTIME)
    assert len(closure) > len(RUNTIME)
    for name, version in closure.items():
        assert components[name]["version"] == version
        assert components[name]["purl"].startswith(f"pkg:pypi/{name}@")
        assert bool(components[name].get("licenses")) >= licence_is_known(name), name

    depends = {one["ref"]: one.get("dependsOn", []) for one in listed["dependencies"]}
    direct = depends[listed["metadata"]["component"]["bom-ref"]]
    assert {components[canonicalize_name(one.name)]["bom-ref"] for one in RUNTIME} <= set(direct)
