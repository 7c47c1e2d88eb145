"""The started pages: on this machine only, shared with who signs in, readable on any screen."""

import os
import shlex
import subprocess
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from office_server import (
    CHROMIUM,
    LAPTOP,
    PHONE,
    WORDS,
    demo,
    made,
    named,
    office_server,
    seen,
    signed_in,
    turned,
)
from playwright.sync_api import expect

from routeprep.access import CREW, SUPERINTENDENT, TRAFFIC_LEAD
from routeprep.admission import hashed
from routeprep.home import home

pytestmark = pytest.mark.proof

TITLE = "Before the drum comes"
JOB = home() / "data" / "demo" / "job"
# Every page of a job, by its title.
PAGES = ("The job", "Files", "In the road", "Review", "On the day", "Issue", "History", "Phones")

if CHROMIUM is None and not os.environ.get("CI"):
    pytest.skip("no chromium on this machine", allow_module_level=True)


@pytest.fixture(scope="module")
def address(tmp_path_factory):
    """The address of one office's pages."""
    with office_server(tmp_path_factory.mktemp("office")) as at:
        yield at


def listening(number):
    """Local addresses that listen on a port, as the system lists them."""
    lines = [
        line.split()
        for name in ("/proc/net/tcp", "/proc/net/tcp6")
        if Path(name).exists()
        for line in Path(name).read_text().splitlines()[1:]
    ]
    return {one[1].partition(":")[0] for one in lines
            if one[3] == "0A" and int(one[1].partition(":")[2], 16) == number}  # fmt: skip


def test_it_listens_on_this_machine_only(address):
    """One socket, on 127.0.0.1 (0100007F in the system's byte order)."""
    assert listening(urlsplit(address).port) == {"0100007F"}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_every_page_fits_its_screen_and_asks_nobody_outside(browser, address, size, scheme):
    """By day and by night, without sideways scrolling and without an error."""
    with seen(browser, address, size, scheme=scheme) as page:
        demo(named(page))
        for title in PAGES:
            turned(page, title)
            made(page)
            overflow = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
            assert (title, overflow <= 0) == (title, True)
            assert page.get_by_test_id("stException").count() == 0
        night = page.evaluate("getComputedStyle(document.querySelector('.stApp')).backgroundColor")
        assert page.outside == []
        assert night == ("rgb(255, 255, 255)" if scheme == "light" else "rgb(11, 11, 11)")


def test_files_handed_over_in_the_browser_make_the_same_job(browser, address):
    """A person chooses all files at once; folders do not matter."""
    chosen = [str(path) for path in sorted(JOB.rglob("*.*"))]
    with seen(browser, address) as page:
        named(page)
        page.get_by_test_id("stFileUploader").locator("input[type=file]").set_input_files(chosen)
        page.get_by_role("button", name="Bring these in").click()

        expect(page.get_by_text("Brought in and opened.")).to_be_visible(timeout=60_000)


def test_a_file_beyond_the_limit_is_refused(browser, address, tmp_path):
    """The page says so; nothing is kept of it."""
    large = tmp_path / "large.gpx"
    with large.open("wb") as out:
        out.truncate(51 * 1024 * 1024)
    with seen(browser, address) as page:
        turned(demo(named(page)), "Files")
        uploader = page.get_by_test_id("stFileUploader")
        uploader.locator("input[type=file]").set_input_files(large)

        expect(page.get_by_text("must be 50.0MB or smaller")).to_be_visible(timeout=60_000)
        expect(page.get_by_role("button", name="Add these")).to_have_count(0)


def test_the_job_is_taken_along_in_one_file(browser, address, tmp_path):
    """A GeoPackage: an SQLite file."""
    with seen(browser, address) as page:
        demo(named(page))
        with page.expect_download() as taken:
            page.get_by_role("button", name="Take the job along").click()
        taken.value.save_as(tmp_path / "job.gpkg")

    assert (tmp_path / "job.gpkg").read_bytes().startswith(b"SQLite format 3\0")


@pytest.fixture(scope="module")
def shared(tmp_path_factory):
    """The address of pages that a proxy passes on, and whose office has three members."""
    place = tmp_path_factory.mktemp("shared")
    people = [
        f'[[person]]\nname = "{name}"\nrole = "{role}"\nargon2 = "{hashed(WORDS)}"\n'
        for name, role in (("Ann", SUPERINTENDENT), ("Lee", TRAFFIC_LEAD), ("Cy", CREW))
    ]
    (place / "office.toml").write_text("format = 1\n" + "".join(people))
    with office_server(place) as at:
        yield at


def test_each_role_is_offered_what_it_may_and_nothing_else(browser, shared):
    """The superintendent brings the job in, and the others find no way to change it."""
    with seen(browser, shared) as page:
        demo(signed_in(page, "Ann"))
    for name in ("Lee", "Cy"):
        with seen(browser, shared) as page:
            signed_in(page, name)
            assert page.get_by_role("button", name="Bring").count() == 0
            page.get_by_role("button", name="Bluestem Road").click()
            expect(page.get_by_text("Open:")).to_be_visible(timeout=30_000)
            turned(page, "Files")
            assert page.get_by_test_id("stFileUploader").count() == 0
            turned(page, "Phones")
            assert page.get_by_role("button", name="Make a code").count() == 0
            turned(page, "The job")
            expect(page.get_by_role("button", name="Keep this").first).to_be_disabled()
            turned(page, "Issue")
            assert page.get_by_role("button", name="Issue", exact=True).count() == 0


def test_pages_without_members_let_nobody_in_who_comes_through_a_proxy(browser, address):
    """Such a page is reached from elsewhere, and nobody is named who may."""
    context = browser.new_context(extra_http_headers={"X-Forwarded-For": "192.0.2.7"})
    page = context.new_page()
    page.goto(address)
    expect(page.get_by_text("can be reached from other machines")).to_be_visible(timeout=30_000)

    assert page.get_by_label("Your name").count() == 0
    context.close()


def test_a_wrong_passphrase_opens_nothing(browser, shared):
    """One sentence, whatever was wrong."""
    with seen(browser, shared) as page:
        page.get_by_label("Name", exact=True).fill("Ann")
        page.get_by_label("Passphrase").first.fill("guessed words here")
        page.get_by_role("button", name="Sign in", exact=True).click()

        expect(page.get_by_text("do not go together")).to_be_visible(timeout=30_000)


def test_the_certificate_of_the_readme_makes_the_page_speak_https(browser, tmp_path):
    """By the command as it stands there; a browser that trusts it has a secure page."""
    readme = (home() / "README.md").read_text()
    command = readme[readme.index("openssl req") :].partition("\n\n")[0].replace("\\\n", " ")
    subprocess.run(shlex.split(command), cwd=tmp_path, check=True, capture_output=True)
    options = ["--server.sslCertFile", "truck.crt", "--server.sslKeyFile", "truck.key"]
    with office_server(tmp_path, options=options, scheme="https") as at:
        context = browser.new_context(ignore_https_errors=True)
        page = context.new_page()
        page.goto(at)
        expect(page.get_by_label("Your name")).to_be_visible(timeout=30_000)
        assert page.evaluate("isSecureContext")
        context.close()
