"""Prepare the grower's photos for the web: small, upright, without place and camera."""

import hashlib
import io
import os
import struct
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING, Final

from reportgen.language import marked, say
from reportgen.model.trial import PhotoFile
from reportgen.paths import lies_within

if TYPE_CHECKING:
    from PIL.Image import Image

LARGEST_SIDE: Final = 1600  # px
MOST_PIXELS: Final = (
    80_000_000  # of a JPEG, which need not be decoded in full; Pillow warns from 89 478 485 on
)
# Pixels that are decoded: Pillow holds four bytes of each, and as many again while it reduces them;
# of WebP more.
MOST_DECODED: Final = {"JPEG": 25_000_000, "MPO": 25_000_000, "PNG": 25_000_000, "WEBP": 12_000_000}
MOST_SCANS: Final = 100  # of a JPEG; what is made to be shown bit by bit has about ten
MOST_BYTES: Final = 60_000_000
QUALITY: Final = 82  # of JPEG, as libjpeg counts it
FORMATS: Final = ("JPEG", "PNG", "WEBP")
ENDINGS: Final = (".jpg", ".jpeg", ".png", ".webp")
# What Pillow's readers raise on files that break off or contradict themselves, found by spoiling
# files at random.
BROKEN: Final = (OSError, SyntaxError, ValueError, struct.error)
SAVE_AGAIN: Final = marked("Save it as JPEG or PNG.")
SAVE_SMALLER: Final = marked("Save it smaller.")


class UnusablePhoto(Exception):
    """A photo that cannot be shown: what was found, what was expected, how to mend it."""

    def __init__(self, found: str, advice: str, expected: str = "") -> None:
        expected = expected or say("a JPEG, PNG or WebP picture")
        super().__init__(
            say(
                "{found}; expected {expected}. {advice}",
                found=found,
                expected=expected,
                advice=advice,
            )
        )
        self.found, self.expected, self.advice = found, expected, advice


@dataclass(frozen=True)
class Album:
    """The photos that a workbook names, and why some cannot be shown, by name."""

    photos: tuple[PhotoFile, ...] = ()
    faults: Mapping[str, UnusablePhoto] = field(default_factory=dict)


def read(names: Iterable[str], folder: Path | None) -> Album:
    """Return the photos of these names that are in a workbook's folder or below it.

    A file that is not there, or cannot be shown, is in the album without content; none outside the
    folder is opened.
    """
    photos: list[PhotoFile] = []
    faults: dict[str, UnusablePhoto] = {}
    for name in dict.fromkeys(names):
        if folder is None or not within(folder, name):
            continue
        path = beside(folder, name)
        digest = _digest(path)
        photos.append(PhotoFile(name, digest))
        try:
            if is_shown(name) and os.path.isfile(path):
                photos[-1] = prepared(path, name, digest)
        except UnusablePhoto as fault:
            faults[name] = fault
    return Album(tuple(photos), faults)


def beside(folder: Path, name: str) -> Path:
    """Return the path of a photo as a workbook names it, on any system by either slash."""
    return folder / name.replace("\\", "/")


def within(folder: Path | None, name: str) -> bool:
    """Tell whether a name stays in the folder, by the rules of any system and through links."""
    posix, windows = PurePosixPath(name), PureWindowsPath(name)
    if (
        posix.is_absolute()
        or windows.anchor
        or ".." in posix.parts + windows.parts
        or "://" in name
        or "\0" in name
    ):
        return False
    return folder is None or lies_within(beside(folder, name), folder)


def is_shown(name: str) -> bool:
    """Return whether a file name ends as photos do that every browser shows."""
    return PurePosixPath(name).suffix.casefold() in ENDINGS


def _digest(path: Path) -> str:
    """Return the SHA-256 of a photo's file; empty where it cannot be read or is too large."""
    if not os.path.isfile(path):
        return ""
    try:
        if path.stat().st_size > MOST_BYTES:
            return ""
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""


def prepared(path: Path, name: str = "", digest: str = "") -> PhotoFile:
    """Return a photo of at most `LARGEST_SIDE` px, upright, as JPEG without metadata.

    The same file gives the same bytes, under a key that comes of them and not of the grower's file
    name. Only pixels are kept: no place, date, camera, caption or preview; colours are converted to
    sRGB and transparent parts become white. What can be seen in the picture stays to be seen.
    Raises UnusablePhoto for what is no still JPEG, PNG or WebP picture, is broken, or is beyond a
    limit above.
    """
    content = _content(path)
    try:
        picture = _pixels(content)
    except BROKEN as error:
        raise UnusablePhoto(
            say("is damaged or breaks off"), say("Copy it from the camera again.")
        ) from error
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=QUALITY, optimize=True, subsampling="4:2:0")
    encoded = out.getvalue()
    key = f"photo-{hashlib.sha256(encoded).hexdigest()[:12]}"
    return PhotoFile(name, digest, key, encoded, picture.width, picture.height)


