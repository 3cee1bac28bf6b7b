"""Photos of growers: made by Pillow, read back by Pillow and by the markers of JPEG itself (ITU-T
T.81, annex B).
"""

import io
import struct
import zlib

import pytest
from PIL import Image, ImageCms, ImageDraw, ImageFile
from PIL.PngImagePlugin import PngInfo
from PIL.TiffImagePlugin import IFDRational

from reportgen.model.trial import PhotoFile
from reportgen.workbook import photos

SECRET = b"Ada Example was here"
RED, GREEN, BLUE, WHITE = (220, 30, 30), (30, 160, 60), (30, 60, 200), (255, 255, 255)


def quarters(size=(400, 200), mode="RGB"):
    """Return a picture that is red at the upper left, green at the upper right, blue at the lower
    left, else white.
    """
    picture = Image.new("RGB", size, WHITE)
    draw = ImageDraw.Draw(picture)
    half = (size[0] // 2, size[1] // 2)
    draw.rectangle((0, 0, half[0] - 1, half[1] - 1), fill=RED)
    draw.rectangle((half[0], 0, size[0], half[1] - 1), fill=GREEN)
    draw.rectangle((0, half[1], half[0] - 1, size[1]), fill=BLUE)
    return picture.convert(mode)


def saved(folder, name, picture, **options):
    path = folder / name
    picture.save(path, **options)
    return path


def opened(photo):
    return Image.open(io.BytesIO(photo.content))


def near(colour, other, by=12):
    return all(abs(one - two) <= by for one, two in zip(colour, other, strict=True))


def exif(orientation=1):
    """Return EXIF with a place, a camera, a name and a preview's worth of notes."""
    made = Image.Exif()
    made[0x0112] = orientation
    made[0x013B] = SECRET.decode()
    made[0x0110] = "Camera of Ada"
    gps = made.get_ifd(0x8825)
    gps[1], gps[2] = "N", (IFDRational(51), IFDRational(28), IFDRational(38))
    made.get_ifd(0x8769)[0x927C] = SECRET * 20
    return made


def segments(content):
    """Return the markers of a JPEG up to its scan, each with its content (ITU-T T.81, B.1.1)."""
    found, at = [], 2
    while content[at : at + 2] != b"\xff\xda":
        marker, length = struct.unpack(">2H", content[at : at + 4])
        found.append((marker, content[at + 4 : at + 2 + length]))
        at += 2 + length
    return found


def test_nothing_but_pixels_of_a_photo_is_kept(tmp_path):
    xmp = b"<x:xmpmeta><dc:creator>" + SECRET + b"</dc:creator></x:xmpmeta>"
    options = {"exif": exif(), "comment": SECRET, "xmp": xmp, "quality": 95}
    path = saved(tmp_path, "ada-in-the-cellar.jpg", quarters(), **options)
    spoilt = path.read_bytes()
    iptc = (
        b"Photoshop 3.0\x008BIM\x04\x04\x00\x00\x00\x00\x00\x14" + SECRET
    )  # IPTC IIM within APP13
    path.write_bytes(
        spoilt[:2] + b"\xff\xed" + struct.pack(">H", len(iptc) + 2) + iptc + spoilt[2:] + SECRET
    )
    assert spoilt.count(SECRET) > 3
    photo = photos.prepared(path)
    assert SECRET not in photo.content
    assert b"Ada" not in photo.content
    assert "ada" not in photo.key
    assert not opened(photo).getexif()
    # APP0 (JFIF), tables, frame: no other APPn and no comment.
    assert {marker for marker, _ in segments(photo.content)} == {0xFFE0, 0xFFDB, 0xFFC0, 0xFFC4}
    assert photo.content.endswith(b"\xff\xd9")


def test_texts_within_png_are_left_behind_too(tmp_path):
    info = PngInfo()
    info.add_text("Author", SECRET.decode())
    info.add_itxt("XML:com.adobe.xmp", SECRET.decode())
    path = saved(tmp_path, "a.png", quarters(), pnginfo=info, exif=exif())
    assert SECRET not in photos.prepared(path).content


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photo_is_turned_upright(tmp_path, orientation):
    # EXIF 2.3, tag 0x0112: which side of the stored picture is the top, and which the left of what
    # is shown.
    stored = {
        1: quarters(),
        2: quarters().transpose(Image.Transpose.FLIP_LEFT_RIGHT),
        3: quarters().transpose(Image.Transpose.ROTATE_180),
        4: quarters().transpose(Image.Transpose.FLIP_TOP_BOTTOM),
        5: quarters().transpose(Image.Transpose.TRANSPOSE),
        6: quarters().transpose(Image.Transpose.ROTATE_90),
        7: quarters().transpose(Image.Transpose.TRANSVERSE),
        8: quarters().transpose(Image.Transpose.ROTATE_270),
    }
    photo = photos.prepared(
        saved(tmp_path, "a.jpg", stored[orientation], exif=exif(orientation), quality=95)
    )
    assert (photo.width, photo.height) == (400, 200)
    shown = opened(photo)
    places = {(100, 50): RED, (300, 50): GREEN, (100, 150): BLUE, (300, 150): WHITE}
    assert all(near(shown.getpixel(place), colour) for place, colour in places.items())


@pytest.mark.parametrize(
    ("size", "expected"),
    [((4000, 2000), (1600, 800)), ((1000, 3200), (500, 1600)), ((640, 480), (640, 480))],
)
def test_a_large_photo_becomes_smaller_and_a_small_one_stays(tmp_path, size, expected):
    photo = photos.prepared(saved(tmp_path, "a.jpg", quarters(size)))
    assert opened(photo).size == (photo.width, photo.height) == expected


@pytest.mark.parametrize(
    ("name", "mode"),
    [
        ("a.jpg", "CMYK"),
        ("a.jpg", "L"),
        ("a.png", "P"),
        ("a.png", "RGBA"),
        ("a.png", "1"),
        ("a.png", "LA"),
        ("a.webp", "RGB"),
    ],
)
def test_every_kind_of_pixels_becomes_rgb(tmp_path, name, mode):
    photo = photos.prepared(saved(tmp_path, name, quarters(mode=mode)))
    shown = opened(photo)
    assert (shown.format, shown.mode) == ("JPEG", "RGB")
    assert near(shown.getpixel((300, 150)), WHITE)
    if mode not in ("L", "LA", "1"):
        assert near(shown.getpixel((100, 50)), RED, by=40)


def test_grey_levels_of_16_bits_keep_their_shades(tmp_path):
    ramp = Image.frombytes("I;16", (256, 8), struct.pack("<256H", *range(0, 65536, 256)) * 8)
    shown = opened(photos.prepared(saved(tmp_path, "a.png", ramp)))
    assert [shown.getpixel((at, 4))[0] for at in (0, 64, 128, 192, 255)] == pytest.approx(
        [0, 64, 128, 192, 255], abs=3
    )


def test_colours_of_16_bits_keep_their_shades(tmp_path):
    path = tmp_path / "a.png"
    path.write_bytes(png_of_16_bits((0xDC00, 0x1E00, 0x1E00)))
    assert near(opened(photos.prepared(path)).getpixel((4, 4)), RED)


def png_of_16_bits(colour):
    """Return a PNG of 8 x 8 px with 16 bits a channel, which Pillow cannot write (PNG
    specification, 11.2).
    """
    rows = (b"\0" + struct.pack(">3H", *colour) * 8) * 8
    parts = (
        (b"IHDR", struct.pack(">2I5B", 8, 8, 16, 2, 0, 0, 0)),
        (b"IDAT", zlib.compress(rows)),
        (b"IEND", b""),
    )
    chunks = (
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in parts
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


def test_transparent_parts_become_white(tmp_path):
    clear = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    clear.paste(RED, (0, 0, 20, 40))
    shown = opened(photos.prepared(saved(tmp_path, "a.png", clear)))
    assert near(shown.getpixel((34, 20)), WHITE)
    assert near(shown.getpixel((6, 20)), RED)


def test_colours_of_another_profile_are_converted_to_srgb(tmp_path):
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    # ICC.1, 9.2: the tags rXYZ and gXYZ are the colours of full red and full green; here they
    # change places.
    swapped = srgb.replace(b"rXYZ", b"    ").replace(b"gXYZ", b"rXYZ").replace(b"    ", b"gXYZ")
    for profile, expected in ((srgb, RED), (swapped, (RED[1], RED[0], RED[2]))):
        path = saved(tmp_path, "a.png", Image.new("RGB", (16, 16), RED), icc_profile=profile)
        shown = opened(photos.prepared(path))
        assert near(shown.getpixel((8, 8)), expected, by=6)
        assert "icc_profile" not in shown.info


def test_a_damaged_profile_is_passed_over(tmp_path):
    path = saved(tmp_path, "a.png", Image.new("RGB", (16, 16), RED), icc_profile=b"no profile" * 20)
    assert near(opened(photos.prepared(path)).getpixel((8, 8)), RED)


def test_the_first_picture_of_a_telephones_shot_is_its_photo(tmp_path):
    frames = [Image.new("RGB", (32, 32), BLUE)]
    path = saved(
        tmp_path,
        "a.jpg",
        Image.new("RGB", (32, 32), RED),
        format="MPO",
        save_all=True,
        append_images=frames,
    )
    assert Image.open(path).format == "MPO"
    assert near(opened(photos.prepared(path)).getpixel((8, 8)), RED)


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_a_picture_that_moves_is_refused(tmp_path, kind):
    frames = [Image.new("RGB", (32, 32), BLUE)]
    picture = Image.new("RGB", (32, 32), RED)
    path = saved(
        tmp_path, f"a.{kind.lower()}", picture, format=kind, save_all=True, append_images=frames
    )
    with pytest.raises(photos.UnusablePhoto, match=r"moves.*Save one frame"):
        photos.prepared(path)


@pytest.mark.parametrize("lenient", [False, True])
@pytest.mark.parametrize("share", [0.02, 0.3, 0.9, 0.99])
@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.webp"])
def test_a_file_that_breaks_off_is_refused(tmp_path, monkeypatch, name, share, lenient):
    path = saved(tmp_path, name, Image.effect_noise((200, 200), 90).convert("RGB"))
    content = path.read_bytes()
    path.write_bytes(content[: int(share * len(content))])
    monkeypatch.setattr(
        ImageFile, "LOAD_TRUNCATED_IMAGES", lenient
    )  # WeasyPrint sets it when it is loaded
    with pytest.raises(photos.UnusablePhoto, match=r"damaged|no picture"):
        photos.prepared(path)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"no picture",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"%PDF-1.7",
        b"BM",
        b"GIF89a",
    ],
)
def test_what_is_no_picture_is_refused(tmp_path, content):
    path = tmp_path / "a.jpg"
    path.write_bytes(content)
    with pytest.raises(
        photos.UnusablePhoto, match="is no picture, whatever its name says; expected a JPEG"
    ):
        photos.prepared(path)


