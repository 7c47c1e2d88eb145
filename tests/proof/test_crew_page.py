"""The crew page in a browser: the list kept on the phone, what is ahead, ticks and finds."""

import datetime as dt
import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import stored_job
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect
from sheets.made_packs import HOSTILE, leg, pack, thing
from sheets.made_plans import SURE, THINGS, planned
from starlette.applications import Starlette
from strategies import line_from_xy

from routeprep.access import CREW, SUPERINTENDENT, Person
from routeprep.current import current_of
from routeprep.entries import make_entry
from routeprep.field import new_token
from routeprep.field.handout import handout
from routeprep.field.pairing import Offers
from routeprep.field.routes import routes
from routeprep.locating import place
from routeprep.shapes import Pack
from routeprep.store import Store, open_store

CHROMIUM = shutil.which("chromium")
PHONE = {"width": 390, "height": 844}
TARGET_PX = 60
LOWEST_CONTRAST = 4.5
JOB = "test job (invented)"
ANA = Person(name="Ana (invented)", role=SUPERINTENDENT)
pytestmark = [
    pytest.mark.proof,
    pytest.mark.skipif(CHROMIUM is None, reason="no program named chromium on the PATH"),
]


def job_pack(**changes: object) -> Pack:
    """Eleven things on one street with passes, the first with a hostile note, and one gone."""
    things = [
        thing("A-1", 20.0, note=HOSTILE, doubt="near tie; lane not sure"),
        *THINGS[1:],
        thing("A-12", 250.0, **SURE, status="gone (J. Doe, 2026-05-30)", note="not there"),
    ]
    gone = (("A-13", "A", "joined with A-3"),)
    return planned(things=things, withdrawn=gone, **changes)


class Office:
    """A store, and the server of the phone's routes, which can be stopped and started again."""

    def __init__(self, folder: Path, *, job: str = JOB) -> None:
        self.job = job
        self.address = f"sqlite:///{folder / 'store.db'}"
        self.offers = Offers()
        self.pack = job_pack()
        self.asked = 0
        with closing(socket.socket()) as one:
            one.bind(("127.0.0.1", 0))
            self.port = int(one.getsockname()[1])
        self.server: uvicorn.Server | None = None
        self.thread: threading.Thread | None = None

    @property
    def origin(self) -> str:
        """Where phones find it."""
        return f"http://127.0.0.1:{self.port}"

    def store(self) -> Store:
        """The store, opened anew."""
        return open_store(self.address)

    def paired(self) -> str:
        """A code for a phone of the crew."""
        now = dt.datetime.now(dt.UTC)
        made = new_token(name="R. Sample", role=CREW, by=ANA.name, now=now)
        entry = make_entry(
            job=self.job, kind="device", thing=made.thing, body=made.body, author=ANA.name,
            device="desk", counter=int(now.timestamp() * 1e6), time_utc=now,
        )  # fmt: skip
        store = self.store()
        store.append([entry], by=ANA)
        store.close()
        return self.offers.offer(made.token)

    def _listed(self, _store: Store, _job: str) -> Mapping[str, object]:
        self.asked += 1
        return handout(self.pack)

    def start(self) -> None:
        """Answer; the list is that of ``pack``, or of a stored job as its desk has it."""
        listed = self._listed if self.job == JOB else None
        app = Starlette(routes=routes(self.store, offers=self.offers, listed=listed))
        config = uvicorn.Config(app, host="127.0.0.1", port=self.port, log_level="critical")
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        while not self.server.started:
            time.sleep(0.02)

    def stop(self) -> None:
        """Be gone."""
        if self.server is not None and self.thread is not None:
            self.server.should_exit = True
            self.server.force_exit = True
            self.thread.join(timeout=20)
        self.server = None

    def entries(self, kind: str) -> list[tuple[str, dict[str, object]]]:
        """Thing and body of the entries of a kind, in the order they came."""
        store = self.store()
        found = [(one.thing, dict(one.body)) for one in store.entries(self.job) if one.kind == kind]
        store.close()
        return found


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Office]:
    """An office that answers."""
    one = Office(tmp_path)
    one.start()
    yield one
    one.stop()


