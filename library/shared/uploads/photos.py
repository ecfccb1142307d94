"""A photo, decoded and drawn anew."""

import io
from typing import BinaryIO, Final

from PIL import Image, ImageOps

from library.shared.uploads.kinds import BROKEN, MOST_PIXELS, Kind, NotTaken, Upload

LONGEST_SIDE: Final = 1600  # pixels
QUALITY: Final = 82
FORMATS: Final = ("JPEG", "PNG", "WEBP", "AVIF")


def read_photo(file: BinaryIO) -> Upload:
    """Raises NotTaken for what is no whole picture or claims to be larger than any phone's."""
    try:
        _verify(file)
        picture = _decoded(file)
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise NotTaken(_too_many()) from None
    except (OSError, ValueError, SyntaxError, EOFError, MemoryError):
        raise NotTaken(BROKEN) from None
    written = io.BytesIO()
    picture.save(written, "JPEG", quality=QUALITY, optimize=True)
    return Upload(Kind.PHOTO, written.getvalue(), *picture.size)


def _verify(file: BinaryIO) -> None:
    """What can be known before anything is decoded: the size it claims, and its checksums."""
    with Image.open(file, formats=FORMATS) as picture:
        width, height = picture.size
        if width * height > MOST_PIXELS:
            raise NotTaken(_too_many())
        picture.verify()
    file.seek(0)


def _decoded(file: BinaryIO) -> Image.Image:
    """Upright, on white where it was clear, no larger than shown, and without its metadata."""
    with Image.open(file, formats=FORMATS) as picture:
        picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a JPEG need not be decoded whole
        upright = ImageOps.exif_transpose(picture)
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        clear = upright.convert("RGBA")
    paper = Image.new("RGB", clear.size, "white")
    paper.paste(clear, mask=clear)
    return paper


def _too_many() -> str:
    return (
        f"This photo has too many pixels: {MOST_PIXELS // 1_000_000} million at most. Choose a "
        "smaller one, or take a screenshot of it."
    )
