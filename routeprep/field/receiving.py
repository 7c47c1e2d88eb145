"""What a phone sends, put into the store: each item once, or refused with the reason.

In go the items of one batch, out come the numbers that are durable in the store, which the phone
may drop, and those that are refused, which it keeps.  Job, author and role are those of the
phone's token, whatever the items say.
"""

import base64
import binascii
import datetime as dt
import hashlib
import re
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from routeprep.access import CREW, PHONE_FILES, may
from routeprep.entries import Entry, make_entry
from routeprep.errors import AccessError, EntryError
from routeprep.field.devices import Phone, Phones

__all__ = ["ITEMS_MOST", "receive"]

# Items of one batch; a phone sends some tens at a time.
ITEMS_MOST = 2000
_THING_MOST = 200
_FILE = re.compile(rf"{re.escape(PHONE_FILES)}[A-Za-z0-9][A-Za-z0-9._-]{{0,99}}")
_EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)
# Times up to the end of 2100 [ms].
_END_MS = 4_133_980_800_000
# An SQLite integer holds it, and JavaScript counts exactly that far.
_COUNTER_MOST = 2**53


@dataclass(slots=True, kw_only=True, eq=False)
class _Batch:
    """One batch on its way into the store."""

    phones: Phones
    phone: Phone
    device: str
    author: str
    ids: dict[int, str] = field(default_factory=dict)

    def parent(self, said: object) -> str:
        """The id of an earlier entry, named by its id or by this phone's number of it.

        Raises
        ------
        EntryError
            If it is not there.
        """
        if isinstance(said, str):
            return said
        if isinstance(said, int) and not isinstance(said, bool):
            sent = self.phones.sent(self.phone.job, self.device, said)
            found = self.ids.get(said) or (sent.entry_id if sent else "")
            if found:
                return found
        msg = f"what it follows, {said!r}, has not come; send that first"
        raise EntryError(msg)

    def body(self, kind: str, said: object) -> dict[str, object] | None:
        """What an item says; who says it is whose token it is.

        Raises
        ------
        EntryError
            If it is no table of JSON.
        """
        if said == {"removed": True}:
            return None
        if not isinstance(said, dict):
            msg = f"the body of a {kind} is {str(said)[:40]!r}; expected names and values"
            raise EntryError(msg)
        return said | ({"by": self.author} if "by" in said else {})

    def entry(self, item: Mapping[str, object], counter: int) -> Entry:
        """The entry that an item is.

        Raises
        ------
        EntryError
            If it is none.
        AccessError
            If a phone may not write such an entry, whoever holds it.
        """
        kind, thing, parents = item.get("kind"), item.get("thing"), item.get("parents", [])
        if not (isinstance(kind, str) and isinstance(thing, str) and isinstance(parents, list)):
            msg = f"kind is {str(kind)[:40]!r} and thing {str(thing)[:40]!r}; expected texts"
            raise EntryError(msg)
        if len(thing) > _THING_MOST or not thing.isprintable():
            msg = f"the thing {thing[:40]!r} is too long or holds signs that are no letters"
            raise EntryError(msg)
        made = make_entry(
            job=self.phone.job,
            kind=kind,
            thing=thing,
            body=self.body(kind, item.get("body")),
            author=self.author,
            device=self.device,
            counter=counter,
            time_utc=_time(item.get("time_ms")),
            parents=[self.parent(said) for said in parents],
        )
        # A phone is a crew's tool: also a superintendent's changes no settings and no decisions.
        if not may(CREW, made) or (kind == "file" and not _FILE.fullmatch(thing)):
            msg = f"a phone may not write {kind} {thing[:40]!r}"
            raise AccessError(msg)
        self.ids[counter] = made.entry_id
        return made

    def had(self, item: Mapping[str, object], counter: int) -> bool:
        """Whether an item came already with the token of somebody else who held this phone.

        Raises
        ------
        EntryError, AccessError
            As ``entry``.
        """
        sent = self.phones.sent(self.phone.job, self.device, counter)
        if sent is None or sent.author == self.author:
            return False
        same = replace(self, author=sent.author).entry(item, counter).entry_id == sent.entry_id
        if same:
            self.ids[counter] = sent.entry_id
        return same


