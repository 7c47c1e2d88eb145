"""The phone's routes: what is refused, what is kept, and that all of it is kept once."""

import base64
import datetime as dt
import hashlib
import json
import sys

import pytest
import stored_job
from field.asking import HOST, OWN, ask, post
from field.phones import DEVICE, DRIVE, drive_body, fix, fixes_body, item, mark_body
from starlette.applications import Starlette

from routeprep.access import CREW, SUPERINTENDENT, Person
from routeprep.entries import make_entry
from routeprep.errors import OutputError
from routeprep.field.answers import BODY_MOST
from routeprep.field.assets import assets
from routeprep.field.devices import Phones
from routeprep.field.pairing import OFFERS, Offers, new_token, pairing_address, qr_code
from routeprep.field.receiving import ITEMS_MOST
from routeprep.field.routes import TOKEN, routes
from routeprep.store import open_store

JOB = "test job"
ANA = Person(name="Ana (invented)", role=SUPERINTENDENT)
BEGIN = dt.datetime(2026, 9, 21, 14, 0, tzinfo=dt.UTC)
PHOTO = b"a photo (invented)"
FILE = "phone/11111111-0000-4000-8000-000000000001.jpg"


class Office:
    """A store with one phone's token, and the application that a phone asks."""

    def __init__(self, folder, *, job=JOB):
        self.job = job
        self.store = open_store(f"sqlite:///{folder / 'store.db'}")
        self.now_s = 0.0
        self.offers = Offers(lambda: self.now_s)
        self.app = Starlette(routes=routes(lambda: self.store, offers=self.offers))
        self.token, self.device = self.paired()

    def paired(self, name="R. Sample", role=CREW, **changes):
        """A token for somebody, and its entry."""
        now = dt.datetime.now(dt.UTC)
        made = new_token(name=name, role=role, by=ANA.name, now=now)
        entry = make_entry(
            job=self.job, kind="device", thing=made.thing, body=made.body | changes,
            author=ANA.name, device="desk", counter=self.store.serial(self.job) + 1, time_utc=now,
        )  # fmt: skip
        self.store.append([entry], by=ANA)
        return made.token, entry

    def send(self, *items, token=None, device=DEVICE, **headers):
        """The answer to a batch."""
        content = {"device": device, "items": list(items)}
        given = {TOKEN: self.token if token is None else token} | headers
        return post(self.app, "/field/items", content, **given)

    def kept(self):
        """What phones have sent, as kind and thing."""
        all_ = self.store.entries(self.job)
        return [(one.kind, one.thing) for one in all_ if one.kind != "device"]


@pytest.fixture
def office(tmp_path):
    """An office with a phone."""
    one = Office(tmp_path)
    yield one
    one.store.close()


def drive_items():
    """A drive with fixes, a mark and its photo, a later word on the mark."""
    sha256 = hashlib.sha256(PHOTO).hexdigest()
    return [
        item(1, "drive", DRIVE, drive_body()),
        item(2, "fixes", f"{DRIVE} 1", fixes_body(fix(0), fix(1))),
        item(3, "mark", "mark-1", mark_body()),
        item(4, "file", FILE, {"sha256": sha256}, bytes_base64=base64.b64encode(PHOTO).decode()),
        item(5, "mark", "mark-1", mark_body(photo=FILE), parents=[3]),
    ]


def why(answer):
    """The sentence of a refusal."""
    return answer.json["why"]


# --- what is kept ---------------------------------------------------------------------------------


def test_a_drive_is_kept_and_a_replayed_batch_adds_nothing(office):
    """The phone sends again what it has no word of."""
    first = office.send(*drive_items())
    again = office.send(*drive_items())

    assert (first.status, again.status) == (200, 200)
    assert first.json == again.json == {"had": [1, 2, 3, 4, 5], "refused": []}
    assert len(office.kept()) == len(drive_items())
    assert office.store.blob(hashlib.sha256(PHOTO).hexdigest()) == PHOTO
    assert first.headers["cache-control"] == "no-store"


