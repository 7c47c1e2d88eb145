"""Requests to the phone's routes, asked of the application itself without a server."""

import asyncio
import json
from typing import NamedTuple
from urllib.parse import unquote

HOST = "truck.example:8501"
OWN = {"origin": f"http://{HOST}", "content-type": "application/json"}


class Answer(NamedTuple):
    """What came back."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self):
        """The body, read as JSON."""
        return json.loads(self.body)


def ask(app, method, path, *, headers=None, body=b""):
    """The answer to one request; a body that is a list comes in such pieces."""
    pieces = list(body) if isinstance(body, list) else [body]
    given = {"host": HOST} | (headers or {})
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method,
        "scheme": "http", "path": unquote(path), "raw_path": path.encode(), "root_path": "",
        "query_string": b"", "client": ("127.0.0.1", 5000), "server": ("127.0.0.1", 8501),
        "headers": [(name.lower().encode(), value.encode()) for name, value in given.items()],
    }  # fmt: skip
    sent = []

    async def receive():
        more = len(pieces) > 1
        return {"type": "http.request", "body": pieces.pop(0) if pieces else b"", "more_body": more}

    async def send(message):
        sent.append(message)

    asyncio.run(app(scope, receive, send))
    found = {name.decode(): value.decode() for name, value in sent[0]["headers"]}
    return Answer(sent[0]["status"], found, b"".join(one.get("body", b"") for one in sent[1:]))


def post(app, path, content, **headers):
    """The answer to JSON from the server's own page; an underscore in a name stands for a dash."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return ask(app, "POST", path, headers=OWN | named, body=json.dumps(content).encode())