class Phone:
    """The crew page on a paired phone, with all that its console said."""

    def __init__(self, context: BrowserContext, office: Office) -> None:
        self.office = office
        self.page: Page = context.new_page()
        self.said: list[str] = []
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("dialog", lambda dialog: self.said.append(dialog.message))
        self.pair()
        self.open()

    def pair(self) -> None:
        """Pair it as its holder does, by the address of the picture."""
        self.page.goto(f"{self.office.origin}/field/drive/#pair={self.office.paired()}")
        self.page.wait_for_timeout(500)

    def open(self) -> None:
        """Open the crew page."""
        self.page.goto(f"{self.office.origin}/field/crew/")
        expect(self.page.locator("#picked")).to_contain_text("STATIONS COUNT")

    def go(self, view: str) -> None:
        """One of the four buttons at the bottom."""
        self.page.locator("nav").get_by_role("button", name=view).click()

    def type(self, station: str) -> None:
        """Type a station."""
        self.page.locator("#station").fill(station)
        self.page.locator("#place").get_by_role("button", name="Go").click()

    def pick(self, title: str) -> None:
        """Pick a pass and direction."""
        self.page.locator("#picked").click()
        self.page.locator(".way", has_text=title).first.click()

    def cards(self) -> list[tuple[str, str]]:
        """Number and feet of the three that are next."""
        return [
            (one.locator(".no").inner_text(), one.locator(".far").inner_text())
            for one in self.page.locator(".card").all()
        ]

    def at(self) -> Locator:
        """Where the page says that the person is."""
        return self.page.locator("#at")


def opened(browser: Browser, **more: object) -> BrowserContext:
    """A phone's browser."""
    return browser.new_context(
        viewport=PHONE, has_touch=True, reduced_motion="reduce", service_workers="allow", **more
    )  # type: ignore[arg-type]


@pytest.fixture
def phone(browser: Browser, office: Office) -> Iterator[Phone]:
    """A paired phone whose page makes no error."""
    context = opened(browser)
    one = Phone(context, office)
    yield one
    assert one.said == []
    context.close()


# --- the list ------------------------------------------------------------------------------------


def numbers(phone: Phone) -> list[str]:
    """The numbers of the list as it is shown, top to bottom."""
    return phone.page.locator("#whole .list .no").all_inner_texts()


def test_the_whole_list_is_there_with_no_connection(phone: Phone) -> None:
    """Opened once; then the office is gone, the page is opened anew, and all of it works."""
    phone.go("List")
    before = numbers(phone)
    phone.office.stop()
    phone.page.reload()
    phone.go("List")
    after = numbers(phone)
    phone.go("Ahead")
    phone.type("11+00")

    assert before == after
    assert sorted(before, key=lambda no: int(no[2:])) == [f"A-{k}" for k in range(1, 14)]
    assert phone.cards() == [("A-2", "100 ft"), ("A-3", "300 ft"), ("A-4", "550 ft")]
    expect(phone.page.locator("#age")).to_contain_text("No word from the office since")
    expect(phone.page.locator("#age")).to_contain_text("whether it has a newer list is not known")


def test_each_direction_has_its_own_order_and_hands(phone: Phone) -> None:
    """What lies on YOUR RIGHT up-station lies on YOUR LEFT down-station."""
    phone.go("List")
    up, where = numbers(phone), phone.page.locator("#whole .row .where").all_inner_texts()
    phone.go("Ahead")
    phone.pick("STATIONS COUNT DOWN")
    phone.go("List")
    down = numbers(phone)
    turned = phone.page.locator("#whole .row .where").all_inner_texts()

    assert down == up[::-1]
    assert [one.replace("YOUR LEFT", "YOUR RIGHT") for one in turned[::-1]] == where
    assert "YOUR LEFT, outer wheel path" in turned


def test_a_pass_shows_what_it_meets_and_says_what_it_leaves_out(phone: Phone) -> None:
    """The outer pass runs against traffic and meets four things."""
    phone.pick("OUTSIDE HALF, pass A R2")
    phone.go("List")

    assert numbers(phone) == ["A-4", "A-3", "A-2", "A-1"]
    expect(phone.page.locator("#whole")).to_contain_text("AGAINST TRAFFIC")
    expect(phone.page.locator("#whole")).to_contain_text("What this pass does not meet")


def test_a_hostile_note_is_words(phone: Phone) -> None:
    """In list and card letter by letter; nothing of it runs, which the phone's end checks."""
    phone.go("List")
    phone.page.locator("#whole .note", has_text="cycler").wait_for()
    notes = phone.page.locator("#whole .note").all_text_contents()
    phone.go("Ahead")
    phone.type("10+00")
    card = phone.page.locator(".card .note").all_text_contents()

    assert HOSTILE in notes
    assert HOSTILE in card
    assert phone.page.locator("main script, main img").count() == 0


