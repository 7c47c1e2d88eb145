"""The desk: one stored job, looked at and worked on by several persons at once.

``look`` gives the job as its entries have it at one moment; each act says which look its author
had, so that two who did not see each other's act are told apart.  What takes long is kept and
made again only when what it hangs on has changed.
"""

import datetime as dt
import hashlib
import itertools
import threading
import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from routeprep.access import Person
from routeprep.current import Current, current_of, decision_thing
from routeprep.deciding import check_decisions
from routeprep.entries import Entry, make_entry
from routeprep.errors import JobError, RouteprepError
from routeprep.job import Grouped, finish, group, grouping
from routeprep.jobs import OpenedJob, read_stored, with_decided
from routeprep.packing import with_photos, zip_bytes
from routeprep.readers.jobfile import Inputs
from routeprep.sealing import seal
from routeprep.shapes import Decision, Pack
from routeprep.store import Store

__all__ = ["Act", "Desk", "Look"]

# How an entry's local date and time are written: text in order is time in order.
_WHEN = "%Y-%m-%d %H:%M"


class Act(NamedTuple):
    """What somebody does to one thing; body None takes it back."""

    kind: str
    thing: str
    body: Mapping[str, object] | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Look:
    """A stored job as its entries have it at one moment.

    Attributes
    ----------
    serial
        Of the newest entry.
    entries
        All of them, in the order they came to the store.
    current
        What they say.
    """

    serial: int
    entries: tuple[Entry, ...]
    current: Current


def _now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)


def _inputs_key(current: Current) -> tuple[object, ...]:
    """All that reading a job's files hangs on."""
    return (
        current.toml_name,
        current.toml_sha256,
        tuple(sorted(current.files.items())),
        tuple(one.entry_id for one in current.recorded),
    )


