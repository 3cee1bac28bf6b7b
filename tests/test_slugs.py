"""Names of folders: of any script, on any system, none of them twice; and the licences that go with
a site.
"""

import ntpath
import re
import tomllib
from email.parser import Parser
from pathlib import Path, PureWindowsPath
from zipfile import ZipFile

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from packaging.licenses import canonicalize_license_expression

from reportgen.cli import main
from reportgen.pipeline import slug_of
from tests.test_metrics_pooled import CARBON_DIOXIDE
from tests.test_pipeline import write_round
from tests.workbooks import good, write

ROOT = Path(__file__).parents[1]
# The program, its font, and the script by which figures are explored with what it is made of.
LICENCES = "Apache-2.0 AND OFL-1.1 AND BSD-3-Clause AND ISC AND MIT"


@pytest.mark.parametrize(
    ("name", "slug"),
    [
        ("Pak choi 2026", "pak-choi-2026"),
        ("Größe über Maß", "grosse-uber-mass"),
        ("señal_№ 5", "senal-no-5"),
        # By the standard named beside each.
        ("теплица", "teplitsa"),  # BGN/PCGN
        ("Αθήνα", "athina"),  # ISO 843 without accents
        ("水耕", "shuigeng"),  # Hanyu Pinyin
        ("温室", "wenshi"),  # Hanyu Pinyin
        ("тест/2", "test-2"),
    ],
)
def test_a_name_of_another_script_is_transliterated(name, slug):
    assert slug_of(Path(f"{name.replace('/', ' ')}.xlsx")) == slug


@pytest.mark.parametrize("name", ["חממה", "صوبة", "온실", "โรงเรือน", "हरितगृह", "茶", "теплица"])
def test_names_of_any_script_have_slugs_of_their_own(name):
    assert slug_of(Path(f"{name}.xlsx")) not in ("trial", slug_of(Path(f"{name}{name}.xlsx")))


# Microsoft, "Naming Files, Paths, and Namespaces": the superscripts count as digits.
DEVICES = (
    "CON",
    "PRN",
    "AUX",
    "NUL",
    *(f"COM{n}" for n in "0123456789¹²³"),
    *(f"LPT{n}" for n in "0123456789¹²³"),
)


@pytest.mark.parametrize("name", [*DEVICES, "con ", "Nul!", "CONIN$", "CONOUT$"])
def test_no_slug_is_the_name_of_a_device(name):
    slug = slug_of(Path(f"{name}.xlsx"))
    assert slug.endswith("-trial")
    assert not is_reserved(slug)


def is_reserved(slug):
    known = getattr(ntpath, "isreserved", None)  # from Python 3.13 on
    return known(slug) if known else PureWindowsPath(slug).is_reserved()


@pytest.mark.parametrize("name", ["assets", "Figures"])
def test_no_slug_is_a_folder_that_the_site_has_of_its_own(name):
    assert slug_of(Path(f"{name}.xlsx")) == f"{name.lower()}-trial"


@given(st.text(min_size=1, max_size=300))
def test_every_slug_can_be_a_folder_anywhere(name):
    slug = slug_of(Path("x") / f"a{name}".replace("/", "-").replace("\0", "-"))
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", slug)
    assert len(slug) <= 120
    assert not is_reserved(slug)


def test_two_long_names_that_begin_alike_have_slugs_of_their_own():
    long = "a long name of a trial " * 9
    assert slug_of(Path(f"{long}1.xlsx")) != slug_of(Path(f"{long}2.xlsx"))
    assert slug_of(Path(f"{long}1.xlsx")) == slug_of(Path(f"{long}1.ods"))


def test_a_name_that_is_no_utf_8_has_a_slug():
    assert slug_of(Path(b"trial-\xff.xlsx".decode("utf-8", "surrogateescape"))).startswith("trial")


def test_two_workbooks_of_one_slug_are_told_by_both_names(tmp_path):
    names = ("pak choi.xlsx", "pak-choi.xlsx", "Pak Choi of another.xlsx")
    for place, name in enumerate(names):
        write_round(tmp_path / name, CARBON_DIOXIDE[place], "full")
    out = tmp_path / "site"
    done = CliRunner().invoke(main, ["build", str(tmp_path), "--out", str(out), "--no-pdf"])
    assert done.exit_code == 1
    assert "pak-choi.xlsx would be written over another trial" in done.output
    assert str(tmp_path / "pak choi.xlsx") in done.output
    folders = {path.name for path in out.iterdir() if path.is_dir()}
    assert folders == {"assets", "figures", "pak-choi", "pak-choi-of-another"}


def test_the_font_goes_with_its_licence_into_a_site(tmp_path):
    write(good(), tmp_path / "trial.xlsx")
    out = tmp_path / "site"
    assert (
        CliRunner().invoke(main, ["build", str(tmp_path), "--out", str(out), "--no-pdf"]).exit_code
        == 0
    )
    assert list(out.glob("assets/Inter-*.woff2"))
    text = (out / "assets" / "font-license.txt").read_text("utf-8")
    assert "The Inter Project Authors" in text
    assert "SIL OPEN FONT LICENSE Version 1.1" in text


def test_the_wheel_names_and_holds_the_licence_of_its_font(tmp_path):
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert canonicalize_license_expression(project["license"]) == LICENCES  # by the list of SPDX
    wheels = pytest.importorskip("hatchling.builders.wheel")
    (path,) = wheels.WheelBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    with ZipFile(path) as wheel:
        names = wheel.namelist()
        (about,) = [
            Parser().parsestr(wheel.read(name).decode())
            for name in names
            if name.endswith("/METADATA")
        ]
        licences = [wheel.read(name).decode() for name in names if "/licenses/" in name]
    assert about["License-Expression"] == LICENCES
    assert any("SIL OPEN FONT LICENSE Version 1.1" in text for text in licences)
    assert any("Apache License" in text for text in licences)
    assert any(
        name.endswith("fonts/LICENSE.txt")
        for name in names
        if name.startswith("reportgen/templates")
    )
