"""Photos that say nothing to the marks that they were taken of.

In go the parts of a job's files, out come the same parts: a photo without words is evidence for
the mark made nearest to it in time or place, and no mark of its own.
"""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.geodesy import segment_lengths_m
from routeprep.readers.photos import SILENT
from routeprep.shapes import Finding, Part
from routeprep.tables import rows_of

__all__ = ["PHOTO_JOINT", "attach_photos"]

# Between the names of several photos of one mark.
PHOTO_JOINT = " | "

# A photo is of the mark made within so much of it, in time [s] or else in place [m]; whoever was
# farther off at that time made another mark [m]: 45 mph for 10 s.  Common practice, no source.
_NEAR_S = 10.0
_NEAR_M = 10.0
_ELSEWHERE_M = 200.0
# Words that stand in so many photos and are not understood were put in by the camera.
_CAMERAS_OWN = 3
# Photos that a finding names one by one.
_SHOWN = 20

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Marks:
    """Marks that photos can be of."""

    ids: npt.NDArray[np.object_]
    seconds: Floats
    lon_deg: Floats
    lat_deg: Floats

    def apart_m(self, lon_deg: float, lat_deg: float) -> Floats:
        """How far each is from a place [m]; NaN when one of the two has none."""
        lon = np.column_stack([np.full(len(self.ids), lon_deg), self.lon_deg]).ravel()
        lat = np.column_stack([np.full(len(self.ids), lat_deg), self.lat_deg]).ravel()
        return segment_lengths_m(lon, lat, elevation_m=0.0)[::2]

    def of(self, photo: Mapping[str, object]) -> str:
        """The id of the mark that a photo is of; empty when none is near."""
        if not len(self.ids):
            return ""
        apart_m = self.apart_m(_number(photo["lon_deg"]), _number(photo["lat_deg"]))
        apart_s = np.abs(self.seconds - _seconds(photo["time_utc"]))
        by_time = np.where(apart_m > _ELSEWHERE_M, math.nan, apart_s)
        for values, most in ((by_time, _NEAR_S), (apart_m, _NEAR_M)):
            near = np.flatnonzero(values <= most)
            if len(near):
                order = sorted(near.tolist(), key=lambda row: (values[row], self.ids[row]))
                return str(self.ids[order[0]])
        return ""


def _number(value: object) -> float:
    return float(value) if isinstance(value, float) else math.nan


def _seconds(value: object) -> float:
    """Seconds since 1970 [s], NaN for no time."""
    return value.timestamp() if isinstance(value, pd.Timestamp) else math.nan


def _is_photo(part: Part) -> bool:
    return part.source.what == "photo"


def _cameras_own(parts: Sequence[Part]) -> frozenset[str]:
    """Words that many photos share and that say no kind: the camera wrote them."""
    counts = Counter(
        mark["words"]
        for part in parts
        if _is_photo(part)
        for mark in rows_of(part.marks)
        if not mark["kind"]
    )
    return frozenset(words for words, count in counts.items() if count >= _CAMERAS_OWN) | {SILENT}


def _candidates(parts: Sequence[Part]) -> _Marks:
    tables = [part.marks for part in parts if len(part.marks)]
    rows = {row["mark_id"]: row for table in tables for row in rows_of(table)}
    ids = sorted(rows)
    return _Marks(
        ids=np.array(ids, dtype=object),
        seconds=np.array([_seconds(rows[one]["time_utc"]) for one in ids], dtype=np.float64),
        lon_deg=np.array([rows[one]["lon_deg"] for one in ids], dtype=np.float64),
        lat_deg=np.array([rows[one]["lat_deg"] for one in ids], dtype=np.float64),
    )


def _with_photos(part: Part, photos: Mapping[str, Sequence[str]]) -> Part:
    """The part with the names of the photos in the marks that they are of."""
    if not set(photos) & set(part.marks["mark_id"]):
        return part
    named = [
        PHOTO_JOINT.join(filter(None, (own, *photos.get(mark_id, ()))))
        for own, mark_id in zip(part.marks["photo"], part.marks["mark_id"], strict=True)
    ]
    return replace(part, marks=part.marks.assign(photo=pd.array(named, dtype="str")))