def test_what_is_gone_or_withdrawn_is_struck_through(phone: Phone) -> None:
    """Both stay in their place, with why."""
    phone.go("List")
    line = "one => getComputedStyle(one).textDecorationLine"
    withdrawn = phone.page.locator("#whole .withdrawn")
    gone = phone.page.locator("#whole .row.struck .here")

    assert withdrawn.locator("s").inner_text() == "A-13"
    assert withdrawn.locator("s").evaluate(line) == "line-through"
    expect(withdrawn).to_contain_text("joined with A-3")
    assert gone.locator(".no").inner_text() == "A-12"
    assert gone.evaluate(line) == "line-through"


def test_a_newer_list_is_told_and_taken_when_the_person_says_so(phone: Phone) -> None:
    """Nothing changes under a finger; a page that is opened anew takes it by itself."""
    pack = phone.office.pack
    phone.office.pack = replace(pack, settings=replace(pack.settings, revision="D"), draft=())
    phone.page.evaluate("window.dispatchEvent(new Event('online'))")
    newer = phone.page.locator("#newer")
    newer.wait_for()
    expect(phone.page.locator("#age")).to_contain_text("Revision C")
    expect(phone.page.locator("#age")).to_contain_text("THE OFFICE HAS A NEWER LIST")
    expect(phone.page.locator("#draft")).to_be_visible()
    newer.click()

    expect(phone.page.locator("#age")).to_contain_text("Revision D")
    expect(phone.page.locator("#draft")).to_be_hidden()
    expect(newer).to_be_hidden()
    phone.office.pack = pack
    phone.page.reload()
    expect(phone.page.locator("#age")).to_contain_text("Revision C")


def test_draft_seal_and_cautions_can_be_read(phone: Phone) -> None:
    """On the page of everything else; whom it is for stands on every page."""
    phone.go("More")
    about = phone.page.locator("#about")

    expect(about).to_contain_text("1 of 7 things are not decided")
    expect(about).to_contain_text("EXPECT IRON THAT IS NOT ON THIS LIST")
    expect(about).to_contain_text(f"Seal {handout(phone.office.pack)['crew']['seal']}")  # type: ignore[index]
    for view in ("Ahead", "List", "Found", "More"):
        phone.go(view)
        expect(phone.page.locator("#stand")).to_contain_text("Not for the platform.")


# --- where the person is -------------------------------------------------------------------------


def test_what_is_ahead_of_a_typed_station(phone: Phone) -> None:
    """11+00 is 30.48 m along; A-2 lies at 60 m, 96.8 ft on; a wrong station is refused."""
    phone.type("11+00")
    expect(phone.at()).to_have_text("At A 11+00, typed")
    first = phone.cards()
    phone.type("77+00")

    assert first == [("A-2", "100 ft"), ("A-3", "300 ft"), ("A-4", "550 ft")]
    expect(phone.page.locator("#which")).to_have_text("Leg A has no station 77+00")
    assert phone.cards() == first


def test_what_is_ahead_of_a_thing_that_is_tapped(phone: Phone) -> None:
    """It is HERE itself."""
    phone.go("List")
    phone.page.locator("#whole .row .here", has_text="A-4").click()

    assert phone.cards()[0] == ("A-4", "HERE")
    expect(phone.at()).to_contain_text("tapped A-4")
    expect(phone.page.locator("#after s")).to_have_text("A-12 sewer manhole 24 in")


def fix(along_m: float, *, beside_m: float = 2.0, accuracy_m: float = 10.0) -> dict[str, float]:
    """What a phone's receiver says at a place of leg A, which runs east: 1.2e-5 degrees a metre."""
    return {
        "longitude": -96.1 + along_m * 1.2e-5,
        "latitude": 41.2 - beside_m / 111_000,
        "accuracy": accuracy_m,
    }


def test_what_is_ahead_of_the_phones_own_position(browser: Browser, office: Office) -> None:
    """250 m along is 18+20; 10 m that the phone reports are ±45 ft; walking on moves it."""
    context = opened(browser, permissions=["geolocation"], geolocation=fix(250.0))
    one = Phone(context, office)
    one.page.locator("#gps").click()
    expect(one.at()).to_have_text("At A 18+20, GPS ±45 ft.")
    first = one.cards()
    context.set_geolocation(fix(318.0))
    expect(one.at()).to_contain_text("20+45")
    second = one.cards()
    context.set_geolocation(fix(250.0, accuracy_m=40.0))
    expect(one.at()).to_contain_text("POOR: type a station")
    context.set_geolocation(fix(250.0, beside_m=300.0))
    expect(one.page.locator("#which")).to_contain_text("GPS has you 975 ft from the line")
    gone = one.cards()
    context.close()

    assert first == [("A-5", "225 ft"), ("A-6", "250 ft"), ("A-7", "825 ft")]
    assert second == [("A-5", "HERE"), ("A-6", "50 ft"), ("A-7", "600 ft")]
    assert gone == []
    assert one.said == []


