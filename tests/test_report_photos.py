"""Photos from the grower's folder to the page and the PDF: nothing of place or camera goes with
them.
"""

import dataclasses
import io
import os

import lxml.html
import pikepdf
import pytest
from click.testing import CliRunner
from PIL import Image, ImageDraw
from PIL.TiffImagePlugin import IFDRational

from reportgen import pipeline, workbook
from reportgen.cli import main
from reportgen.workbook import photos
from tests.test_pipeline import digests
from tests.workbooks import least, whole, write

pytestmark = pytest.mark.usefixtures("drawn_once")
CAMERA = "Camera of Ada Example"
BLUE = (30, 60, 200)


def snapshot(path, orientation=1, size=(400, 300)):
    """Save a photo whose first stored row is blue, with a camera and a place in its EXIF."""
    picture = Image.new("RGB", size, (60, 140, 70))
    ImageDraw.Draw(picture).rectangle((0, 0, size[0], 60), fill=BLUE)
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = orientation, CAMERA  # EXIF 2.3: Orientation, Make
    place = exif.get_ifd(0x8825)  # GPS IFD
    place[1], place[2] = "N", (IFDRational(51), IFDRational(28), IFDRational(38))
    path.parent.mkdir(exist_ok=True)
    picture.save(path, exif=exif)
    assert CAMERA.encode() in path.read_bytes()


def observed(folder, *rows):
    """Write a workbook with observations, each a day of April, a text, a photo and what it shows."""
    head, (on, *_) = whole()["Observations"]
    seen = [
        [on.replace(day=day), "full", "B2", text, photo, shown] for day, text, photo, shown in rows
    ]
    return write(least() | {"Observations": [head, *seen]}, folder / "one.xlsx")


@pytest.fixture
def books(tmp_path):
    """Two photos that can be shown, one in a folder below and stored on its side, and one that
    breaks off.
    """
    folder = tmp_path / "books"
    folder.mkdir()
    snapshot(folder / "roots.jpg")
    snapshot(
        folder / "shots" / "day 9.jpg", orientation=6
    )  # EXIF 2.3: the first row is the right side
    snapshot(folder / "broken.jpg")
    (folder / "broken.jpg").write_bytes((folder / "broken.jpg").read_bytes()[:-900])
    observed(
        folder,
        (9, "tips of two leaves brown", "shots\\day 9.jpg", "A leaf with a brown tip"),
        (5, "roots are white", "roots.jpg", None),
        (7, "a pump hummed", "broken.jpg", "A pump"),
        (8, "it rained", None, None),
    )
    return folder


def section(site):
    page = lxml.html.parse(str(site / "one/index.html"))
    (found,) = page.xpath("//section[@aria-labelledby='photos']")
    return found


def build(books, site, **changes):
    (built,) = pipeline.build(
        (books / "one.xlsx",),
        site,
        options=pipeline.BuildOptions(**({"pdf": False, "jobs": 1} | changes)),
    )
    return built


def test_photos_stand_upright_by_day_and_what_was_only_seen_stands_in_the_annex(books, tmp_path):
    build(books, tmp_path / "site")
    found = section(tmp_path / "site")
    said = " ".join(found.text_content().split())
    assert (
        0 < said.find("5 April 2026, Full, tray B2: roots are white") < said.rfind("9 April 2026")
    )
    page = lxml.html.parse(str(tmp_path / "site/one/index.html"))
    (seen,) = page.xpath("//section[@aria-labelledby='observations']")
    told = " ".join(seen.text_content().split())
    assert 0 < told.find("a pump hummed") < told.find("it rained")
    first, second = found.iter("img")
    assert first.get("alt") == "A photo that nobody has described in words."
    assert second.get("alt") == "A leaf with a brown tip"
    upright = Image.open(tmp_path / "site/one" / second.get("src"))
    assert upright.size == (300, 400) == (int(second.get("width")), int(second.get("height")))
    right, left = upright.getpixel((290, 200)), upright.getpixel((10, 200))
    assert max(abs(one - two) for one, two in zip(right, BLUE, strict=True)) < 12
    assert left[1] > left[2]


def test_a_photo_that_cannot_be_shown_is_a_caution_at_its_cell_and_the_rest_is_built(
    books, tmp_path
):
    words = ["build", str(books), "--out", str(tmp_path / "site"), "--no-pdf"]
    for command in (words, ["check", str(books / "one.xlsx")]):
        done = CliRunner().invoke(main, command)
        assert done.exit_code == 0, done.output
        assert 'caution: Observations!E4: "broken.jpg" is damaged or breaks off' in done.output
        assert "caution: Observations!F3: Photo description is not filled in" in done.output
        assert "Traceback" not in done.output
    page = lxml.html.parse(str(tmp_path / "site/one/index.html")).getroot().text_content()
    assert "broken.jpg" not in page  # only the author can mend it
    assert "The check of the workbook left 2 cautions open." in " ".join(page.split())


