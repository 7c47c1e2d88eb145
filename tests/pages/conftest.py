"""An office of its own for each test of the pages."""

import functools

import pytest
import streamlit as st
from argon2 import PasswordHasher
from streamlit.components.v2 import manifest_scanner
from streamlit.testing.v1 import AppTest
from streamlit.util import calc_hash

from routeprep.home import home
from routeprep.office import open_office_store
from routeprep.officefile import Member, put_member

WORDS = "four words of a crew"
# Hashed at the least cost: what the real one costs, the tests of admission and of signing in pay.
CHEAPLY = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1).hash(WORDS)
PAGE = home() / "routeprep" / "pages" / "main.py"
# Which components are installed is looked up anew for each visitor; here it stays what it is.
installed_components = functools.cache(manifest_scanner.scan_component_manifests)


class OfficePages:
    """The pages of one office, and its store."""

    def opened(self):
        """The pages as somebody sees them who comes for the first time."""
        return AppTest.from_file(PAGE, default_timeout=120).run()

    def named(self, name="Ann"):
        """The pages as the superintendent at this machine has them."""
        page = self.opened()
        page.text_input[0].set_value(name)
        return page.button[0].click().run()

    def turned(self, page, path):
        """Another of the pages, by the part of its address."""
        # As the library's switch_page does, which knows pages that are files alone.
        page._page_hash = calc_hash(path)  # noqa: SLF001
        return page.run()

    def signed_in(self, name, role):
        """The pages as somebody has them who signed in."""
        put_member(Member(name=name, role=role, argon2=CHEAPLY))
        page = self.opened()
        page.text_input(key="member name").set_value(name)
        page.text_input(key="passphrase").set_value(WORDS)
        return page.button[0].click().run()

    def store(self):
        """The office's store."""
        return open_office_store()


@pytest.fixture
def office(tmp_path, monkeypatch):
    """Its pages, with nothing in the store and nobody in its file."""
    monkeypatch.setenv("ROUTEPREP_STORE", f"sqlite:///{tmp_path / 'jobs.db'}")
    monkeypatch.setenv("ROUTEPREP_OFFICE", str(tmp_path / "office.toml"))
    monkeypatch.setattr(manifest_scanner, "scan_component_manifests", installed_components)
    st.cache_resource.clear()
    yield OfficePages()
    st.cache_resource.clear()