def _counted(part: Part, mark_id: str) -> Part:
    """A silent photo's part: no mark of its own, and what became of it among its counts."""
    what = "photos of marks" if mark_id else "photos that belong to nothing yet"
    return replace(part, marks=part.marks.iloc[:0], source=replace(part.source, taken={what: 1}))


def _told(photo: Mapping[str, object]) -> str:
    """A photo's name with its time and place, as far as they are known."""
    time, lon_deg, lat_deg = photo["time_utc"], photo["lon_deg"], photo["lat_deg"]
    facts = [f"{time:%Y-%m-%d %H:%M:%S} UTC"] if isinstance(time, pd.Timestamp) else []
    facts += [f"{lat_deg:.5f}, {lon_deg:.5f}"] if math.isfinite(_number(lat_deg)) else []
    return f"{photo['photo']} ({'; '.join(facts) or 'neither time nor place'})"


def _findings(
    silent: Sequence[Mapping[str, object]], found: Sequence[str], own: frozenset[str]
) -> Iterator[Finding]:
    for words in sorted(own - {SILENT}):
        text = (
            f"the words {words!r} stand in {_CAMERAS_OWN} photos or more and say no kind: they are "
            "taken as the camera's own"
        )
        yield Finding(level="note", where="photos", text=text)
    taken = sum(map(bool, found))
    if taken:
        text = (
            f"{taken} photos without words are put to the mark made within {_NEAR_S:g} s or "
            f"{_NEAR_M:g} m of them"
        )
        yield Finding(level="note", where="photos", text=text)
    loose = [_told(photo) for photo, mark_id in zip(silent, found, strict=True) if not mark_id]
    if loose:
        more = f" and {len(loose) - _SHOWN} more" if len(loose) > _SHOWN else ""
        text = (
            f"photos that belong to nothing yet: {len(loose)} say nothing, and no mark was made "
            f"within {_NEAR_S:g} s or {_NEAR_M:g} m of them; look at them and add marks: "
            f"{', '.join(loose[:_SHOWN])}{more}"
        )
        yield Finding(level="doubt", where="photos", text=text)


def _said_once(parts: Sequence[Part]) -> tuple[list[Part], list[Finding]]:
    """The photos' parts without findings, and the findings, those of one text said once."""
    where: dict[tuple[str, str], list[str]] = {}
    for part in parts:
        for one in part.findings:
            where.setdefault((one.level, one.text), []).append(one.where)
    findings = []
    for level, text in sorted(where):
        names = sorted(where[level, text])
        more = f" and {len(names) - 1} more photos" if len(names) > 1 else ""
        findings.append(Finding(level=level, where=f"{names[0]}{more}", text=text))
    return [replace(part, findings=()) for part in parts], findings


def attach_photos(parts: Sequence[Part]) -> tuple[list[Part], list[Finding]]:
    """Put each photo that says nothing to the mark made near it, and say which are left over.

    Parameters
    ----------
    parts
        One a file, in any order.

    Returns
    -------
    tuple of list and list
        The parts, and what was noticed about all photos together.
    """
    photos, findings = _said_once([part for part in parts if _is_photo(part)])
    photos = sorted(photos, key=lambda part: part.source.name)
    own = _cameras_own(photos)
    silent = [part for part in photos if part.marks["words"].isin(own).all()]
    others = [part for part in parts if not _is_photo(part)]
    others += [part for part in photos if part not in silent]
    marks = _candidates(others)
    taken_of = [rows_of(part.marks)[0] for part in silent]
    found = [marks.of(photo) for photo in taken_of]
    names: dict[str, list[str]] = {}
    for photo, mark_id in zip(taken_of, found, strict=True):
        names.setdefault(mark_id, []).append(str(photo["photo"]))
    names.pop("", None)
    made = [_with_photos(part, names) for part in others]
    made += [_counted(part, mark_id) for part, mark_id in zip(silent, found, strict=True)]
    return made, [*findings, *_findings(taken_of, found, own)]
