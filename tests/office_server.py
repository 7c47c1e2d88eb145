"""The pages' server as its users start it, and a browser before it, for the proofs."""

import os
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.request
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import expect

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
# Of a certificate that a test has made for itself.
_ANY_CERTIFICATE = ssl._create_unverified_context()  # noqa: S323, SLF001
LAPTOP, PHONE = (1366, 768), (390, 844)
# The passphrase of all who sign in.
WORDS = "four words of a crew"


def free_port():
    """A port that nobody listens on."""
    with closing(socket.socket()) as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def wait_for(address, server, log):
    """Return once the server says that it is well."""
    for _ in range(150):
        assert server.poll() is None, log.read_text()
        try:
            asked = f"{address}/_stcore/health"
            with urllib.request.urlopen(asked, timeout=1, context=_ANY_CERTIFICATE):  # noqa: S310
                return
        except OSError:
            time.sleep(0.2)
    pytest.fail(f"no answer after 30 s: {log.read_text()}")


@contextmanager
def office_server(place: Path, *, port=None, options=(), scheme="http"):
    """The address of a server started by ``routeprep app`` in a folder that holds its office.

    Its store is ``jobs.db`` there, the office's file ``office.toml``, what it logs ``log``.
    """
    number = port or free_port()
    code = "from routeprep.cli import main; main()"
    own = {
        "ROUTEPREP_STORE": f"sqlite:///{place / 'jobs.db'}",
        "ROUTEPREP_OFFICE": str(place / "office.toml"),
    }
    given = ["--server.port", str(number), "--server.headless", "true", *options]
    log = place / "log"
    with log.open("ab") as out:
        server = subprocess.Popen(
            [sys.executable, "-c", code, "app", *given],
            cwd=place,
            env=os.environ | own,
            stdout=out,
            stderr=out,
            start_new_session=True,
        )
    address = f"{scheme}://127.0.0.1:{number}"
    try:
        wait_for(address, server, log)
        yield address
    finally:
        os.killpg(server.pid, signal.SIGTERM)
        server.wait(timeout=20)


@contextmanager
def seen(browser, address, size=LAPTOP, *, scheme="light"):
    """A page on a screen of a size; ``outside`` gathers every request that leaves the server."""
    width, height = size
    context = browser.new_context(
        viewport={"width": width, "height": height},
        has_touch=size == PHONE,
        accept_downloads=True,
        color_scheme=scheme,
    )
    page = context.new_page()
    page.outside = []
    page.said = []
    own = (f"{address}/", f"{address.replace('http', 'ws')}/", "data:", "blob:", "about:")
    page.on("request", lambda one: one.url.startswith(own) or page.outside.append(one.url))
    page.on("dialog", lambda one: (page.said.append(one.message), one.dismiss()))
    page.goto(address)
    yield page
    context.close()


def press(found):
    """Press what is found, once it lies still in sight.

    Just after a scroll the browser still gives a press to the map that lay there before.
    """
    found.scroll_into_view_if_needed()
    found.evaluate("() => new Promise(done => requestAnimationFrame("
                   "() => requestAnimationFrame(done)))")  # fmt: skip
    found.click()


def made(page):
    """Wait until all of the page is there."""
    app = page.get_by_test_id("stApp")
    expect(app).to_have_attribute("data-test-script-state", "notRunning", timeout=90_000)


def named(page, name="Ann"):
    """The pages as the superintendent at this machine has them."""
    page.get_by_label("Your name").fill(name)
    page.get_by_role("button", name="Go on").click()
    expect(page.get_by_text("You are")).to_be_visible(timeout=30_000)
    return page


def signed_in(page, name):
    """The pages as a member of the office has them who signs in with ``WORDS``."""
    page.get_by_label("Name", exact=True).fill(name)
    page.get_by_label("Passphrase").first.fill(WORDS)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_text(f"You are {name}")).to_be_visible(timeout=90_000)
    return page


def demo(page):
    """The pages with the demo brought in and open."""
    page.get_by_role("button", name="Bring in the demo").click()
    expect(page.get_by_text("The demo is open")).to_be_visible(timeout=60_000)
    return page


def turned(page, title):
    """Another of the pages, by its title, as it is shown."""
    drawer = page.get_by_test_id("stExpandSidebarButton")
    if drawer.count() and drawer.is_visible():
        drawer.click()
    page.get_by_role("link", name=title, exact=True).first.click()
    heading = page.get_by_role("heading", name=title, exact=True, level=1)
    expect(heading).to_be_visible(timeout=90_000)
    close = page.get_by_test_id("stSidebarCollapseButton").first
    if close.count() and close.is_visible():
        close.click()
    return page