def test_a_position_that_stays_out_is_said_to_be_old(browser: Browser, office: Office) -> None:
    """Half a minute later, with no new one; the list's own age is told too."""
    context = opened(browser, permissions=["geolocation"], geolocation=fix(250.0))
    context.clock.install()
    one = Phone(context, office)
    one.page.locator("#gps").click()
    expect(one.at()).to_have_text("At A 18+20, GPS ±45 ft.")
    one.page.clock.fast_forward(120_000)
    expect(one.at()).to_contain_text("OLD: 2 min ago.")
    expect(one.page.locator("#age")).to_contain_text("2 min ago")
    context.close()

    assert one.said == []


def test_of_two_places_nearly_as_near_the_person_picks_one(
    browser: Browser, office: Office
) -> None:
    """In a hairpin 20 m wide; walking on, the page stays on the arm that was picked."""
    hairpin = line_from_xy([[0.0, 0.0], [0.0, 400.0], [20.0, 400.0], [20.0, 0.0]])
    bent = replace(leg("A", length_m=820.0), line=hairpin)
    office.pack = pack([thing("A-1", 90.0), thing("A-2", 700.0)], legs=(bent,), withdrawn=())

    def between(along_m: float) -> dict[str, float]:
        lon_deg, lat_deg = place(hairpin, np.array([along_m]), np.array([9.0]))
        return {"longitude": float(lon_deg[0]), "latitude": float(lat_deg[0]), "accuracy": 5.0}

    context = opened(browser, permissions=["geolocation"], geolocation=between(100.0))
    one = Phone(context, office)
    one.page.locator("#gps").click()
    asked = one.page.locator("#which button")
    expect(asked).to_have_text(["13+30", "33+60"])
    context.set_geolocation(between(104.0))
    expect(asked).to_have_text(["13+40", "33+50"])
    asked.nth(1).click()
    expect(one.at()).to_contain_text("33+50")
    context.set_geolocation(between(112.0))
    expect(one.at()).to_contain_text("33+25")
    asked_again = asked.count()
    context.close()

    assert asked_again == 0
    assert one.said == []


def test_a_refused_position_is_said_and_a_station_still_works(phone: Phone) -> None:
    """No leave was given."""
    phone.page.locator("#gps").click()
    expect(phone.page.locator("#trouble")).to_contain_text("The browser gives no position")
    phone.type("11+00")

    assert phone.cards()[0] == ("A-2", "100 ft")


# --- ticks and finds -----------------------------------------------------------------------------


def tick(phone: Phone, no: str) -> None:
    """Tick a card off, or back on."""
    phone.page.get_by_role("button", name=f"{no} ticked").click()


def find(phone: Phone, words: str, *, hand: str = "YOUR RIGHT") -> None:
    """Note down what was found."""
    phone.go("Found")
    phone.page.get_by_label("What it is").fill(words)
    phone.page.get_by_role("button", name=hand).click()
    phone.page.get_by_role("button", name="Keep it").click()
    phone.page.locator("#find .row", has_text=words).wait_for()


def wait_for(found: Callable[[], int], count: int) -> None:
    """Until so many came; half a minute at most."""
    for _ in range(150):
        if found() >= count:
            return
        time.sleep(0.2)
    pytest.fail(f"{found()} came, expected {count}")


def test_what_is_ticked_is_crossed_and_stays(phone: Phone) -> None:
    """Never what to do.  Also after the page is opened anew; ticked back on, it is plain."""
    phone.type("11+00")
    tick(phone, "A-2")
    pressed = phone.page.get_by_role("button", name="A-2 ticked")
    expect(pressed).to_have_attribute("aria-pressed", "true")
    crossed = "one => getComputedStyle(one).textDecorationLine"
    line = phone.page.locator(".card.done .what").evaluate(crossed)
    do = phone.page.locator(".card.done .do").evaluate(crossed)
    still = phone.cards()
    phone.page.reload()
    phone.type("11+00")
    kept = phone.page.locator(".card.done .no").all_inner_texts()
    tick(phone, "A-2")
    expect(pressed).to_have_attribute("aria-pressed", "false")

    assert (line, do) == ("line-through", "none")
    assert still[0] == ("A-2", "100 ft")
    assert kept == ["A-2"]


