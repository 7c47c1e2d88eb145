"""Sheets as pictures, for tests that look: pages as grey arrays, and where things stand on them.

The pictures are drawn by the typesetter from the same template and data as the PDF, so that no
other program is needed; places on a page are read from the PDF itself.
"""

import io
import tempfile
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from typing import Any, NamedTuple
from unittest import mock

import numpy as np
import numpy.typing as npt
import pypdf
import typst
from PIL import Image

from routeprep.sheets import drawing, typesetting

Grey = npt.NDArray[np.float64]
POINTS_AN_INCH = 72.0


def pictures_of(draw: Callable[[], bytes], *, dpi: float) -> list[Grey]:
    """Each page of the sheet that ``draw`` typesets, 0 black to 1 white, at ``dpi`` [1/in]."""
    caught: dict[str, Any] = {}

    def catch(template: bytes, data: object, **_more: object) -> bytes:
        caught.update(template=template, data=data)
        return b""

    with mock.patch.object(drawing, "typeset", catch):
        draw()
    with tempfile.TemporaryDirectory() as folder:
        parts = resources.files("routeprep.sheets") / "sheet-parts.typ"
        shared = {"sheet-parts.typ": parts.read_bytes(), **typesetting._faces()}  # noqa: SLF001
        for name, content in shared.items():
            (Path(folder) / name).write_bytes(content)
        fonts = typst.Fonts(
            include_system_fonts=False, include_embedded_fonts=False, font_paths=[folder]
        )
        compiler = typst.Compiler(caught["template"], root=folder, font_paths=fonts)
        data = {"data": typesetting.json.dumps(caught["data"])}
        made = compiler.compile(format="png", ppi=dpi, sys_inputs=data)
    pages = made if isinstance(made, list) else [made]
    return [np.asarray(Image.open(io.BytesIO(page)).convert("L")) / 255.0 for page in pages]


class Spot(NamedTuple):
    """A piece of text, or a small picture, on a page: its left lower corner and size [pt]."""

    text: str
    x_pt: float
    y_pt: float
    width_pt: float
    height_pt: float


def texts_on(page: pypdf.PageObject, *, size_pt: float) -> list[Spot]:
    """Texts of one size on a page, in reading order, each as high as its type."""
    found: list[Spot] = []

    def visit(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
        if text.strip() and abs(abs(tm[0]) * size - size_pt) < 0.01:
            height = float(page.mediabox.height)
            x_pt = tm[4] * cm[0] + cm[4]
            y_pt = tm[5] * cm[3] + cm[5]
            y_pt = y_pt if y_pt >= 0 else y_pt + height
            found.append(
                Spot(text.strip(), x_pt, y_pt, 0.56 * size_pt * len(text.strip()), size_pt)
            )

    page.extract_text(visitor_text=visit)
    return found


def cut(picture: Grey, page: pypdf.PageObject, spot: Spot, *, margin_pt: float = 1.0) -> Grey:
    """The part of a page's picture that shows a spot."""
    scale = picture.shape[0] / float(page.mediabox.height)
    left, right = spot.x_pt - margin_pt, spot.x_pt + spot.width_pt + margin_pt
    low, high = spot.y_pt - 0.25 * spot.height_pt - margin_pt, spot.y_pt + spot.height_pt
    top = picture.shape[0] - round((high + margin_pt) * scale)
    bottom = picture.shape[0] - round(low * scale)
    return picture[max(0, top) : bottom, max(0, round(left * scale)) : round(right * scale)]
