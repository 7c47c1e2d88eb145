"""The map page: safe, self-contained, the same bytes."""

import base64
import hashlib
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterable
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from maps.example_pack import (
    HOSTILE,
    example_legs,
    example_pack,
    example_settings,
    example_things,
    pack_of,
    thing,
    things_of,
)

from routeprep.briefing import Tiles
from routeprep.errors import JobError
from routeprep.listing import rows
from routeprep.maps.page import render

# Ours, Leaflet's and what folium composes.
SCRIPTS = 10

# The note as it stands in the page, behind the status.
NOTE = re.compile(r'("seen twice or more",)"(?:[^"\\]|\\.)*"')

TESTS = Path(__file__).resolve().parent.parent


def data_of(page: str) -> dict[str, object]:
    """The data that the page carries."""
    found = re.findall(r'<script type="application/json" id="data">(.*?)</script>', page)
    assert len(found) == 1
    return json.loads(found[0])


def page_with_note(note: str) -> str:
    """The page of one thing with this note."""
    legs = example_legs()
    return render(pack_of(legs, [thing(legs[0], "A-1", "SMH", 120.0, note=note)]))


def test_same_pack_gives_same_text() -> None:
    """Two renders of equal packs are equal."""
    assert render(example_pack()) == render(example_pack())


def test_same_text_in_other_processes() -> None:
    """Hash seed, time zone and folder change nothing."""
    code = (
        "import hashlib\nfrom maps.example_pack import example_pack\n"
        "from routeprep.maps.page import render\n"
        "print(hashlib.sha256(render(example_pack()).encode()).hexdigest())"
    )
    made = set()
    for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo")):
        paths = os.pathsep.join([str(TESTS), str(TESTS.parent)])
        environment = os.environ | {"PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": paths}
        done = subprocess.run(
            [sys.executable, "-c", code], env=environment, capture_output=True, check=True
        )
        made.add(done.stdout.decode().strip())

    assert made == {hashlib.sha256(render(example_pack()).encode()).hexdigest()}


def test_nothing_is_loaded_from_elsewhere() -> None:
    """Only namespaces and the addresses in comments of Leaflet occur, and no tag loads a thing."""
    page = render(example_pack())
    hosts = {host.partition("/")[0] for host in re.findall(r"https?://([^\s\"'<)]+)", page)}

    assert hosts <= {"www.w3.org", "leafletjs.com", "bugs.chromium.org", "bugzilla.mozilla.org"}
    assert re.findall(r"<(?:link|iframe|object|embed|base|img)\b|@import|\burl\((?!#)", page) == []
    assert re.findall(r"<script[^>]*\bsrc\b", page) == []
    assert "sourceMappingURL" not in page


def rules_of(page: str) -> dict[str, str]:
    """The page's policy: what each rule allows."""
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', page)
    return dict(rule.strip().partition(" ")[::2] for rule in policy.split(";"))


def hashes(texts: Iterable[str]) -> set[str]:
    """As a policy has them."""
    return {
        f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
        for text in texts
    }


def test_policy_allows_only_these_scripts_and_styles() -> None:
    """Each one's hash stands in the policy, and no other, and nothing else may load."""
    page = render(example_pack())
    scripts = re.findall(r"<script>(.*?)</script>", page, re.DOTALL)
    styles = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    rules = rules_of(page)

    assert (len(scripts), len(styles)) == (SCRIPTS, 2)
    assert set(rules["script-src"].split()) == hashes(scripts)
    assert set(rules["style-src"].split()) == hashes(styles)
    assert rules["default-src"] == "'none'"
    assert rules["img-src"] == "data:"
    assert page.index("Content-Security-Policy") < page.index("<title>") < page.index("<script")


def page_with_tiles(address: str) -> str:
    """The page of a job that names a source of tiles."""
    legs = example_legs()
    tiles = Tiles(address=address, credit="Example <tiles>")
    return render(pack_of(legs, [], settings=example_settings(legs, tiles=tiles)))


