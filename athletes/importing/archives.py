"""A workbook's zip and the XML in it, neither taken at its word. Imports no Django.

What is packed well is a thousand times its size unpacked, so everything is measured before it is
read, and read before anything else is given it. ISO/IEC 29500-2 allows a workbook neither packing
but deflate nor document type definitions, the usual way to make a little XML large.
"""

from collections.abc import Iterator
from io import BytesIO
from typing import Final, NamedTuple
from xml.parsers.expat import ParserCreate
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from athletes.importing.tables import Unreadable

MOST_PARTS: Final = 2000
MOST_UNPACKED: Final = 32 * 1024 * 1024
LONGEST_TAG: Final = 1024 * 1024
PIECE: Final = 64 * 1024
ENCRYPTED: Final = 0x1  # of the flags of a part, as PKWARE's note on the format numbers them

TOO_LARGE: Final = (
    "This workbook is too large unpacked. Copy the rows of the children into a new one, or save "
    "them as CSV UTF-8."
)
LOCKED: Final = (
    "This workbook has a password. In Excel, take it off (File, Info, Protect Workbook), save the "
    "workbook and import it again."
)


class Archive:
    """Raises BadZipFile for what is damaged, Unreadable for what is not taken."""

    def __init__(self, content: bytes) -> None:
        self._zip = ZipFile(BytesIO(content))
        parts = self._zip.infolist()
        if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
            raise Unreadable(TOO_LARGE)
        if any(part.flag_bits & ENCRYPTED for part in parts):
            raise Unreadable(LOCKED)
        self._parts: dict[str, ZipInfo] = {part.filename.casefold(): part for part in parts}

    def __iter__(self) -> Iterator[str]:
        """The names of its parts, in small letters: large ones make no other part."""
        return iter(self._parts)

    def __contains__(self, name: str) -> bool:
        return name.casefold() in self._parts

    def read(self, name: str) -> bytes:
        """A part, unpacked no further than it says it goes; BadZipFile if it goes further."""
        try:
            part = self._parts[name.casefold()]
        except KeyError:
            raise BadZipFile(f"{name} is missing") from None
        if part.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
            raise BadZipFile(f"{name} is packed in an unusual way")
        with self._zip.open(part) as unpacking:
            return unpacking.read(part.file_size + 1)


class Element(NamedTuple):
    """A start tag. Names are “namespace name” where they have one, those of attributes too."""

    name: str
    attributes: dict[str, str]


class Walk:
    """Goes through XML tag by tag, at most so many; what it meets is for its subclasses."""

    def __init__(self, most: int) -> None:
        self._left = most

    def begin(self, element: Element) -> None:
        """Called at each start tag."""

    def through(self, xml: bytes) -> None:
        """Raises Unreadable for too many or too long tags; ExpatError or BadZipFile for what no
        workbook holds."""
        parser = ParserCreate(namespace_separator=" ")
        parser.StartDoctypeDeclHandler = _no_doctype
        parser.StartElementHandler = self._begin
        for start in range(0, len(xml), PIECE):
            parser.Parse(xml[start : start + PIECE])
            if start - parser.CurrentByteIndex > LONGEST_TAG:
                raise Unreadable(TOO_LARGE)
        parser.Parse(b"", True)

    def _begin(self, name: str, attributes: dict[str, str]) -> None:
        self._left -= 1
        if self._left < 0:
            raise Unreadable(TOO_LARGE)
        self.begin(Element(name, attributes))


class Listing(Walk):
    """Every start tag, in order."""

    def __init__(self, most: int) -> None:
        super().__init__(most)
        self.elements: list[Element] = []

    def begin(self, element: Element) -> None:
        self.elements.append(element)


def _no_doctype(*_: object) -> None:
    raise BadZipFile("a document type definition")
