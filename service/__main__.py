"""The command line of Endswitch; accounts, measurements and the demo have modules of their own.

The application is imported by the commands that run it: all others answer in a third of the time.
"""

from __future__ import annotations

import logging
import sys
from pathlib import Path
from typing import Annotated

import typer
from pydantic import ValidationError

from service.account_commands import account, audit, token
from service.auth.links import issue_link
from service.auth.roles import Role
from service.auth.who import COMMAND_LINE
from service.clock import SystemClock
from service.command_setup import need_ports, open_database, refuse, settings_with, stop
from service.measure.commands import bench, evaluate
from service.settings import Settings, unknown_variables
from service.telemetry.logs import setup_logging
from service.usecases.loading.load_files import load_files
from service.usecases.rows.audit import note_act
from service.usecases.staff.examine_setup import examine

__all__ = ["app", "main"]

app = typer.Typer(
    help="Turns a tenant's heating complaint into a ticket a technician can trust.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)


app.add_typer(account, name="account")
app.add_typer(audit, name="audit")
app.add_typer(bench, name="bench")
app.add_typer(evaluate, name="evaluate")
app.command()(token)


@app.command()
def serve(
    host: Annotated[str | None, typer.Option(help="address to listen on")] = None,
    port: Annotated[int | None, typer.Option(help="HTTP port")] = None,
    smtp_port: Annotated[int | None, typer.Option(help="SMTP port")] = None,
    clock: Annotated[
        str | None, typer.Option(help="system, or manual for a clock you move")
    ] = None,
) -> None:
    """Run the service: HTTP, SMTP and timers."""
    import uvicorn  # noqa: PLC0415 - see above

    from service.app import create_app  # noqa: PLC0415 - see above

    settings = settings_with(host=host, port=port, smtp_port=smtp_port, clock=clock)
    need_ports(settings.host, settings.port, settings.smtp_port)
    open_database(settings).close()
    setup_logging("console" if sys.stderr.isatty() else "json", sys.stderr)
    try:
        service = create_app(settings)
    except ValueError as error:
        stop(str(error))
    uvicorn.run(
        service,
        host=settings.host,
        port=settings.port,
        log_config=None,
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=8,
    )


@app.command()
def load(
    paths: Annotated[list[Path], typer.Argument(help="building files and household lists")],
) -> None:
    """Load building files (YAML) and households (CSV); all of them or nothing."""
    db = open_database(settings_with())
    with db.transaction() as session:
        loaded = load_files(session, SystemClock().now(), paths)
    for problem in loaded.problems:
        typer.echo(str(problem), err=True)
    if loaded.refused:
        typer.echo("Nothing was changed.", err=True)
        raise typer.Exit(1)
    typer.echo(f"{len(loaded.plants)} buildings, {len(loaded.households)} households stored.")


@app.command()
def link(role: Annotated[Role, typer.Option(help="whose door it opens")]) -> None:
    """Print a sign-in link for a browser; it works once and not for long."""
    if role is Role.GATEWAY:
        stop("the gateway has no pages; give it a token")
    settings = settings_with()
    now = SystemClock().now()
    with open_database(settings).transaction() as session:
        secret = issue_link(session, role, now)
        note_act(session, now, COMMAND_LINE, "sign-in link made", f"link:{role.value}", {})
    typer.echo(f"{settings.base_url}/enter/{secret}")


@app.command()
def demo(
    once: Annotated[
        bool, typer.Option("--once", help="print the finished queue as JSON and end")
    ] = False,
) -> None:
    """Play a cold night in three invented buildings through the real intake."""
    from service.demo.run import run_demo  # noqa: PLC0415 - see above

    setup_logging("console", sys.stderr, level=logging.ERROR)
    run_demo(settings_with(), once=once)


@app.command()
def doctor() -> None:
    """Say what is configured, what is missing and what is unsafe."""
    try:
        findings = examine(Settings(), unknown_variables())
    except ValidationError as error:
        refuse(error)
    for finding in findings:
        typer.echo(str(finding))
    if any(finding.bad for finding in findings):
        raise typer.Exit(1)


def main() -> None:
    """What the ``endswitch`` program runs."""
    app()


if __name__ == "__main__":
    main()
