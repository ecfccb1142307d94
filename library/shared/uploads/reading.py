"""What a file is, by what is in it, whatever its name or its sender says."""

from collections.abc import Collection
from typing import BinaryIO, Final

from library.shared.uploads.clips import read_clip
from library.shared.uploads.kinds import MEGABYTE, MOST_BYTES, Kind, NotTaken, Upload
from library.shared.uploads.photos import read_photo

HEAD_BYTES: Final = 64
AVIF: Final = {b"avif", b"avis"}
HEIF: Final = {b"heic", b"heix", b"hevc", b"mif1", b"msf1"}
"""Brands of the box format that clips use, too (ISO/IEC 14496-12), of what is a picture all the
same; an AVIF may name one of HEIF first."""

ASKED: Final = {
    frozenset({Kind.PHOTO}): "Choose a photo (JPEG, PNG, WebP or AVIF).",
    frozenset({Kind.CLIP}): "Choose a clip (MP4, MOV or WebM).",
    frozenset(Kind): "Choose a photo (JPEG, PNG, WebP or AVIF) or a clip (MP4, MOV or WebM).",
}


def read_upload(file: BinaryIO, size: int, said: str, kinds: Collection[Kind]) -> Upload:
    """The file as it may be kept. `size` is in bytes; `said` is the media type its sender claims.

    Raises NotTaken.
    """
    if size == 0:
        raise NotTaken("This file is empty. Choose another one.")
    head = file.read(HEAD_BYTES)
    file.seek(0)
    kind, container = _sniff(head, kinds)
    if kind not in kinds:
        raise NotTaken(ASKED[frozenset(kinds)])
    if said.partition("/")[0] in {"image", "video"} - {_family(kind)}:
        raise NotTaken(
            f"This calls itself {_called(said)} but is a {kind}. Choose it as it came from the "
            "camera."
        )
    if size > MOST_BYTES[kind]:
        most = MOST_BYTES[kind] // MEGABYTE
        raise NotTaken(f"This {kind} is too large: {most} MB at most. Nothing was kept of it.")
    return read_photo(file) if kind is Kind.PHOTO else read_clip(file, container)


def _sniff(head: bytes, kinds: Collection[Kind]) -> tuple[Kind, str]:
    """The kind of a file and, for a clip, the container it comes in."""
    is_webp = head[:4] == b"RIFF" and head[8:12] == b"WEBP"
    if is_webp or head.startswith((b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n")):
        return Kind.PHOTO, ""
    if head[4:8] == b"ftyp":
        brands = _brands(head)
        if brands & AVIF:
            return Kind.PHOTO, ""
        if brands & HEIF:
            raise NotTaken(
                "This picture is in a form (HEIC) that not every phone can show. Take a screenshot "
                "of it and choose that."
            )
        return Kind.CLIP, "mov"
    if head.startswith(b"\x1a\x45\xdf\xa3"):
        return Kind.CLIP, "matroska"
    raise NotTaken(ASKED[frozenset(kinds)])


def _brands(head: bytes) -> set[bytes]:
    """What a file in the box format says it is: first of all, and what it can also be read as."""
    box = head[: int.from_bytes(head[:4])]
    return {box[8:12], *(box[at : at + 4] for at in range(16, len(box), 4))}


def _family(kind: Kind) -> str:
    return "image" if kind is Kind.PHOTO else "video"


def _called(said: str) -> str:
    return "a picture" if said.startswith("image") else "a video"
