"""What a phone on the road talks to: the drive page, its pairing, and where its items go.

In go requests, out come pages that work with no connection, and entries in the store.
"""

from routeprep.field.pairing import OFFERS, new_token, pairing_address, qr_code
from routeprep.field.routes import routes

__all__ = ["OFFERS", "new_token", "pairing_address", "qr_code", "routes"]