def _time(said: object) -> dt.datetime | None:
    """The time of an item by the phone's clock; None if that is nowhere near."""
    if isinstance(said, bool) or not isinstance(said, int | float) or not 0 < said < _END_MS:
        return None
    return _EPOCH + dt.timedelta(milliseconds=round(said))


def _blob(item: Mapping[str, object], entry: Entry) -> dict[str, bytes]:
    """The bytes that come along with a file, by their sha256.

    Raises
    ------
    EntryError
        If they are no base64, or not those that the entry names.
    """
    said = item.get("bytes_base64")
    if said is None or entry.kind != "file":
        return {}
    try:
        data = base64.b64decode(str(said), validate=True)
    except (binascii.Error, ValueError) as error:
        msg = f"the bytes of {entry.thing[:40]!r} are no base64 ({error})"
        raise EntryError(msg) from error
    sha256 = hashlib.sha256(data).hexdigest()
    if sha256 != entry.body["sha256"]:
        msg = f"the bytes of {entry.thing[:40]!r} are not those that it names"
        raise EntryError(msg)
    return {sha256: data}


def _counter(item: object) -> int | None:
    """An item's number; None if it has none."""
    counter = item.get("counter") if isinstance(item, dict) else None
    if isinstance(counter, bool) or not isinstance(counter, int):
        return None
    return counter if 0 <= counter < _COUNTER_MOST else None


def _device(said: object) -> str:
    """The phone's own id; empty if it is no UUID."""
    try:
        return str(uuid.UUID(str(said)))
    except ValueError:
        return ""


def receive(
    phones: Phones, phone: Phone, *, device: object, items: Sequence[object]
) -> dict[str, object] | str:
    """Put a batch into the store.

    Parameters
    ----------
    phones
        What is known of phones, and the store.
    phone
        Whose token came with the batch.
    device
        The id that the phone made for itself.
    items
        As ``kind``, ``thing``, ``body``, ``time_ms``, ``parents``, ``counter`` each.

    Returns
    -------
    dict or str
        ``had`` and ``refused``; or why nothing of the batch can be taken.

    Raises
    ------
    OutputError
        If the store cannot keep it; nothing is lost, the phone still has all of it.
    """
    own = _device(device)
    if not own:
        return "The phone did not say its own id, a UUID."
    if any(_counter(item) is None for item in items):
        return "Each item needs a number, 0 or more, as its counter."
    batch = _Batch(phones=phones, phone=phone, device=own, author=phone.person.name)
    made: dict[int, tuple[Entry, dict[str, bytes]]] = {}
    refused: dict[int, str] = {}
    before: list[int] = []
    for item in items:
        counter = _counter(item)
        assert counter is not None and isinstance(item, dict)  # noqa: S101, PT018 - seen above
        try:
            if batch.had(item, counter):
                before.append(counter)
                continue
            entry = batch.entry(item, counter)
            made[counter] = entry, _blob(item, entry)
        except (EntryError, AccessError) as error:
            refused[counter] = str(error)
    had = [*before, *_append(batch, made, refused)]
    told = [{"counter": counter, "why": refused[counter]} for counter in sorted(refused)]
    return {"had": sorted(had), "refused": told}


def _append(
    batch: _Batch, made: Mapping[int, tuple[Entry, dict[str, bytes]]], refused: dict[int, str]
) -> list[int]:
    """Append all at once, or where one of them is refused each by itself, and say which are in."""
    store, person = batch.phones.store, batch.phone.person
    blobs = {sha: data for _, held in made.values() for sha, data in held.items()}
    try:
        store.append([entry for entry, _ in made.values()], blobs, by=person)
    except (EntryError, AccessError):
        had = []
        for counter, (entry, held) in made.items():
            try:
                store.append([entry], held, by=person)
                had.append(counter)
            except (EntryError, AccessError) as error:
                refused[counter] = str(error)
        return had
    return list(made)
