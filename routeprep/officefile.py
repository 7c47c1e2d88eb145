"""The office's file: who may sign in, in which role, and from where the page can be reached.

In goes ``office.toml`` of the user's own settings folder, or the one that the variable
``ROUTEPREP_OFFICE`` names, out comes an ``Office``.  Without the file the page answers on this
machine alone, to whoever sits before it.
"""

import os
import tempfile
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

import platformdirs
import tomlkit
from tomlkit.exceptions import TOMLKitError

from routeprep.access import ROLES
from routeprep.errors import OutputError, ReadError

__all__ = ["Member", "Office", "Sharing", "office_path", "put_member", "read_office"]

_FILE = "ROUTEPREP_OFFICE"
_FORMAT = 1
_TABLES = {"format", "sharing", "person"}
_MEMBER = {"name", "role", "argon2", "mail"}
_SHARING = {"address", "hosts", "certificate", "key"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """Somebody who may sign in.

    Attributes
    ----------
    name
        As it stands beside what the person decides.
    role
        One of ``access.ROLES``.
    argon2
        The hash of the person's passphrase; empty for who signs in with an account elsewhere.
    mail
        The address of that account; empty for who has a passphrase.
    """

    name: str
    role: str
    argon2: str = ""
    mail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sharing:
    """From where else than this machine the page can be reached.

    Attributes
    ----------
    address
        Of this machine, on which it answers; "0.0.0.0" for all of them.
    hosts
        The names and addresses that others call it by.
    certificate, key
        Files for https, beside the office's file or named in full; empty behind a proxy that does
        that.
    """

    address: str
    hosts: tuple[str, ...]
    certificate: str = ""
    key: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Office:
    """Who may sign in, and whether from elsewhere."""

    members: tuple[Member, ...] = ()
    sharing: Sharing | None = None


def office_path() -> Path:
    """Where the office's file is, or would be."""
    named = os.environ.get(_FILE)
    return (
        Path(named)
        if named
        else Path(platformdirs.user_config_dir("routeprep", appauthor=False)) / "office.toml"
    )


def _refuse(path: Path, where: str, found: str, wanted: str) -> NoReturn:
    """Refuse the file.

    Raises
    ------
    ReadError
        Saying where, what was found and what to do.
    """
    msg = f"{path}: {where} {found}; {wanted}"
    raise ReadError(msg, file=str(path))


def _texts(path: Path, where: str, table: object, known: set[str]) -> Mapping[str, Any]:
    """A table whose names are known."""
    if not isinstance(table, dict):
        _refuse(path, where, f"is {str(table)[:40]!r}", "write a table")
    odd = sorted(set(table) - known)
    if odd:
        _refuse(path, where, f"has {', '.join(odd)}", f"known are {', '.join(sorted(known))}")
    return table


def _text(path: Path, where: str, table: Mapping[str, Any], name: str) -> str:
    value = table.get(name, "")
    if not isinstance(value, str):
        _refuse(path, where, f"has {name} {str(value)[:40]!r}", "write a text in quotes")
    return value.strip()


def _member(path: Path, at: int, table: object) -> Member:
    """One person."""
    where = f"[[person]] {at}"
    held = _texts(path, where, table, _MEMBER)
    made = Member(**{name: _text(path, where, held, name) for name in sorted(_MEMBER)})
    if not made.name:
        _refuse(path, where, "has no name", "give the name that is to be printed")
    if made.role not in ROLES:
        _refuse(path, where, f"has the role {made.role!r}", f"write one of {', '.join(ROLES)}")
    if bool(made.argon2) == bool(made.mail):
        found = "has both argon2 and mail" if made.mail else "has neither argon2 nor mail"
        _refuse(path, where, found, "give one: routeprep person sets it")
    return made


def _sharing(path: Path, table: object) -> Sharing:
    """From where the page can be reached."""
    held = _texts(path, "[sharing]", table, _SHARING)
    hosts = held.get("hosts", [])
    if not (isinstance(hosts, list) and hosts and all(isinstance(one, str) for one in hosts)):
        _refuse(
            path, "[sharing]", f"has hosts {str(hosts)[:40]!r}",
            'write what others call this machine, as ["truck.local"]',
        )  # fmt: skip
    address, certificate, key = (
        _text(path, "[sharing]", held, name) for name in ("address", "certificate", "key")
    )
    if not address:
        _refuse(path, "[sharing]", "has no address", 'write one of this machine, or "0.0.0.0"')
    if bool(certificate) != bool(key):
        _refuse(path, "[sharing]", "has one of certificate and key", "give both, or neither")
    near = path.absolute().parent
    return Sharing(
        address=address,
        hosts=tuple(hosts),
        certificate=str(near / certificate) if certificate else "",
        key=str(near / key) if key else "",
    )


def read_office() -> Office:
    """Read the office's file; without one nobody signs in and nothing is shared.

    Raises
    ------
    ReadError
        Naming what is wrong with it: a file that is not understood lets nobody in.
    """
    path = office_path()
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Office()
    except (OSError, ValueError) as error:
        _refuse(path, "the office's file", f"cannot be read ({error})", "mend it")
    held = _texts(path, "the file", content, _TABLES)
    if held.get("format") != _FORMAT:
        _refuse(path, "format", f"is {held.get('format')!r}", f"this version reads {_FORMAT}")
    people = held.get("person", [])
    if not isinstance(people, list):
        _refuse(path, "person", "is one table", "write [[person]]")
    members = tuple(_member(path, at, one) for at, one in enumerate(people, start=1))
    names = [one.name for one in members]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        _refuse(path, "[[person]]", f"names {', '.join(twice)} twice", "each name stands once")
    sharing = _sharing(path, held["sharing"]) if "sharing" in held else None
    return Office(members=members, sharing=sharing)


def put_member(member: Member) -> Path:
    """Write a person into the office's file, in place of one of that name; the rest is left.

    Parameters
    ----------
    member
        The person.

    Returns
    -------
    Path
        Of the file.

    Raises
    ------
    OutputError
        If it cannot be written; ReadError if what is there is no office's file.
    """
    read_office()
    path = office_path()
    text = path.read_text(encoding="utf-8") if path.exists() else f"format = {_FORMAT}\n"
    try:
        content = tomlkit.parse(text)
        people = content.setdefault("person", tomlkit.aot())
        kept = [one for one in people if one["name"].strip() != member.name]
        table = tomlkit.table()
        for name in ("name", "role", "argon2", "mail"):
            if getattr(member, name):
                table[name] = getattr(member, name)
        content["person"] = tomlkit.aot()
        for one in (*kept, table):
            content["person"].append(one)
        path.parent.mkdir(parents=True, exist_ok=True)
        # Made readable by its owner alone.
        handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".office-")
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write(tomlkit.dumps(content))
        Path(beside).replace(path)
    except (OSError, TOMLKitError) as error:
        msg = f"{path} cannot be written ({error}); name another with {_FILE}"
        raise OutputError(msg, path=str(path)) from error
    return path