def test_ticks_and_finds_made_with_no_connection_arrive_once(phone: Phone) -> None:
    """The office gone, the page opened anew in between; afterwards each is in the store once."""
    phone.office.stop()
    phone.type("11+00")
    for no in ("A-2", "A-3", "A-3"):
        tick(phone, no)
    phone.pick("WHOLE STREET, STATIONS COUNT DOWN")
    find(phone, "unknown lid")
    phone.page.reload()
    phone.type("20+00")
    find(phone, "rail", hand="whole road")
    phone.go("More")
    expect(phone.page.locator("#about")).to_contain_text("5 not sent yet")
    assert phone.office.entries("tick") == []
    phone.office.start()
    phone.page.evaluate("window.dispatchEvent(new Event('online'))")
    wait_for(lambda: len(phone.office.entries("tick") + phone.office.entries("found")), 5)
    phone.page.reload()
    phone.page.wait_for_timeout(1500)
    phone.go("More")
    expect(phone.page.locator("#about")).to_contain_text("All ticks and finds are sent.")
    ticks, finds = phone.office.entries("tick"), phone.office.entries("found")
    store = phone.office.store()
    current = current_of(store.entries(JOB))
    store.close()

    assert [(thing, body["done"]) for thing, body in ticks] == [
        ("anchor A-2", True), ("anchor A-3", True), ("anchor A-3", False),
    ]  # fmt: skip
    assert current.done == {"anchor A-2"}
    assert [(body["no"], body["words"], body["across"]) for _, body in finds] == [
        ("T1", "unknown lid", "left side"), ("T2", "rail", "whole road"),
    ]  # fmt: skip
    assert [body["by"] for _, body in ticks + finds] == ["R. Sample"] * 5
    assert [body["along_m"] for _, body in finds] == [30.48, 304.8]
    assert len(phone.office.entries("device")) == 1


def test_a_find_that_is_taken_back_is_crossed_and_taken_back_in_the_store(phone: Phone) -> None:
    """Its number is not proposed again."""
    phone.type("11+00")
    find(phone, "lid")
    phone.page.get_by_role("button", name="Take back").click()
    expect(phone.page.locator("#find .row.done")).to_contain_text("taken back")
    wait_for(lambda: len(phone.office.entries("found")), 2)
    store = phone.office.store()
    current = current_of(store.entries(JOB))
    store.close()

    assert current.found == ()
    assert phone.page.get_by_label("Number, as painted").input_value() == "T2"


def test_a_find_without_a_place_or_words_is_not_kept(phone: Phone) -> None:
    """And what is missing is said."""
    phone.go("Found")
    phone.page.get_by_role("button", name="Keep it").click()
    expect(phone.page.locator("#trouble")).to_contain_text("Say where you are first")
    phone.go("Ahead")
    phone.type("11+00")
    phone.go("Found")
    phone.page.get_by_role("button", name="Keep it").click()
    expect(phone.page.locator("#trouble")).to_contain_text("Say what it is.")

    assert phone.page.locator("#find .row").count() == 0


# --- how it looks --------------------------------------------------------------------------------


def enlarged(phone: Phone, share: float) -> None:
    """Text larger by so much, as the browser's own setting makes it."""
    phone.page.evaluate("size => { document.documentElement.style.fontSize = size; }", f"{share}%")


@pytest.mark.parametrize(("percent", "wanted"), [(100, 3), (150, 1)])
def test_the_next_one_needs_no_scrolling(phone: Phone, percent: int, wanted: int) -> None:
    """All three at the usual size; the next one, whole, with text half as large again."""
    enlarged(phone, percent)
    phone.pick("INSIDE HALF, pass A R1")
    phone.type("11+00")
    phone.page.locator(".card").first.wait_for()
    top = phone.page.locator("nav").bounding_box()
    boxes = [one.bounding_box() for one in phone.page.locator(".card .do").all()]

    assert top is not None
    assert sum(box is not None and box["y"] + box["height"] <= top["y"] for box in boxes) >= wanted
    assert phone.page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]