def test_a_later_batch_follows_an_earlier_one_by_its_number(office):
    """A mark taken back in a batch of its own."""
    office.send(*drive_items())
    got = office.send(item(6, "mark", "mark-1", {"removed": True}, parents=[5]))
    last = list(office.store.entries(JOB))[-1]

    assert got.json == {"had": [6], "refused": []}
    assert last.removed
    assert len(last.parents) == 1


def test_a_parent_may_be_named_by_its_id(office):
    """An office's entry has no number on the phone."""
    office.send(*drive_items())
    (mark,) = [one.entry_id for one in office.store.entries(JOB) if one.counter == 5]
    got = office.send(item(6, "mark", "mark-1", {"removed": True}, parents=[mark]))

    assert got.json["had"] == [6]


def test_who_says_it_is_whose_token_it_is(office):
    """Not whom the phone names."""
    office.send(item(1, "mark", "mark-1", mark_body(by="somebody else")))
    (entry,) = [one for one in office.store.entries(JOB) if one.kind == "mark"]

    assert (entry.author, entry.body["by"]) == ("R. Sample", "R. Sample")


def test_what_came_under_the_token_of_who_held_the_phone_before_is_not_kept_twice(office):
    """The office's word of it was lost, then the phone was paired for another person."""
    office.send(*drive_items())
    token, _ = office.paired(name="T. Other (invented)")
    after = item(6, "mark", "mark-1", mark_body(note="more"), parents=[5])
    got = office.send(*drive_items(), after, token=token)

    assert got.json == {"had": [1, 2, 3, 4, 5, 6], "refused": []}
    assert len(office.kept()) == len(drive_items()) + 1


def test_another_item_under_a_number_that_was_used_is_refused(office):
    """A phone whose database was put back counts from anew; the first stands."""
    office.send(item(1, "drive", DRIVE, drive_body()))
    token, _ = office.paired(name="T. Other (invented)")
    same = office.send(item(1, "mark", "mark-1", mark_body()))
    other = office.send(item(1, "mark", "mark-1", mark_body()), token=token)

    assert [one["counter"] for one in same.json["refused"]] == [1]
    assert [one["counter"] for one in other.json["refused"]] == [1]
    assert office.kept() == [("drive", DRIVE)]


def test_an_odd_time_is_left_out(office):
    """A phone whose clock is at no day at all."""
    odd = [-1, 1e18, True, "noon"]
    office.send(*(item(n, "mark", f"m{n}", mark_body(), time_ms=one) for n, one in enumerate(odd)))
    found = [one.time_utc for one in office.store.entries(JOB) if one.kind == "mark"]

    assert found == [None] * len(odd)


# --- what is refused ------------------------------------------------------------------------------

WRONG = [
    (item(2, "decision", "A action", {}), "body has"),
    (item(2, "nothing", "x", {}), "kind 'nothing'"),
    (item(2, "mark", "m", "words"), "expected names and values"),
    (item(2, "mark", 7, mark_body()), "expected texts"),
    (item(2, "mark", "m\n", mark_body()), "no letters"),
    (item(2, "mark", "m" * 300, mark_body()), "too long"),
    (item(2, "mark", "m", mark_body(), parents=[99]), "has not come"),
    (item(2, "mark", "m", mark_body(), parents=[True]), "has not come"),
    (item(2, "mark", "m", mark_body(), parents="1"), "expected texts"),
    (item(2, "file", "job.toml", {"sha256": "0" * 64}), "may not write file"),
    (item(2, "file", "phone/../job.toml", {"sha256": "0" * 64}), "phone/../job.toml"),
    (item(2, "file", FILE, {"sha256": "0" * 64}, bytes_base64="%"), "no base64"),
    (item(2, "file", FILE, {"sha256": "0" * 64}, bytes_base64="aaaa"), "not those"),
    (item(2, "device", "a" * 64, {"name": "x", "role": "crew", "until": "", "by": ""}), "may not"),
]