def test_tiles_open_the_policy_to_their_host_for_images_and_no_more() -> None:
    """The credit is text; without tiles the same rules but for that host."""
    page = page_with_tiles("https://tiles.example/{z}/{x}/{y}.png")
    rules, bare = rules_of(page), rules_of(render(example_pack()))

    assert rules.pop("img-src") == "data: https://tiles.example"
    assert bare.pop("img-src") == "data:"
    assert rules == bare
    assert data_of(page)["tiles"]["credit"] == "Example <tiles>"
    assert "Example <" not in page


def test_tiles_that_would_open_the_policy_wider_are_refused() -> None:
    """A blank in the host ends the source, a semicolon the rule."""
    with pytest.raises(JobError, match=r"script-src .*mend it or leave it out"):
        page_with_tiles("https://tiles.example; script-src */{z}/{x}/{y}.png")


def test_folium_composes_the_map_under_a_fixed_name() -> None:
    """The map comes from folium, on a canvas, without random ids."""
    page = render(example_pack())

    assert page.count('<div class="folium-map" id="map_job" ></div>') == 1
    assert "var map_job = L.map(" in page
    assert '"preferCanvas": true' in page
    assert re.findall(r"\b\w+_[0-9a-f]{32}\b", page) == []


def test_data_is_the_list_of_the_sheet() -> None:
    """The data parses back to the list, row by row, in its order."""
    pack = example_pack()
    listed = rows(pack)
    things = things_of(data_of(render(pack)))
    shown = ["no", "leg", "note", "status", "doubt", "who", "decided_by"]
    said = {"station": "station_text", "what": "what_text", "where": "where_text", "do": "do_text"}

    assert [[item[name] for name in shown] for item in things] == listed[shown].to_numpy().tolist()
    for name, column in said.items():
        assert [item[name] for item in things] == listed[column].tolist()


def test_hostile_note_is_text() -> None:
    """What a note holds stands once, as JSON escapes, and comes back as typed."""
    page = page_with_note(HOSTILE)
    things = things_of(data_of(page))

    assert things[0]["note"] == HOSTILE
    assert "alert(1)<" not in page
    assert "cycler }}" not in page
    assert "${x}" not in page
    assert "\u2028" not in page
    assert page.count("</script>") == SCRIPTS + 1


@given(
    st.text(
        st.characters(exclude_categories=["Cs"]) | st.sampled_from('<>&{}$`%#"\\/\u2028\u2029!-')
    )
)
def test_any_note_comes_back_and_changes_nothing_else(note: str) -> None:
    """Whatever is typed, only the data differs from the page with an empty note."""
    page = page_with_note(note)

    assert things_of(data_of(page))[0]["note"] == note
    assert NOTE.sub(r'\1""', page) == plain_page()


@cache
def plain_page() -> str:
    """The page with an empty note, made once."""
    return page_with_note("")


def test_job_name_is_text_too() -> None:
    """The title and the data show a hostile job name as typed."""
    legs = example_legs()
    pack = pack_of(legs, [], settings=example_settings(legs, name=HOSTILE))
    page = render(pack)

    assert data_of(page)["job"]["name"] == HOSTILE
    assert "<title>=1+1 {{ cycler }} {% low ${x} &lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert page.count("<script") == SCRIPTS + 1


def test_page_allows_zoom_and_names_its_language() -> None:
    """The viewport does not forbid zooming; the language is set."""
    page = render(example_pack())

    assert '<html lang="en">' in page
    assert '<meta name="viewport" content="width=device-width, initial-scale=1">' in page


def test_licence_of_leaflet_stays_inside() -> None:
    """The conditions that come with Leaflet stand in the page, which carries its code."""
    page = render(example_pack())

    assert "Redistribution and use in source and binary forms" in page
    assert "(c) 2010-2023 Vladimir Agafonkin" in page


def test_page_says_draft_before_any_script_ran() -> None:
    """The page is a draft unless its script, reading the data, says otherwise."""
    legs = example_legs()
    page = render(pack_of(legs, example_things(*legs)))

    assert '<body class="draft">' in page
    assert '<p id="banner">DRAFT, NOT FOR CUTTING</p>' in page
    assert data_of(page)["draft"] == []