# Pillow warns beyond 89 478 485 px and refuses beyond twice that (its documentation,
# Image.MAX_IMAGE_PIXELS).
@pytest.mark.parametrize("side", [9000, 12_000, 14_000, 60_000])
def test_a_bomb_is_refused_before_it_goes_off(tmp_path, side):
    head = struct.pack(">2I5B", side, side, 8, 2, 0, 0, 0)
    chunk = (
        struct.pack(">I", len(head))
        + b"IHDR"
        + head
        + struct.pack(">I", zlib.crc32(b"IHDR" + head))
    )
    path = tmp_path / "a.png"
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n"
        + chunk
        + struct.pack(">I", 0)
        + b"IDAT"
        + struct.pack(">I", zlib.crc32(b"IDAT"))
    )
    with pytest.raises(photos.UnusablePhoto, match="too many pixels; expected 80 million at most"):
        photos.prepared(path)


def test_a_file_that_is_too_large_is_not_read(tmp_path, monkeypatch):
    path = saved(tmp_path, "a.jpg", quarters())
    monkeypatch.setattr(photos, "MOST_BYTES", 100)
    with pytest.raises(photos.UnusablePhoto, match="too large a file"):
        photos.prepared(path)


def test_of_a_file_that_is_too_large_no_digest_is_taken(tmp_path, monkeypatch):
    saved(tmp_path, "a.jpg", quarters())
    (tmp_path / "a.heic").write_bytes(b"a" * 101)
    (tmp_path / "b.heic").write_bytes(b"a" * 100)
    monkeypatch.setattr(photos, "MOST_BYTES", 100)
    album = photos.read(["a.jpg", "a.heic", "b.heic"], tmp_path)
    assert [bool(photo.sha256) for photo in album.photos] == [False, False, True]
    assert "too large a file" in str(album.faults["a.jpg"])


