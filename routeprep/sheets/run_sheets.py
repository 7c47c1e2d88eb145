"""The run sheets: a ``Pack`` in, the bytes of a PDF out.

For who runs the machine: a first page for the whole job, then for each machine its passes in the
order of work, each on pages of its own, as its operator sees the road.  How it looks is
``run-sheets.typ``.
"""

from collections.abc import Iterator

from routeprep import listing
from routeprep.plans import Pass
from routeprep.shapes import Pack
from routeprep.sheets.drawing import draw
from routeprep.sheets.run_cover import run_cover
from routeprep.sheets.run_pages import in_order, pass_page
from routeprep.wording import shift_text

__all__ = ["render"]

_TEMPLATE = "run-sheets.typ"

_CAUTIONS = (
    (
        "Look where the sheet says, cut where the paint says. No drum is lifted or dropped at a "
        "station that is not taped. No paint: stop, find it, paint it."
    ),
    "The machine stops for what the eye sees, on these sheets or not.",
    "NOT DECIDED reads STOP: nobody has said yet what to do there.",
    (
        "YOUR LEFT and YOUR RIGHT are those of the operator looking where the pass is run. Curb "
        "side and centerline side are of the road, and never change."
    ),
    "Not a utility locate, traffic control plan or survey.",
)


def _by_machine(pack: Pack) -> Iterator[Pass]:
    """Passes machine after machine, so that each gets its own pages in the order of its work."""
    names = [one.name for one in pack.plan.machines]
    yield from sorted(in_order(pack), key=lambda one: names.index(one.machine))


def render(pack: Pack, *, paper: str = "letter") -> bytes:
    """Draw the run sheets of a pack as a tagged PDF; the same pack gives the same bytes.

    Without a machine in the job it is one page that says so.

    Parameters
    ----------
    pack
        What to draw.
    paper
        "letter", "a4" or "tabloid".
    """
    legs = {leg.settings.code: leg for leg in pack.legs}
    listed = listing.rows_by_leg(pack)
    by_anchor = {code: {row["anchor_id"]: row for row in rows} for code, rows in listed.items()}
    own = {
        "shift": shift_text(pack.settings.date, night=pack.settings.briefing.night),
        "cover": run_cover(pack),
        "passes": [
            pass_page(one, pack, legs[one.leg], by_anchor[one.leg]) for one in _by_machine(pack)
        ],
        "cautions": list(_CAUTIONS),
    }
    return draw(pack, own, template=_TEMPLATE, title="Run sheets", paper=paper)
