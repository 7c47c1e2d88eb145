"""What a program that reads aloud finds in a PDF: its tags in order, each with its text.

From the tag tree itself (ISO 32000-1, 14.7 and 14.8), not from the places on the page: what is
not tagged is not read aloud, and is not found here.
"""

import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

import pypdf
from pypdf.generic import ContentStream

_PAIR = re.compile(rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>")
_RANGE = re.compile(rb"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>")


@dataclass(frozen=True)
class Tag:
    """One tag: its role, its own text or the alternative for it, and the tags in it."""

    role: str
    text: str
    alt: str
    page: int
    inside: tuple["Tag", ...]

    def all(self, role: str) -> Iterator["Tag"]:
        """Tags of a role in it, in reading order."""
        for one in self.inside:
            if one.role == role:
                yield one
            yield from one.all(role)

    def read(self) -> str:
        """All that is read aloud of it; blanks and line ends as single spaces."""
        own = [self.alt] if self.alt else [self.text, *(one.read() for one in self.inside)]
        return " ".join(" ".join(own).split())


def _characters(font: Mapping[str, object]) -> dict[int, str]:
    """Codes of a font to characters, from its ToUnicode map."""
    data = font["/ToUnicode"].get_object().get_data()  # type: ignore[attr-defined]
    found: dict[int, str] = {}
    for block in re.findall(rb"beginbfchar(.*?)endbfchar", data, re.DOTALL):
        for code, text in _PAIR.findall(block):
            found[int(code, 16)] = bytes.fromhex(text.decode()).decode("utf-16-be")
    for block in re.findall(rb"beginbfrange(.*?)endbfrange", data, re.DOTALL):
        for first, last, text in _RANGE.findall(block):
            begin = int(text, 16)
            for k in range(int(first, 16), int(last, 16) + 1):
                found[k] = chr(begin + k - int(first, 16))
    return found


def _raw(operand: object) -> bytes:
    """The bytes of a string as they stand in the page."""
    original: bytes = operand.original_bytes  # type: ignore[attr-defined]
    return original


def _marked(page: pypdf.PageObject, reader: pypdf.PdfReader) -> dict[int, str]:
    """The text of each marked piece of a page, by its id."""
    fonts = {
        name: _characters(font.get_object())
        for name, font in page["/Resources"].get("/Font", {}).items()  # type: ignore[attr-defined]
    }
    texts: dict[int, str] = {}
    open_ids: list[int | None] = []
    font: dict[int, str] = {}
    for operands, operator in ContentStream(page.get_contents(), reader).operations:
        if operator in (b"BDC", b"BMC"):
            said = operands[1] if operator == b"BDC" else {}
            open_ids.append(said.get("/MCID") if isinstance(said, dict) else None)
        elif operator == b"EMC":
            open_ids.pop()
        elif operator == b"Tf":
            font = fonts[operands[0]]
        elif operator in (b"Tj", b"TJ"):
            parts = operands[0] if operator == b"TJ" else [operands[0]]
            codes = b"".join(_raw(one) for one in parts if hasattr(one, "original_bytes"))
            text = "".join(font[int.from_bytes(codes[k : k + 2])] for k in range(0, len(codes), 2))
            current = next((one for one in reversed(open_ids) if one is not None), None)
            if current is not None:
                texts[current] = texts.get(current, "") + text + " "
    return texts


@lru_cache(maxsize=8)
def tag_tree(pdf: bytes) -> Tag:
    """The whole tree of a PDF; kept, since a sheet is asked for its rows, then for its lines.

    Raises
    ------
    KeyError
        If the PDF is not tagged.
    """
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    numbers = {page.indirect_reference.idnum: k for k, page in enumerate(reader.pages)}  # type: ignore[union-attr]
    texts = [_marked(page, reader) for page in reader.pages]

    def pages_of(node: pypdf.generic.DictionaryObject, page: int) -> int:
        return numbers[node.raw_get("/Pg").idnum] if "/Pg" in node else page

    def made(node: object, page: int) -> Tag:
        if isinstance(node, int):
            return Tag("text", texts[page].get(node, ""), "", page, ())
        assert isinstance(node, pypdf.generic.DictionaryObject)
        page = pages_of(node, page)
        if "/MCID" in node:
            return Tag("text", texts[page].get(int(node["/MCID"]), ""), "", page, ())  # type: ignore[call-overload]
        kids = node.get("/K", [])
        kids = kids if isinstance(kids, list) else [kids]
        inside = tuple(made(one.get_object(), page) for one in kids)
        page = next((one.page for one in inside if one.read()), page)
        return Tag(str(node.get("/S", "/root"))[1:], "", str(node.get("/Alt", "")), page, inside)

    return made(reader.root_object["/StructTreeRoot"], 0)
