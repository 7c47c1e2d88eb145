"""The sheet looked at: as it was reviewed, at arm's length, copied three times, at night."""

import io
from collections.abc import Callable
from functools import cache

import numpy as np
import pypdf
import pytest
from scipy import ndimage
from sheets.made_packs import UNDECIDED, leg, pack, thing
from sheets.pictures import Grey, Spot, cut, pictures_of, texts_on
from sheets.reviewed import PAGES, drawn, kept

from routeprep.shapes import Pack
from routeprep.sheets.obstruction_sheet import render

# Pictures that differ by less than this everywhere, after a blur over 3 px, are one: what the
# edges of letters differ by from one release of the typesetter to the next.
_ALIKE, _BLUR_PX = 0.2, 3
DPI = 100.0

# One of each place across, and of each action.
ROWS = (
    ("curb or edge", "R1", "STOP"),
    ("outer wheel path", "R1", "LIFT"),
    ("between wheel paths", "R1", "GO AROUND"),
    ("inner wheel path", "L1", "SLOW"),
    ("outer wheel path", "L1", "HAND WORK"),
    ("whole road", "", "MILL OVER"),
    ("", "", "NOT DECIDED: STOP"),
)


def looks_alike(one: Grey, other: Grey) -> bool:
    """Whether nobody would tell two pictures of one page apart."""
    if one.shape != other.shape:
        return False
    blurred = [ndimage.uniform_filter(picture, _BLUR_PX) for picture in (one, other)]
    return float(np.abs(blurred[0] - blurred[1]).max()) < _ALIKE


@pytest.mark.parametrize("name", PAGES)
def test_a_page_looks_as_it_was_reviewed(name: str) -> None:
    """If this fails after a change that was meant: see ``reviewed.py`` for how to renew it."""
    assert looks_alike(drawn(name), kept(name))


def one_row(**changes: object) -> Grey:
    """The page of a list with one thing on it."""
    return pictures_of(lambda: render(pack([thing("A-1", 20.0, **changes)])), dpi=60.0)[1]


def test_a_word_that_changed_is_seen() -> None:
    """The comparison is no blind one: another action in one row is another picture."""
    first, second = (one_row(action="LIFT"), one_row(action="SKIP"))

    assert looks_alike(first, first)
    assert not looks_alike(first, second)


# --- told apart ------------------------------------------------------------------------------


@cache
def page() -> pypdf.PageObject:
    """The page of the list with a row of each sort."""
    return pypdf.PdfReader(io.BytesIO(render(_made()))).pages[1]


def _made() -> Pack:
    things = [
        thing(f"A-{k}", 7.0 + 41.3 * k, across=across, lane=lane,
              **(UNDECIDED if "NOT" in action else {"action": action}))
        for k, (across, lane, action) in enumerate(ROWS, start=1)
    ]  # fmt: skip
    return pack(things, legs=[leg("A")], withdrawn=())


@cache
def fresh() -> Grey:
    """Its picture."""
    return pictures_of(lambda: render(_made()), dpi=DPI)[1]


def spots() -> dict[str, list[Spot]]:
    """Where station, side and action of each row stand."""
    stations = [one for one in texts_on(page(), size_pt=20) if "+" in one.text]
    actions = [one for one in texts_on(page(), size_pt=16) if one.text in {row[2] for row in ROWS}]
    (head,) = [one for one in texts_on(page(), size_pt=10) if one.text == "WHERE"]
    sides = [Spot(one.text, head.x_pt, one.y_pt, 80.0, 18.0) for one in stations]
    return {"station": stations, "side": sides, "action": actions}


def _resemblance(one: Grey, other: Grey) -> float:
    """Correlation of two pictures of about one size."""
    rows, columns = (min(one.shape[k], other.shape[k]) for k in (0, 1))
    flat = [picture[:rows, :columns].ravel() - picture.mean() for picture in (one, other)]
    return float(flat[0] @ flat[1] / (np.linalg.norm(flat[0]) * np.linalg.norm(flat[1]) + 1e-12))


