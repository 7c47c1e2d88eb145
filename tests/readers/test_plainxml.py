"""One XML parser for all readers: no document type, every break told, every miss counted."""

import pytest

from routeprep.errors import ReadError
from routeprep.readers.plainxml import Missed, left_out, parse, plain_parser


def made(**changes):
    """A parser of an invented format."""
    return plain_parser("a.xyz", **({"what": "XYZ", "again": "export it anew"} | changes))


def test_a_whole_file_has_no_break():
    """Handlers hear every tag."""
    parser, heard = made(), []
    parser.StartElementHandler = lambda tag, _: heard.append(tag)

    assert parse(parser, b"<a><b/></a>") is None
    assert heard == ["a", "b"]


def test_a_namespace_stands_before_the_tag_where_it_is_asked_for():
    """So that any prefix of it will do."""
    parser, heard = made(namespace_separator=" "), []
    parser.StartElementHandler = lambda tag, _: heard.append(tag)
    parse(parser, b'<p:a xmlns:p="urn:x"/>')

    assert heard == ["urn:x a"]


def test_a_break_says_line_and_reason():
    """A file cut off in its second line."""
    found = parse(made(), b"<a>\n<b")

    assert str(found) == "line 2: unclosed token"
    assert found.error.lineno == 2


def test_an_encoding_that_nobody_knows_is_a_break():
    """Expat asks the library, which raises LookupError."""
    found = parse(made(), b'<?xml version="1.0" encoding="swirl"?><a/>')

    assert (found.line, found.why) == (1, "unknown encoding: swirl")


def test_a_document_type_is_refused_with_what_to_do():
    """It could define entities."""
    with pytest.raises(
        ReadError,
        match=r"a\.xyz, line 1: declares the document type 'a', which no XYZ file has, .*anew",
    ):
        parse(made(), b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>")


def test_misses_are_counted_and_told_with_their_first_place():
    """By reason; a doubt where something is lost, else a note."""
    parser = made()
    missed = Missed(parser)
    parser.StartElementHandler = lambda tag, _: tag != "a" and missed.miss(f"{tag} values", tag)
    parse(parser, b"<a>\n<b/><b/>\n<c/></a>")
    said = left_out(
        missed.skipped, missed.first, name="a.xyz", lost={"b": "left out"}, otherwise="not used"
    )

    assert [(one.level, one.text) for one in said] == [
        ("doubt", "2 b values, the first at line 2: b; left out"),
        ("note", "1 c values, the first at line 3: c; not used"),
    ]
