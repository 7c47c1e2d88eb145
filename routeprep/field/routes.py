"""The addresses that a phone asks: pages, pairing, what it sends, what it is handed.

In go how the store is opened, out come routes for the page's server.  Of what is sent only counts
and names of kinds are logged: never a place, a name or a note.
"""

import logging
import time
from collections.abc import Callable, Mapping
from functools import partial

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from routeprep.desk import Desk
from routeprep.errors import RouteprepError
from routeprep.field.answers import Refusal, answer, from_here, json_of, refuse
from routeprep.field.assets import PAGES, Asset, assets
from routeprep.field.devices import Phone, Phones
from routeprep.field.handout import handout
from routeprep.field.pairing import OFFERS, Offers
from routeprep.field.receiving import ITEMS_MOST, receive
from routeprep.office import open_office_store
from routeprep.store import Store

__all__ = ["TOKEN", "ListOf", "list_of_desk", "routes"]

# The header that carries a phone's token.
TOKEN = "X-Routeprep-Token"  # noqa: S105 - the header's name
ListOf = Callable[[Store, str], Mapping[str, object]]

_LOG = logging.getLogger(__name__)
_UNPAIRED = (
    "This phone is not paired with a job, or its pairing has ended. All that it has recorded is "
    "still on it: pair it again."
)
_BUSY = "The office cannot keep it at this moment; the phone keeps it and tries again."


def list_of_desk() -> ListOf:
    """How a job's list is made: by a desk for each job, which makes anew only what has changed."""
    desks: dict[str, Desk] = {}

    def listed(store: Store, job: str) -> Mapping[str, object]:
        desk = desks.setdefault(job, Desk(store, job))
        return handout(desk.pack(desk.look()))

    return listed


class _Field:
    """What the routes share."""

    def __init__(self, phones: Phones, offers: Offers, listed: ListOf) -> None:
        self.phones, self.offers, self.listed = phones, offers, listed
        self.assets = assets()

    async def phone(self, request: Request) -> Phone | Refusal:
        """The phone of the token that a request carries."""
        try:
            found = await run_in_threadpool(self.phones.of, request.headers.get(TOKEN, ""))
        except RouteprepError:
            _LOG.exception("the store cannot be read")
            return Refusal(503, _BUSY)
        return found or Refusal(401, _UNPAIRED)

    async def items(self, request: Request) -> Response:
        """Take a batch of items."""
        refusal = from_here(request, must_say=True)
        phone = refusal or await self.phone(request)
        if isinstance(phone, Refusal):
            return refuse(phone)
        sent = await json_of(request)
        if isinstance(sent, Refusal):
            return refuse(sent)
        told = sent if isinstance(sent, dict) else {}
        items = told.get("items")
        if not isinstance(items, list) or len(items) > ITEMS_MOST:
            return refuse(Refusal(400, f"Expected items, a list of {ITEMS_MOST} at most."))
        work = partial(receive, self.phones, phone, device=told.get("device"), items=items)
        try:
            took = await run_in_threadpool(work)
        except RouteprepError:
            _LOG.exception("a batch of %d items could not be kept", len(items))
            return refuse(Refusal(503, _BUSY))
        if isinstance(took, str):
            return refuse(Refusal(400, took))
        _LOG.info("%d items came, kept or there %d", len(items), len(took["had"]))  # type: ignore[arg-type]
        return answer(took)

    async def status(self, request: Request) -> Response:
        """Say which job a token is for."""
        phone = from_here(request, must_say=False) or await self.phone(request)
        if isinstance(phone, Refusal):
            return refuse(phone)
        until = phone.until.isoformat(timespec="seconds")
        return answer(
            {
                "job": phone.job,
                "name": phone.person.name,
                "role": phone.person.role,
                "until": until,
                "time_ms": round(time.time() * 1000),
            }
        )

    async def list(self, request: Request) -> Response:
        """Hand out what the phone keeps of its job."""
        phone = from_here(request, must_say=False) or await self.phone(request)
        if isinstance(phone, Refusal):
            return refuse(phone)
        try:
            made = await run_in_threadpool(self.listed, self.phones.store, phone.job)
        except RouteprepError as error:
            return refuse(Refusal(409, f"The job has no list yet: {error}"))
        return answer(made)

    async def pair(self, request: Request) -> Response:
        """Exchange a short code for a token."""
        sent = await json_of(request)
        if isinstance(sent, Refusal):
            return refuse(sent)
        code = sent.get("code") if isinstance(sent, dict) else None
        token = self.offers.take(code) if isinstance(code, str) else ""
        if token is None:
            return refuse(Refusal(429, "Too many wrong codes just now; wait a minute."))
        if not token:
            why = "This code is wrong, was used, or is older than ten minutes; make a new one."
            return refuse(Refusal(403, why))
        return answer({"token": token})

    async def asset(self, request: Request) -> Response:
        """Send a file of the pages."""
        return _sent(self.assets.get(request.path_params["name"]))

    async def page(self, request: Request) -> Response:
        """Send a page."""
        return _sent(self.assets.get(PAGES.get(request.path_params["page"], "")))


async def _slash(page: str, _: Request) -> Response:
    """Lead from /field/drive to /field/drive/, from which its files are named."""
    return RedirectResponse(f"{page}/", status_code=307)


def _sent(asset: Asset | None) -> Response:
    """A file, or that there is none."""
    if asset is None:
        return refuse(Refusal(404, "There is no such page."))
    return Response(asset.content, headers=dict(asset.headers))


def routes(
    open_: Callable[[], Store] = open_office_store,
    *,
    offers: Offers = OFFERS,
    listed: ListOf | None = None,
) -> list[Route]:
    """The routes of the phone's pages.

    Parameters
    ----------
    open_
        Opens the store, when a phone first asks for it.
    offers
        The short codes that wait.
    listed
        Makes what a phone keeps of a job; None: as its desk has it.
    """
    field = _Field(Phones(open_), offers, listed or list_of_desk())
    return [
        Route("/field/items", field.items, methods=["POST"]),
        Route("/field/pair", field.pair, methods=["POST"]),
        Route("/field/status", field.status, methods=["GET"]),
        Route("/field/list", field.list, methods=["GET"]),
        Route("/field/{page:str}/", field.page, methods=["GET"]),
        *(Route(f"/field/{page}", partial(_slash, page), methods=["GET"]) for page in PAGES),
        Route("/field/{name:str}", field.asset, methods=["GET"]),
    ]