@pytest.mark.parametrize(("wrong", "said"), WRONG, ids=range(len(WRONG)))
def test_what_a_phone_may_not_write_is_refused_alone(office, wrong, said):
    """What came along with it is kept."""
    got = office.send(item(1, "drive", DRIVE, drive_body()), wrong)

    assert got.json["had"] == [1]
    assert [one["counter"] for one in got.json["refused"]] == [2]
    assert said in got.json["refused"][0]["why"]
    assert office.kept() == [("drive", DRIVE)]


def test_also_a_superintendents_phone_changes_no_decision(office):
    """A phone is a crew's tool, whoever holds it."""
    token, _ = office.paired(name=ANA.name, role=SUPERINTENDENT)
    names = ("anchor_id", "field", "value", "by", "when", "why")
    body = dict.fromkeys(names, "x")
    got = office.send(item(1, "decision", "x action", body), token=token)

    assert "a phone may not write decision" in got.json["refused"][0]["why"]
    assert office.kept() == []


def test_where_the_store_refuses_one_the_others_are_kept(office):
    """A file whose bytes never came, in one batch with a drive."""
    lost = item(2, "file", FILE, {"sha256": "0" * 64})
    got = office.send(item(1, "drive", DRIVE, drive_body()), lost)

    assert got.json["had"] == [1]
    assert [one["counter"] for one in got.json["refused"]] == [2]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ([], "Expected items"),
        ({"items": {}}, "Expected items"),
        ({"device": DEVICE, "items": [{}] * (ITEMS_MOST + 1)}, "Expected items"),
        ({"device": "me", "items": []}, "own id"),
        ({"device": DEVICE, "items": ["x"]}, "needs a number"),
        ({"device": DEVICE, "items": [{"counter": True}]}, "needs a number"),
        ({"device": DEVICE, "items": [{"counter": -1}]}, "needs a number"),
    ],
)
def test_what_is_no_batch_is_refused_whole(office, content, said):
    """With the sentence of what is wrong."""
    got = post(office.app, "/field/items", content, **{TOKEN: office.token})

    assert (got.status, said in why(got)) == (400, True)
    assert office.kept() == []


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"origin": "https://elsewhere.example"}, 403),
        ({"origin": "null"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"content-type": "application/x-www-form-urlencoded"}, 415),
        ({"content-type": "text/plain"}, 415),
        ({"content-type": ""}, 415),
        ({"content-length": str(BODY_MOST + 1)}, 413),
        ({"content-length": "many"}, 413),
        ({TOKEN: "no such token"}, 401),
        ({TOKEN: ""}, 401),
        ({TOKEN: "x" * 1000}, 401),
    ],
)
def test_foreign_origins_forms_too_much_and_unknown_tokens_change_nothing(office, headers, status):
    """Each is refused before anything is read."""
    body = json.dumps({"device": DEVICE, "items": drive_items()}).encode()
    given = OWN | {TOKEN: office.token} | headers
    got = ask(office.app, "POST", "/field/items", headers=given, body=body)

    assert got.status == status
    assert why(got)
    assert office.kept() == []


def test_a_post_that_does_not_say_from_where_is_refused(office):
    """Browsers always say it."""
    given = {"content-type": "application/json", TOKEN: office.token}
    got = ask(office.app, "POST", "/field/items", headers=given, body=b"{}")

    assert got.status == 403


