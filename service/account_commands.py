"""``endswitch account``, ``audit`` and ``token``: the first admin, the log's chain, programs let in."""

from __future__ import annotations

from typing import Annotated, NoReturn

import typer

from service.auth.roles import Role
from service.auth.tokens import end_token, issue_token, list_tokens, who_bears
from service.auth.who import COMMAND_LINE
from service.clock import SystemClock
from service.command_setup import open_database, settings_with, stop
from service.errors import EndswitchError
from service.usecases.rows.audit import note_act
from service.usecases.staff.accounts import LINK_HOURS, add_account, reset_account
from service.usecases.staff.audit_read import verify_audit

__all__ = ["account", "audit", "token"]

account = typer.Typer(help="Accounts of staff; most is done on the admin's page.")
audit = typer.Typer(help="The log of what was done.")


@account.command("add")
def add(
    login: Annotated[str, typer.Option(help="what the person types to sign in")],
    name: Annotated[str, typer.Option(help="what colleagues read")],
    role: Annotated[Role, typer.Option(help="desk, truck, owner or admin")],
) -> None:
    """Add an account and print the link with which its person chooses a password."""
    settings = settings_with()
    try:
        with open_database(settings).transaction() as session:
            secret = add_account(session, SystemClock().now(), COMMAND_LINE, login, name, role)
    except EndswitchError as refused:
        _fail(refused.message)
    _print_link(settings.base_url, secret)


@account.command("reset")
def reset(login: Annotated[str, typer.Option(help="whose password is lost")]) -> None:
    """End the password and all sessions of an account and print a link for a new password."""
    settings = settings_with()
    try:
        with open_database(settings).transaction() as session:
            secret = reset_account(session, SystemClock().now(), COMMAND_LINE, login)
    except EndswitchError as refused:
        _fail(refused.message)
    _print_link(settings.base_url, secret)


@audit.command("verify")
def verify(
    head: Annotated[
        str | None, typer.Option(help="a hash printed earlier, which the log must still hold")
    ] = None,
) -> None:
    """Follow the chain of the audit log; 1 if a row was changed or removed."""
    with open_database(settings_with()).reading() as session:
        found = verify_audit(session, head.strip().lower() if head is not None else None)
    if found.broken is not None:
        _fail(f"the audit log is broken: {found.broken}; {found.rows} rows before it are good")
    typer.echo(f"{found.rows} rows, head {found.head}")


def token(
    role: Annotated[Role | None, typer.Option(help="what a new token is for")] = None,
    revoke: Annotated[int | None, typer.Option(help="the number of a token to end")] = None,
    listed: Annotated[bool, typer.Option("--list", help="all tokens, by number")] = False,
) -> None:
    """Print a new bearer token, which is shown this once; or end one; or list them."""
    if [role is not None, revoke is not None, listed].count(True) != 1:
        stop("give one of --role, --revoke and --list")
    now, db = SystemClock().now(), open_database(settings_with())
    if listed:
        with db.reading() as session:
            for line in list_tokens(session):
                ended = f"ended {line.ended_at:%Y-%m-%d}" if line.ended_at else "in use"
                typer.echo(f"{line.number}\t{line.role}\tmade {line.made_at:%Y-%m-%d}\t{ended}")
    elif role is not None:
        with db.transaction() as session:
            made = issue_token(session, role, now)
            subject = who_bears(session, made, now).account
            note_act(session, now, COMMAND_LINE, "token made", subject, {})
        typer.echo(made)
        number = subject.rpartition(":")[2]
        typer.echo(f"To end it: endswitch token --revoke {number}", err=True)
    elif revoke is not None:
        try:
            with db.transaction() as session:
                whose = end_token(session, revoke, now)
                note_act(session, now, COMMAND_LINE, "token ended", whose.account, {})
        except EndswitchError as refused:
            _fail(refused.message)


def _print_link(base_url: str, secret: str) -> None:
    typer.echo(f"{base_url}/choose-password/{secret}")
    typer.echo(f"It works once, within {LINK_HOURS} hours.", err=True)


def _fail(message: str) -> NoReturn:
    typer.echo(message, err=True)
    raise typer.Exit(1)
