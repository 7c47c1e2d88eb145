"""``routeprep person NAME``: somebody who may sign in to the shared page."""

import click

from routeprep.access import ROLES
from routeprep.admission import SHORTEST, hashed
from routeprep.officefile import Member, put_member

__all__ = ["Name", "command"]


class Name(click.ParamType[str]):
    """A person's name, as it is printed."""

    name = "name"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> str:
        """The name without blanks around it, refused as a usage error when nothing is left."""
        plain = " ".join(str(value).split())
        if not plain:
            self.fail("the name is empty; give the name that is to be printed", param, ctx)
        return plain


def _passphrase() -> str:
    """The hash of a passphrase that was typed twice.

    Raises
    ------
    UsageError
        If it is short.
    """
    typed: str = click.prompt("Passphrase", hide_input=True, confirmation_prompt="The same again")
    if len(typed) < SHORTEST:
        msg = f"the passphrase has {len(typed)} characters; take {SHORTEST} or more, as four words"
        raise click.UsageError(msg)
    return hashed(typed)


@click.command("person")
@click.argument("name", type=Name())
@click.option("--role", type=click.Choice(ROLES), required=True, help="What the person may do.")
@click.option("--mail", default="", help="Signs in with the account of this address instead.")
def command(name: str, role: str, mail: str) -> None:
    """Let somebody sign in to the shared pages, or change how.

    NAME is what is printed beside what the person decides.  A passphrase is asked for and only
    its hash is kept, in the office's file, whose place is said.
    """
    address = mail.strip()
    argon2 = "" if address else _passphrase()
    path = put_member(Member(name=name, role=role, argon2=argon2, mail=address))
    click.echo(f"{path}: {name} may sign in as {role}")
