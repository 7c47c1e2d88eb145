"""What a reader finds on each page of a PDF."""

import io

import pypdf


def pages_of(pdf: bytes) -> list[str]:
    """The text of each page in reading order, blanks and line ends as single spaces."""
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    return [" ".join(page.extract_text().split()) for page in reader.pages]