def test_a_photo_that_is_not_there_is_told(tmp_path):
    with pytest.raises(photos.UnusablePhoto, match="cannot be read: No such file"):
        photos.prepared(tmp_path / "gone.jpg")


def test_the_same_photo_gives_the_same_bytes_and_key(tmp_path):
    first = photos.prepared(saved(tmp_path, "a.jpg", quarters()))
    again = photos.prepared(saved(tmp_path, "b.jpg", quarters()))
    other = photos.prepared(saved(tmp_path, "c.jpg", quarters().rotate(180)))
    assert first == again
    assert first.key != other.key


# ---- in the folder of the workbook ---------------------------------------------------------------


def test_photos_lie_beside_the_workbook_or_below_it_by_either_slash(tmp_path):
    (tmp_path / "photos").mkdir()
    saved(tmp_path / "photos", "day 3.jpg", quarters())
    album = photos.read(["photos/day 3.jpg", "photos\\day 3.jpg", "photos/day 3.jpg"], tmp_path)
    assert [photo.name for photo in album.photos] == ["photos/day 3.jpg", "photos\\day 3.jpg"]
    assert len({photo.key for photo in album.photos}) == 1
    assert {(photo.width, photo.height) for photo in album.photos} == {(400, 200)}
    assert not album.faults