@pytest.mark.parametrize("percent", [100, 150])
def test_what_is_touched_is_large(phone: Phone, percent: int) -> None:
    """60 px either way, in every view."""
    enlarged(phone, percent)
    phone.type("11+00")
    small: list[object] = []
    for view in ("Ahead", "List", "Found", "More", "pick"):
        if view == "pick":
            phone.go("Ahead")
            phone.page.locator("#picked").click()
        else:
            phone.go(view)
        for one in phone.page.locator("button:visible, input:visible, select:visible").all():
            box = one.bounding_box()
            if box is None or min(box["width"], box["height"]) < TARGET_PX:
                small.append((view, one.inner_text(), box))

    assert small == []


_CONTRAST = """() => {
    const light = (color) => {
        const [r, g, b] = color.match(/[0-9.]+/g).map(Number).map((part) => {
            const share = part / 255;
            return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
        });
        return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    const ground = (one) => {
        const color = getComputedStyle(one).backgroundColor;
        const through = color === "rgba(0, 0, 0, 0)" && one.parentElement;
        return through ? ground(one.parentElement) : color;
    };
    return [...document.querySelectorAll("p, span, button, s, h2, h3, label")]
        .filter((one) => one.offsetParent && one.textContent.trim())
        .map((one) => {
            const pair = [light(getComputedStyle(one).color), light(ground(one))];
            return (Math.max(...pair) + 0.05) / (Math.min(...pair) + 0.05);
        });
}"""


def test_it_can_be_read_by_day_and_by_night(phone: Phone) -> None:
    """Dark at first; every text stands out in both."""
    ground = "getComputedStyle(document.body).backgroundColor"
    night = phone.page.evaluate(ground)
    phone.go("More")
    phone.page.get_by_role("button", name="Day colours").click()
    day = phone.page.evaluate(ground)
    least = []
    for light in ("Night colours", "Day colours"):
        for view in ("Ahead", "List", "Found", "More"):
            phone.go(view)
            least.append(min(phone.page.evaluate(_CONTRAST)))
        phone.page.get_by_role("button", name=light).click()
    expect(phone.page.get_by_role("button", name="Night colours")).to_be_visible()
    phone.page.reload()

    assert (night, day) == ("rgb(0, 0, 0)", "rgb(255, 255, 255)")
    assert min(least) >= LOWEST_CONTRAST
    expect(phone.page.locator("body")).to_have_css("background-color", day)


def test_a_phone_that_is_not_paired_says_so(browser: Browser, office: Office) -> None:
    """And how it is paired."""
    context = opened(browser)
    page = context.new_page()
    page.goto(f"{office.origin}/field/crew/")
    expect(page.locator("#age")).to_contain_text("No list on this phone yet")
    context.close()


def shown_whole(phone: Phone) -> list[str]:
    """The numbers on the page of the whole list."""
    phone.go("List")
    expect(phone.page.locator("#whole .list .no").first).to_be_visible()
    return numbers(phone)


def test_an_ended_pairing_is_told_and_takes_nothing_away(phone: Phone) -> None:
    """The list stays, with what was ticked; that no newer one comes is said."""
    before = shown_whole(phone)
    phone.page.evaluate("OUTBOX.put('token', 'ended')")
    phone.page.reload()
    expect(phone.page.locator("#age")).to_contain_text("THE PAIRING HAS ENDED")

    assert shown_whole(phone) == before != []


def test_what_is_decided_at_the_office_comes_as_a_newer_list(
    browser: Browser, tmp_path: Path
) -> None:
    """A stored job as its desk has it: a manhole at 60 m is decided while the page is open."""
    office = Office(tmp_path, job=stored_job.JOB)
    store = office.store()
    desk = stored_job.stored(store)
    office.start()
    context = opened(browser)
    one = Phone(context, office)
    one.go("List")
    first = one.page.locator("#whole .do").first
    expect(first).to_have_text("NOT DECIDED: STOP")
    anchor = str(desk.pack(desk.look()).obstructions["anchor_id"].iloc[0])
    desk.decide(desk.look(), ANA, [(anchor, "action", "LIFT")])
    one.page.evaluate("window.dispatchEvent(new Event('online'))")
    one.page.locator("#newer").click()
    expect(first).to_have_text("LIFT")
    one.go("Ahead")
    one.type("11+00")
    tick(one, "A-1")
    wait_for(lambda: len(office.entries("tick")), 1)
    done = desk.look().current.done
    context.close()
    office.stop()
    store.close()

    assert done == {anchor}
    assert one.said == []