def _content(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            megabytes = MOST_BYTES // 1_000_000
            raise UnusablePhoto(
                say("is too large a file"),
                say(SAVE_SMALLER),
                say("{megabytes} MB at most", megabytes=megabytes),
            )
        return path.read_bytes()
    except OSError as error:
        raise UnusablePhoto(
            say("cannot be read: {strerror}", strerror=error.strerror),
            say("Check who may read it."),
        ) from error


def _pixels(content: bytes) -> "Image":
    """Return a picture's pixels alone: upright, in sRGB, small enough."""
    from PIL import Image, ImageOps

    with _whole_files_only(), _opened(content) as opened:
        whole = opened.width * opened.height
        opened.draft(
            None, (2 * LARGEST_SIDE, 2 * LARGEST_SIDE)
        )  # a large JPEG need not be decoded in full
        _refuse_costly(opened, whole, content)
        profile = opened.info.get("icc_profile")
        ImageOps.exif_transpose(opened, in_place=True)
        flat = _on_white(_reduced(_eight_bit(opened)), profile)
    flat.thumbnail((LARGEST_SIDE, LARGEST_SIDE), Image.Resampling.LANCZOS)
    return flat


def _refuse_costly(opened: "Image", whole: int, content: bytes) -> None:
    """Raise UnusablePhoto for a picture of which too much must be decoded; `whole` are its pixels
    as it is stored.
    """
    is_progressive = bool(opened.info.get("progressive"))
    # all of it is held until it is whole
    if is_progressive:
        decoded = whole
    else:
        decoded = opened.width * opened.height
    most = MOST_DECODED[str(opened.format)]
    if decoded > most:
        raise _too_many_pixels(most)
    if is_progressive and content.count(b"\xff\xda") > MOST_SCANS:
        raise UnusablePhoto(
            say("is drawn over and over"),
            say(SAVE_AGAIN),
            say("{most_scans} passes at most", most_scans=MOST_SCANS),
        )


def _too_many_pixels(most: int) -> UnusablePhoto:
    return UnusablePhoto(
        say("has too many pixels"),
        say(SAVE_SMALLER),
        say("{most} million at most", most=most // 1000000),
    )


def _reduced(picture: "Image") -> "Image":
    """Return a large picture with sides of 1.5 times what is wanted or more, so that what follows
    copies little.
    """
    factor = int(max(picture.size) / (1.5 * LARGEST_SIDE))
    if factor < 2:
        return picture
    if picture.has_transparency_data:
        if picture.mode == "RGBA":
            clear = picture
        else:
            clear = picture.convert("RGBA")
        return clear.reduce(factor)
    if picture.mode in ("RGB", "CMYK", "L"):
        averaged = picture
    else:
        averaged = picture.convert("RGB")
    return averaged.reduce(factor)


@contextmanager
def _whole_files_only() -> Iterator[None]:
    """Let Pillow refuse files that break off, whatever another library has set."""
    from PIL import ImageFile

    before, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False
    try:
        yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = before


def _opened(content: bytes) -> "Image":
    """Return a picture whose pixels are not decoded yet."""
    import warnings

    from PIL import Image, UnidentifiedImageError

    Image.init()  # else only the readers that every program needs are there to be named
    with warnings.catch_warnings():
        warnings.simplefilter(
            "ignore"
        )  # of damaged metadata, which is not kept, and of sizes that are refused below
        try:
            opened = Image.open(io.BytesIO(content), formats=FORMATS)
        except UnidentifiedImageError as error:
            raise UnusablePhoto(
                say("is no picture, whatever its name says"), say(SAVE_AGAIN)
            ) from error
        except Image.DecompressionBombError as error:
            raise _too_many_pixels(MOST_PIXELS) from error
    if opened.width * opened.height > MOST_PIXELS:
        raise _too_many_pixels(MOST_PIXELS)
    # A JPEG of several pictures (MPO) is what telephones make of one shot; its first picture is the
    # photo.
    if opened.format != "MPO" and getattr(opened, "is_animated", False):
        raise UnusablePhoto(
            say("moves"), say("Save one frame of it as JPEG or PNG."), say("a still picture")
        )
    return opened


def _eight_bit(picture: "Image") -> "Image":
    """Return grey levels of 16 bits as 8 bits, as Pillow would cut them off at 255."""
    if not picture.mode.startswith("I"):
        return picture
    return picture.convert("I").point(lambda level: level * (1 / 257)).convert("L")


def _on_white(picture: "Image", profile: bytes | None) -> "Image":
    """Return a picture in sRGB on white, in an image of its own that carries nothing but pixels."""
    from PIL import Image

    transparent = picture.has_transparency_data
    if transparent:
        mask = picture.convert("RGBA").getchannel("A")
    else:
        mask = None
    flat = Image.new("RGB", picture.size, "white")
    flat.paste(_in_srgb(picture, profile), mask=mask)
    return flat


def _in_srgb(picture: "Image", profile: bytes | None) -> "Image":
    """Return a picture's colours in sRGB; a damaged profile is passed over."""
    from PIL import ImageCms

    if picture.mode in ("RGB", "CMYK", "L"):
        plain = picture
    else:
        plain = picture.convert("RGB")
    if not profile:
        return plain.convert("RGB")
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        made = ImageCms.profileToProfile(
            plain, source, ImageCms.createProfile("sRGB"), outputMode="RGB"
        )
    except (ImageCms.PyCMSError, OSError, ValueError):
        return plain.convert("RGB")
    return made or plain.convert("RGB")