def test_more_than_it_said_is_refused_while_it_comes(office):
    """Without a length in its head."""
    pieces = [b" " * (BODY_MOST // 2 + 1)] * 2
    given = OWN | {TOKEN: office.token}
    got = ask(office.app, "POST", "/field/items", headers=given, body=pieces)

    assert got.status == 413


@pytest.mark.parametrize("body", [b"{", b"\xff", b"[" * 200_000])
def test_what_is_no_json_is_refused(office, body):
    """Also what is nested without end."""
    given = OWN | {TOKEN: office.token}
    got = ask(office.app, "POST", "/field/items", headers=given, body=body)

    assert (got.status, "no JSON" in why(got)) == (400, True)


# --- tokens ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("until", ["2020-01-01T00:00:00+00:00", "2020-01-01T00:00:00", "never"])
def test_an_expired_token_is_refused_in_words_that_say_nothing_is_lost(office, until):
    """The phone keeps all it has until it is paired again."""
    token, _ = office.paired(until=until)
    got = office.send(*drive_items(), token=token)

    assert (got.status, "still on it" in why(got)) == (401, True)
    assert office.kept() == []
    assert office.send(*drive_items()).json["had"] == [1, 2, 3, 4, 5]


def test_a_revoked_token_is_refused_at_once(office):
    """Also by a server that has answered it before."""
    before = office.send()
    taken = make_entry(
        job=JOB, kind="device", thing=office.device.thing, body=None, author=ANA.name,
        device="desk", counter=99, time_utc=BEGIN, parents=[office.device.entry_id],
    )  # fmt: skip
    office.store.append([taken], by=ANA)

    assert before.status == 200
    assert office.send().status == 401


def test_a_code_is_exchanged_once_for_its_token(office):
    """As a person types it."""
    code = office.offers.offer(office.token).lower()
    typed = f" {code[:4]}-{code[4:]} "
    first, second = (post(office.app, "/field/pair", {"code": typed}) for _ in range(2))

    assert first.json == {"token": office.token}
    assert (second.status, "make a new one" in why(second)) == (403, True)


def test_a_code_ends_after_ten_minutes(office):
    """Also the right one."""
    code = office.offers.offer(office.token)
    office.now_s = 601.0

    assert post(office.app, "/field/pair", {"code": code}).status == 403


def test_guessing_is_stopped_for_a_while(office):
    """Nobody is answered; a minute later the right code still works."""
    code = office.offers.offer(office.token)
    wrong = [post(office.app, "/field/pair", {"code": "wrong"}).status for _ in range(10)]
    during = post(office.app, "/field/pair", {"code": code}).status
    office.now_s = 61.0

    assert (wrong, during) == ([403] * 10, 429)
    assert post(office.app, "/field/pair", {"code": code}).json == {"token": office.token}


@pytest.mark.parametrize("content", [[], {}, {"code": 7}])
def test_what_is_no_code_is_refused(office, content):
    """Without a guess at what was meant."""
    assert post(office.app, "/field/pair", content).status == 403


def test_pairing_takes_only_json_from_its_own_page(office):
    """A form of another page gets nothing."""
    got = ask(office.app, "POST", "/field/pair", headers={"origin": "https://elsewhere.example"})

    assert got.status == 403


def test_the_address_for_a_phone_keeps_its_code_from_every_server():
    """What stands after # is not sent."""
    address = pairing_address(f"https://{HOST}/", "ABCD1234")

    assert address == f"https://{HOST}/field/drive/#pair=ABCD1234"
    assert qr_code(address).startswith("data:image/svg+xml")
    assert OFFERS.take("") == ""


# --- what is handed out ---------------------------------------------------------------------------


def test_the_status_says_which_job_and_whose(office):
    """So that the page can show it."""
    got = ask(office.app, "GET", "/field/status", headers={TOKEN: office.token})
    told = got.json

    assert (told["job"], told["name"], told["role"]) == (JOB, "R. Sample", CREW)
    assert told["time_ms"] > 0
    assert dt.datetime.fromisoformat(told["until"]) > dt.datetime.now(dt.UTC)


@pytest.mark.parametrize("path", ["/field/status", "/field/list"])
def test_nothing_is_told_without_a_token_or_to_another_page(office, path):
    """Reads are guarded as writes are."""
    foreign = {TOKEN: office.token, "origin": "https://elsewhere.example"}

    assert ask(office.app, "GET", path).status == 401
    assert ask(office.app, "GET", path, headers=foreign).status == 403


def test_the_list_is_the_jobs_own(tmp_path):
    """Kinds met most on the job come first; what was searched for in vain comes along."""
    office = Office(tmp_path, job=stored_job.JOB)
    stored_job.stored(office.store, decided=True)
    got = ask(office.app, "GET", "/field/list", headers={TOKEN: office.token})
    office.store.close()

    assert got.status == 200
    assert got.json["kinds"][0]["name"] == "sewer manhole"
    assert got.json["legs"] == [{"code": "A", "name": "Elm St (invented)"}]
    assert not {"stations", "what hid the road"} & {one["group"] for one in got.json["kinds"]}


def test_a_job_without_a_list_says_so(office):
    """Only phones are in the store."""
    got = ask(office.app, "GET", "/field/list", headers={TOKEN: office.token})

    assert (got.status, "no list yet" in why(got)) == (409, True)


def test_an_office_that_cannot_keep_it_says_that_the_phone_does(office, monkeypatch):
    """The store fails at reading, or at writing."""

    def broken(*_, **__):
        msg = "the disk is full"
        raise OutputError(msg)

    monkeypatch.setattr(sys.modules["routeprep.field.routes"], "receive", broken)
    writing = office.send(*drive_items())
    other = Starlette(routes=routes(broken, offers=office.offers))
    reading = post(other, "/field/items", {"items": []}, **{TOKEN: "x"})

    assert (writing.status, reading.status) == (503, 503)
    assert "the phone keeps it" in why(writing)


# --- pages ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("page", ["drive", "crew"])
def test_a_page_is_sent_with_nothing_of_others_allowed(office, page):
    """No script but the page's own files."""
    led = ask(office.app, "GET", f"/field/{page}")
    got = ask(office.app, "GET", f"/field/{page}/")
    policy = got.headers["content-security-policy"]

    assert (led.status, led.headers["location"]) == (307, f"{page}/")
    assert (got.status, got.headers["content-type"]) == (200, "text/html; charset=utf-8")
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy


@pytest.mark.parametrize("path", ["/field/none/", "/field/none.js", "/field/..%2Froutes.py"])
def test_there_is_nothing_but_the_pages(office, path):
    """No path leads out of the folder."""
    assert ask(office.app, "GET", path).status == 404


def test_the_service_worker_keeps_every_file_that_the_pages_name(office):
    """And changes when one of them does."""
    worker = ask(office.app, "GET", "/field/sw.js")
    told = worker.body.decode()
    pages = [assets()[f"{page}.html"].content.decode() for page in ("drive", "crew")]
    named = {part.split('"')[0] for page in pages for part in page.split('"../')[1:]}

    assert worker.headers["content-type"] == "text/javascript; charset=utf-8"
    assert '"VERSION"' not in told
    assert '["SHELL"]' not in told
    assert named
    assert all(f'"{name}"' in told for name in (*named, "drive/", "crew/"))


def test_every_file_that_a_page_names_is_there(office):
    """A missing script would stop the page."""
    for page in ("drive", "crew"):
        text = ask(office.app, "GET", f"/field/{page}/").body.decode()
        for part in text.split('"../')[1:]:
            name = part.split('"')[0]
            assert ask(office.app, "GET", f"/field/{name}").status == 200, name


def test_phones_of_a_store_are_read_anew_only_where_something_came(office):
    """A token and a number, and none."""
    phones = Phones(lambda: office.store)
    office.send(item(1, "drive", DRIVE, drive_body()))
    phone = phones.of(office.token)

    assert phone is not None
    assert phones.sent(JOB, DEVICE, 1).author == "R. Sample"
    assert phones.sent(JOB, DEVICE, 2) is None