class Desk:
    """One stored job; shared by all who work on it in this process."""

    def __init__(self, store: Store, job: str, *, now: Callable[[], dt.datetime] = _now) -> None:
        """Sit down to a job, which may hold nothing yet.

        Parameters
        ----------
        store
            Where the job is kept.
        job
            Its name there.
        now
            The clock.
        """
        self.store, self.job = store, job
        self._now = now
        self._lock = threading.RLock()
        self._device = f"desk {uuid.uuid4()}"
        self._counter = itertools.count(1)
        self._look = Look(serial=0, entries=(), current=current_of(()))
        self._read: tuple[object, OpenedJob] | None = None
        self._grouped: tuple[object, Grouped] | None = None
        self._pack: tuple[int, Pack] | None = None

    # --- looking ----------------------------------------------------------------------------

    def look(self) -> Look:
        """The job as it is now; the same look while nothing changed."""
        with self._lock:
            serial = self.store.serial(self.job)
            if serial != self._look.serial:
                # What others append meanwhile belongs to the next look.
                more = self.store.entries(self.job, after=self._look.serial, upto=serial)
                entries = (*self._look.entries, *more)
                self._look = Look(serial=serial, entries=entries, current=current_of(entries))
            return self._look

    def opened(self, look: Look) -> OpenedJob:
        """The job's files read, without what was decided.

        Raises
        ------
        RouteprepError
            If they cannot be read; the message says what to mend.
        """
        key = _inputs_key(look.current)
        with self._lock:
            if self._read is None or self._read[0] != key:
                self._read = (key, read_stored(look.current, self.store.blob))
            return self._read[1]

    def inputs(self, look: Look) -> Inputs:
        """All that ``job.prepare`` needs; errors as ``opened``."""
        return with_decided(self.opened(look).inputs, look.current, self.store.blob)

    def pack(self, look: Look) -> Pack:
        """The pack as it stands; of an edit only what hangs on it is made again.

        Raises
        ------
        RouteprepError
            If the job cannot be prepared; the message says what to mend.
        """
        with self._lock:
            if self._pack is not None and self._pack[0] == look.serial:
                return self._pack[1]
            read, inputs = self.opened(look), self.inputs(look)
            check_decisions(inputs.decisions, kinds=inputs.settings.kinds)
            key = (
                _inputs_key(look.current),
                grouping(inputs.decisions, inputs.settings.kinds, inputs.survey),
            )
            if self._grouped is None or self._grouped[0] != key:
                made = group(inputs.survey, inputs.settings, inputs.decisions)
                self._grouped = (key, made)
            pack = finish(
                replace(self._grouped[1], settings=inputs.settings),
                inputs.decisions,
                inputs.numbers,
                issued=inputs.issued,
                remarks=inputs.remarks,
            )
            pack = with_photos(pack, read.files)
            self._pack = (look.serial, pack)
            return pack

    def history(self, look: Look, subjects: Iterable[str]) -> tuple[Entry, ...]:
        """Every entry on a thing, in the order they came.

        Parameters
        ----------
        look
            As the person has it.
        subjects
            Ids of the items of its evidence, its number, ``kind:CODE`` of its kind, or the
            thing of an entry.
        """
        wanted = set(subjects)
        about = ("anchor_id", "subject", "mark_id", "no")
        return tuple(
            one
            for one in look.entries
            if one.thing in wanted
            or any(one.body.get(name) in wanted for name in about)
            or self._before(look, one, wanted, about)
        )

    def _before(self, look: Look, one: Entry, wanted: set[str], about: Sequence[str]) -> bool:
        """Whether an entry takes back one that is about a thing."""
        if not one.removed:
            return False
        parents = [other for other in look.entries if other.entry_id in one.parents]
        return any(other.body.get(name) in wanted for other in parents for name in about)

    # --- acting -----------------------------------------------------------------------------

    def write(
        self,
        look: Look,
        person: Person,
        acts: Sequence[Act],
        blobs: Mapping[str, bytes] | None = None,
    ) -> tuple[Entry, ...]:
        """Write acts down, all or none; they are durable when this returns.

        Parameters
        ----------
        look
            What the person had before them: a thing's heads there become the entry's parents.
        person
            Who acts.
        acts
            What they do.
        blobs
            Bytes by sha256 that the acts name.

        Raises
        ------
        AccessError
            If the person's role does not allow it; nothing is written then.
        """
        now = self._now()
        entries = tuple(
            make_entry(
                job=self.job,
                kind=act.kind,
                thing=act.thing,
                body=act.body,
                author=person.name,
                device=self._device,
                counter=next(self._counter),
                time_utc=now,
                parents=[one.entry_id for one in look.current.heads.get(act[:2], ())],
            )
            for act in acts
        )
        self.store.append(entries, blobs, by=person)
        return entries

    def when(self, look: Look) -> str:
        """The local date and time of the job; UTC while its settings cannot be read."""
        try:
            zone: dt.tzinfo = self.opened(look).inputs.settings.timezone
        except RouteprepError:
            zone = dt.UTC
        return self._now().astimezone(zone).strftime(_WHEN)

    def _own(self, subject: str) -> str:
        """A thing of its own for what may be said many times of one subject."""
        return f"{subject} {uuid.uuid4()}"

    def decide(
        self, look: Look, person: Person, decided: Sequence[tuple[str, str, str]], *, why: str = ""
    ) -> tuple[Entry, ...]:
        """Decide fields of things, all or none.

        Parameters
        ----------
        look, person
            As ``write`` has them.
        decided
            Item id or ``kind:CODE``, field and value of each.
        why
            In the person's words.

        Raises
        ------
        JobError
            If a field or value is not known; AccessError as ``write``.
        """
        when = self.when(look)
        made = [
            Decision(anchor_id=item, field=field, value=value, by=person.name, when=when, why=why)
            for item, field, value in decided
        ]
        check_decisions(made, kinds=self.opened(look).inputs.settings.kinds)
        acts = [
            Act(
                "decision",
                decision_thing(one.anchor_id, one.field, one.value),
                {name: getattr(one, name) for name in type(one).__slots__},
            )
            for one in made
        ]
        return self.write(look, person, acts)

    def review(
        self, look: Look, person: Person, *, subject: str, says: str, text: str
    ) -> tuple[Entry, ...]:
        """Say something of a thing or of the whole list; arguments as ``remarks.Review``."""
        body = {
            "subject": subject, "says": says, "text": text, "by": person.name,
            "when": self.when(look), "seal": seal(self.pack(look)),
        }  # fmt: skip
        return self.write(look, person, [Act("review", self._own(subject), body)])

    def check(
        self, look: Look, person: Person, *, subject: str, says: str, text: str
    ) -> tuple[Entry, ...]:
        """Say what was found on the day; arguments as ``remarks.DayCheck``."""
        body = {
            "subject": subject, "says": says, "text": text, "by": person.name,
            "when": self.when(look),
        }  # fmt: skip
        return self.write(look, person, [Act("check", self._own(subject), body)])

    def put_files(
        self,
        look: Look,
        person: Person,
        files: Mapping[str, bytes],
        *,
        toml: tuple[str, bytes] | None = None,
    ) -> tuple[Entry, ...]:
        """Put input files into the job, and its TOML where it changes with them.

        Parameters
        ----------
        look, person
            As ``write`` has them.
        files
            Content by name relative to the TOML, with forward slashes.
        toml
            The TOML's name and content; None leaves it.
        """
        blobs = {hashlib.sha256(data).hexdigest(): data for data in files.values()}
        acts = [
            Act("file", name, {"sha256": hashlib.sha256(data).hexdigest()})
            for name, data in files.items()
        ]
        if toml is not None:
            sha256 = hashlib.sha256(toml[1]).hexdigest()
            blobs[sha256] = toml[1]
            acts.append(Act("settings", "settings", {"name": toml[0], "sha256": sha256}))
        return self.write(look, person, acts, blobs)

    def issue(self, look: Look, person: Person, *, paper: str) -> tuple[Entry, ...]:
        """Issue the list as it stands: numbers become permanent and the pack is kept.

        Parameters
        ----------
        look
            What the person has before them; it must be the newest.
        person
            Who issues.
        paper
            "letter", "a4" or "tabloid".

        Raises
        ------
        JobError
            If the list is a draft, or has changed since the person looked.
        """
        with self._lock:
            if self.look().serial != look.serial:
                msg = "somebody changed the job since you looked; look at it again, then issue"
                raise JobError(msg, serial=look.serial)
            pack = self.pack(look)
            if pack.draft:
                msg = f"a draft is not issued: {'; '.join(pack.draft)}"
                raise JobError(msg, draft=pack.draft)
            zipped = zip_bytes(pack, paper=paper)
            sha256 = hashlib.sha256(zipped).hexdigest()
            known = {one.no for one in look.current.numbers}
            acts = [
                Act("number", one.no, {name: getattr(one, name) for name in type(one).__slots__})
                for one in pack.numbers
                if one.no not in known
            ]
            revision = pack.settings.revision
            body = {
                "revision": revision, "seal": seal(pack), "pack": sha256, "by": person.name,
                "when": self.when(look),
            }  # fmt: skip
            acts.append(Act("issue", revision, body))
            return self.write(look, person, acts, {sha256: zipped})

    def hand_over(
        self, look: Look, person: Person, *, revision: str, to: str, how: str
    ) -> tuple[Entry, ...]:
        """Note down who got a copy of an issue, and how."""
        body = {
            "revision": revision, "to": to, "how": how, "by": person.name,
            "when": self.when(look),
        }  # fmt: skip
        return self.write(look, person, [Act("copy", self._own(revision), body)])