@pytest.mark.parametrize(
    "name", ["../secret.jpg", "/etc/hostname", "link.jpg", "..", "photos/../../secret.jpg"]
)
def test_no_name_reaches_out_of_the_workbooks_folder(tmp_path, name):
    saved(tmp_path, "secret.jpg", quarters())
    folder = tmp_path / "trials"
    folder.mkdir()
    (folder / "link.jpg").symlink_to(tmp_path / "secret.jpg")
    assert photos.read([name], folder) == photos.Album()


@pytest.mark.parametrize("name", ["gone.jpg", ".", "a.jpg/b.jpg", "x" * 5000 + ".jpg"])
def test_a_name_without_a_file_has_no_photo_and_no_digest(tmp_path, name):
    assert photos.read([name], tmp_path).photos == (PhotoFile(name, ""),)


def test_what_cannot_be_shown_keeps_its_digest_and_says_why(tmp_path):
    (tmp_path / "a.jpg").write_bytes(b"abc")
    (tmp_path / "a.heic").write_bytes(b"abc")
    album = photos.read(["a.jpg", "a.heic"], tmp_path)
    # FIPS 180-2, appendix B.1: the SHA-256 of "abc".
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert album.photos == (PhotoFile("a.jpg", digest), PhotoFile("a.heic", digest))
    assert [(name, str(fault).partition(";")[0]) for name, fault in album.faults.items()] == [
        ("a.jpg", "is no picture, whatever its name says")
    ]
