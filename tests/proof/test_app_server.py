"""The started page: on this machine only, and readable in a browser of any size."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import expect, sync_playwright

from routeprep.home import home

pytestmark = pytest.mark.proof

TITLE = "Before the drum comes"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
JOB = home() / "data" / "demo" / "job"

if CHROMIUM is None and not os.environ.get("CI"):
    pytest.skip("no chromium on this machine", allow_module_level=True)


def free_port():
    """A port that nobody listens on."""
    with closing(socket.socket()) as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


@pytest.fixture(scope="module")
def port(tmp_path_factory):
    """The port of a server started by ``routeprep app`` from another folder, ended in the end."""
    number = free_port()
    code = "from routeprep.cli import main; main()"
    options = ["--server.port", str(number), "--server.headless", "true"]
    place = tmp_path_factory.mktemp("server")
    with (place / "log").open("wb") as log:
        server = subprocess.Popen(
            [sys.executable, "-c", code, "app", *options],
            cwd=place,
            stdout=log,
            stderr=log,
            start_new_session=True,
        )
    try:
        wait_for(number, server, place / "log")
        yield number
    finally:
        os.killpg(server.pid, signal.SIGTERM)
        server.wait(timeout=20)


def wait_for(number, server, log):
    """Return once the server says that it is well."""
    for _ in range(150):
        assert server.poll() is None, log.read_text()
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{number}/_stcore/health", timeout=1):
                return
        except OSError:
            time.sleep(0.2)
    pytest.fail(f"no answer after 30 s: {log.read_text()}")


@pytest.fixture(scope="module")
def browser():
    """One chromium for all tests."""
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture(params=[(1366, 768), (390, 844)], ids=["laptop", "phone"])
def page(request, port, browser):
    """The page on a laptop's and a phone's screen; every request outside is noted."""
    width, height = request.param
    context = browser.new_context(
        viewport={"width": width, "height": height}, has_touch=width < 500, accept_downloads=True
    )
    opened = context.new_page()
    opened.outside = []
    opened.on("request", lambda one: note_outside(opened.outside, one.url, port))
    opened.goto(f"http://127.0.0.1:{port}/")
    yield opened
    context.close()


def note_outside(outside, url, port):
    """Keep an address that is not the server's own."""
    own = (f"http://127.0.0.1:{port}/", f"ws://127.0.0.1:{port}/", "data:", "blob:", "about:")
    if not url.startswith(own):
        outside.append(url)


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


def test_it_listens_on_this_machine_only(port):
    """One socket, on 127.0.0.1 (0100007F in the system's byte order)."""
    assert listening(port) == {"0100007F"}


def test_it_opens_with_its_title(page):
    """The page is there, and asks nobody outside for anything."""
    expect(page.get_by_role("heading", name=TITLE)).to_be_visible(timeout=20_000)
    expect(page).to_have_title(f"{TITLE} · routeprep")

    assert page.outside == []


def test_the_demo_shows_list_and_map_and_gives_the_pack(page, tmp_path):
    """One press shows the draft, the lists and the map; another takes the zip."""
    page.get_by_text("Show the demo").click()
    expect(page.get_by_text("DRAFT, NOT FOR CUTTING").first).to_be_visible(timeout=60_000)
    expect(page.get_by_test_id("stDataFrame").first).to_be_visible()
    frame = page.frame_locator("iframe[title='Map of the job']")
    expect(frame.locator("path, svg, canvas").first).to_be_visible(timeout=20_000)
    with page.expect_download() as taken:
        page.get_by_role("button", name="Download the pack").click()
    taken.value.save_as(tmp_path / "pack.zip")
    overflow = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")

    assert (tmp_path / "pack.zip").read_bytes().startswith(b"PK")
    assert overflow <= 0
    assert page.outside == []


def test_files_handed_over_in_the_browser_make_the_same_job(page):
    """A person chooses all files at once; folders do not matter."""
    chosen = [str(path) for path in sorted(JOB.rglob("*.*"))]
    page.get_by_test_id("stFileUploader").locator("input[type=file]").set_input_files(chosen)

    expect(page.get_by_text("DRAFT, NOT FOR CUTTING").first).to_be_visible(timeout=60_000)