def told_apart(seen: Grey, what: str, *, known: Grey | None = None) -> float:
    """Share of the rows whose picture resembles its own fresh one more than any other row's."""
    known = fresh() if known is None else known
    places = spots()[what]
    asked = [cut(seen, page(), spot) for spot in places]
    answers = [cut(known, page(), spot) for spot in places]
    right = [
        max(range(len(answers)), key=lambda k: _resemblance(one, answers[k])) == k
        for k, one in enumerate(asked)
    ]
    return sum(right) / len(ROWS)


def reduced(picture: Grey, *, shift_px: int = 0) -> Grey:
    """A third of the size, from a place that is shifted so that no letter meets the same grid."""
    moved = np.roll(picture, (shift_px, shift_px), axis=(0, 1))
    rows, columns = (size // 3 * 3 for size in moved.shape)
    return moved[:rows, :columns].reshape(rows // 3, 3, columns // 3, 3).mean(axis=(1, 3))


def copied(picture: Grey, *, times: int = 3, blur_px: float = 0.7) -> Grey:
    """Copied again and again: each time blurred, spotted, and made black or white."""
    noise = np.random.default_rng(7)
    for _ in range(times):
        blurred = ndimage.gaussian_filter(picture, blur_px)
        spotted = blurred + noise.normal(0.0, 0.08, picture.shape)
        picture = (spotted > 0.5).astype(np.float64)
    return picture


def at_night(picture: Grey) -> Grey:
    """On a dimmed screen that is turned to white on black, seen by a grainy eye."""
    noise = np.random.default_rng(11)
    return (1.0 - picture) * 0.1 + noise.normal(0.0, 0.01, picture.shape)


WHAT = ("station", "side", "action")


@pytest.mark.parametrize("what", WHAT)
def test_at_arms_length_rows_are_told_apart(what: str) -> None:
    """At 100 dpi and a third of the size, with another grid than the picture it is held to."""
    assert told_apart(reduced(fresh(), shift_px=1), what, known=reduced(fresh())) == 1.0


@pytest.mark.parametrize(("what", "least_px"), [("station", 5), ("action", 4)])
def test_at_arms_length_letters_keep_height_and_darkness(what: str, least_px: int) -> None:
    """5 px is the least for capitals that are read easily, 4 px for words of a known set.

    Common practice of small screen type, no source.
    """
    small = reduced(fresh())
    for spot in spots()[what]:
        ink = cut(small, page(), spot).min(axis=1) < 0.5

        assert ink.sum() >= least_px


@pytest.mark.parametrize("what", WHAT)
def test_copied_three_times_rows_are_told_apart(what: str) -> None:
    """No meaning is in a shade."""
    assert told_apart(copied(fresh()), what) == 1.0


@pytest.mark.parametrize("what", WHAT)
def test_at_night_rows_are_told_apart(what: str) -> None:
    """White on black at a tenth of the light: the same picture turned about."""
    assert told_apart(-at_night(fresh()), what) == 1.0


@pytest.mark.parametrize("what", WHAT)
def test_who_cannot_see_cannot_tell(what: str) -> None:
    """The judge is no blind one: copied until nothing is left, the rows are one to it."""
    assert told_apart(copied(fresh(), times=3, blur_px=12.0), what) < 1.0


@pytest.mark.parametrize("worsen", [copied, at_night, reduced])
def test_a_row_with_another_side_is_not_taken_for_its_own(worsen: Callable[[Grey], Grey]) -> None:
    """Boxes that trade places are told apart from those that do not."""
    places = spots()["side"]
    picture = worsen(fresh())
    crossed, striped = (cut(picture, page(), places[k]) for k in (1, 6))

    assert _resemblance(crossed, striped) < 0.9


def test_nothing_is_grey() -> None:
    """Between black and white there are edges alone, two pixels of 200 dpi wide at most."""
    picture = pictures_of(lambda: render(_made()), dpi=200)[1]
    grey = (picture > 0.25) & (picture < 0.75)

    assert not ndimage.binary_erosion(grey, np.ones((3, 3))).any()
