"""What the proofs share that press pages."""

import pytest
from office_server import CHROMIUM
from playwright.sync_api import sync_playwright


@pytest.fixture(scope="module")
def browser():
    """One chromium for all tests of a file, with a microphone that is made up."""
    fake = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"]
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", *fake])
        yield opened
        opened.close()
