"""The first page: takes a job's files, shows the list and the map, offers the pack.

Streamlit runs this file as a script; imported, it does nothing.
"""

import base64
import re
from collections.abc import Mapping
from typing import NamedTuple

import pandas as pd
import streamlit as st

from routeprep.errors import RouteprepError
from routeprep.home import home
from routeprep.listing import rows
from routeprep.maps import page
from routeprep.packing import pack_of, zip_bytes
from routeprep.readers.disk import job_files
from routeprep.shapes import Pack
from routeprep.uploads import Handed, job_of_uploads

__all__ = ["TITLE", "main"]

TITLE = "Before the drum comes"

_MAP_HEIGHT_PX = 720
_COLUMNS = {
    "no": "No.",
    "station_text": "Station",
    "what_text": "What",
    "do_text": "Do this",
    "where_text": "Where",
    "doubt": "?",
}


class _Made(NamedTuple):
    """What one job became."""

    pack: Pack
    listed: pd.DataFrame
    map_html: str
    zipped: bytes


def _plain(text: str) -> str:
    """Text that Markdown prints as it was typed."""
    return re.sub(r"([!-/:-@\[-`{-~])", r"\\\1", text)


@st.cache_resource(max_entries=4, show_spinner="Making the pack …")
def _made(name: str, files: Mapping[str, bytes], paper: str) -> _Made:
    """The pack of a job with all that the page shows of it, made once for the same files."""
    pack = pack_of(name, files)
    return _Made(pack, rows(pack), page.render(pack), zip_bytes(pack, paper=paper))


def _asked() -> Handed | None:
    """The job that was handed over, or the demo if it was asked for; None until then."""
    handed = st.file_uploader(
        "The job's files: its .toml and everything that it names",
        accept_multiple_files=True,
        key="files",
        help="Choose them all at once. Folders do not matter: files are known by their names.",
    )
    demo = st.toggle("Show the demo: an invented job in an invented place", key="demo")
    if handed:
        return job_of_uploads((one.name, one.getvalue()) for one in handed)
    if demo:
        return Handed(*job_files(home() / "data" / "demo" / "job" / "job.toml"), unused=())
    return None


def _show_state(pack: Pack) -> None:
    """What keeps the pack a draft, and what it does not know."""
    settings = pack.settings
    st.header(_plain(f"{settings.name}, revision {settings.revision}"))
    if pack.draft:
        reasons = "\n".join(f"- {_plain(reason)}" for reason in pack.draft)
        st.warning(f"**DRAFT, NOT FOR CUTTING**\n\n{reasons}")
    else:
        st.success("**May be issued**: every thing on the list is decided.")
    st.write(
        "The sheet says look; paint put down on foot says where. Not a utility locate, not a "
        "traffic control plan, not a survey."
    )
    doubts = [item for item in pack.findings if item.level != "note"]
    if doubts:
        with st.expander(f"{len(doubts)} doubts"):
            for item in doubts:
                st.text(f"{item.where}: {item.text}")
    if len(pack.unsorted):
        with st.expander(f"{len(pack.unsorted)} marks to sort before issue"):
            for row in pack.unsorted.to_dict("records"):
                st.text(f"{row['words']}: {row['why']}")


def _show_list(pack: Pack, listed: pd.DataFrame) -> None:
    """Each leg's list in station order, as the sheet words it."""
    for leg in pack.legs:
        part = listed.loc[listed["leg"] == leg.settings.code, list(_COLUMNS)]
        st.subheader(_plain(f"{leg.settings.code} {leg.settings.name}: {len(part)} things"))
        st.dataframe(
            part.rename(columns=_COLUMNS),
            hide_index=True,
            width="stretch",
            alt=f"What is in leg {leg.settings.code}, in station order",
        )


def _show_map(map_html: str) -> None:
    """The map in a frame of its own that can reach nothing of this page."""
    coded = base64.b64encode(map_html.encode()).decode()
    st.iframe(
        f"data:text/html;charset=utf-8;base64,{coded}", height=_MAP_HEIGHT_PX, alt="Map of the job"
    )


def _show() -> None:
    """The job that was asked for, if any."""
    handed = _asked()
    if handed is None:
        return
    paper = st.segmented_control(
        "Paper", ["letter", "a4", "tabloid"], default="letter", required=True
    )
    made = _made(handed.name, handed.files, str(paper))
    if handed.unused:
        st.info(_plain(f"The job does not name {', '.join(handed.unused)}: not used."))
    _show_state(made.pack)
    st.download_button(
        "Download the pack (sheet, map, data)",
        made.zipped,
        file_name="pack.zip",
        mime="application/zip",
        type="primary",
    )
    _show_list(made.pack, made.listed)
    _show_map(made.map_html)


def main() -> None:
    """Show the page."""
    st.set_page_config(page_title=f"{TITLE} · routeprep", page_icon="🛣️", layout="wide")
    st.title(TITLE)
    st.write("From drives and notes to one station-ordered list of what is in the road.")
    try:
        _show()
    except RouteprepError as error:
        st.error(_plain(str(error)))


if __name__ == "__main__":
    main()