@pytest.mark.skipif(
    os.name == "nt" or os.geteuid() == 0, reason="needs a user whom rights hold back"
)
def test_a_photo_that_may_not_be_read_is_a_caution_too(books):
    (books / "roots.jpg").chmod(0)
    assert '"roots.jpg" cannot be read: Permission denied' in str(
        workbook.problems_in(workbook.read(books / "one.xlsx"))
    )


def test_a_photo_of_a_kind_that_not_all_browsers_show_is_asked_for_as_jpeg(books):
    observed(books, (5, "roots are white", "roots.heic", "Roots"))
    (caution,) = workbook.problems_in(workbook.read(books / "one.xlsx"))
    assert (caution.severity, caution.cell) == ("caution", "E2")
    assert "JPEG" in caution.advice


def test_no_file_of_the_site_tells_the_camera_or_the_place(books, tmp_path):
    build(books, tmp_path / "site", pdf=True)
    files = [path for path in (tmp_path / "site").rglob("*") if path.is_file()]
    assert not [path for path in files if CAMERA.encode() in path.read_bytes()]
    shown = [path for path in files if path.suffix == ".jpg"]
    assert len(shown) == 2
    assert not any(Image.open(path).getexif() for path in shown)
    with pikepdf.open(tmp_path / "site/one/report.pdf") as paper:
        photos_there = [
            one for one in paper.objects if isinstance(one, pikepdf.Stream) and "/Width" in one
        ]
        assert len(photos_there) >= 2
        assert not [one for one in photos_there if b"Exif" in one.read_raw_bytes()]


def test_the_pdf_says_of_each_photo_what_it_shows(books, tmp_path):
    build(books, tmp_path / "site", pdf=True)
    with pikepdf.open(tmp_path / "site/one/report.pdf") as paper:
        texts = {
            str(one.Alt)
            for one in paper.objects
            if isinstance(one, pikepdf.Dictionary) and "/Alt" in one
        }
    assert {"A leaf with a brown tip", "A photo that nobody has described in words."} <= texts


def test_photos_are_the_same_bytes_when_built_again_and_one_shown_twice_is_one_file(
    books, tmp_path
):
    observed(
        books,
        (5, "roots are white", "roots.jpg", "Roots"),
        (9, "still white", "roots.jpg", "The same roots"),
    )
    for site in ("one", "two"):
        build(books, tmp_path / site)
    assert digests(tmp_path / "one") == digests(tmp_path / "two")
    assert [image.get("alt") for image in section(tmp_path / "one").iter("img")] == [
        "Roots",
        "The same roots",
    ]
    assert len(list((tmp_path / "one/one/photos").iterdir())) == 1


def test_a_changed_photo_is_built_anew_and_the_old_file_goes(books, tmp_path):
    build(books, tmp_path / "site")
    before = {path.name for path in (tmp_path / "site/one/photos").iterdir()}
    assert build(books, tmp_path / "site").unchanged
    snapshot(books / "shots" / "day 9.jpg", orientation=8)
    assert not build(books, tmp_path / "site").unchanged
    after = {path.name for path in (tmp_path / "site/one/photos").iterdir()}
    assert len(before) == len(after) == 2
    assert len(before & after) == 1


def test_a_photo_that_was_still_being_copied_is_taken_with_the_next_build(
    books, tmp_path, monkeypatch
):
    whole_file, real = (books / "roots.jpg").read_bytes(), photos.prepared
    (books / "roots.jpg").write_bytes(whole_file[:-900])

    def slow(path, *more):
        try:
            return real(path, *more)
        finally:
            if path.name == "roots.jpg":
                path.write_bytes(whole_file)  # the copy ends while the report is made

    monkeypatch.setattr(photos, "prepared", slow)
    assert '"roots.jpg" is damaged' in str(build(books, tmp_path / "site").problems)
    second = build(books, tmp_path / "site")
    assert not second.unchanged
    assert '"roots.jpg"' not in str(second.problems)


def test_photos_are_read_for_reports_alone(books):
    source = books / "one.xlsx"
    assert pipeline.checked(source).photos == ()
    assert [one.name for one in pipeline.checked(source, with_photos=True).photos] == [
        "shots\\day 9.jpg",
        "roots.jpg",
        "broken.jpg",
    ]


def test_a_workbook_read_from_no_folder_has_no_photos(books):
    read = dataclasses.replace(workbook.read(books / "one.xlsx"), folder=None)
    assert workbook.check(read, with_photos=True).photos == ()


def test_a_large_photo_becomes_small(books):
    snapshot(books / "roots.jpg", size=(4000, 3000))
    photo = next(
        one
        for one in pipeline.checked(books / "one.xlsx", with_photos=True).photos
        if one.name == "roots.jpg"
    )
    shown = Image.open(io.BytesIO(photo.content))
    assert shown.size == (photo.width, photo.height) == (1600, 1200)
