"""``endswitch bench`` and ``endswitch evaluate``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.progress import Progress

from service.measure import ROOT, NotACheckoutError, from_tests

__all__ = ["bench", "evaluate"]

MESSAGES = ROOT / "fixtures" / "messages"

bench = typer.Typer(help="Measure side by side in one run.", no_args_is_help=True)
evaluate = typer.Typer(help="Score against simulated or labelled truth.", no_args_is_help=True)


@bench.command("diagnosis")
def bench_diagnosis() -> None:
    """Posteriors beside a general Bayesian-network library; a whole re-diagnosis in parts."""
    _tests("bench.diagnosis").bench_diagnosis(Console())


@bench.command("reading")
def bench_reading() -> None:
    """Reading a text beside two yardsticks."""
    package = _tests("evaluation_reading")
    package.print_reading_bench(package.bench_reading(MESSAGES), Console())


@bench.command("pages")
def bench_pages() -> None:
    """The truck's pages over a poor link; the desk's queue with 500 tickets."""
    _tests("bench.pages").bench_pages(Console())


@evaluate.command("reading")
def evaluate_reading(
    misses_of_scoring: Annotated[
        bool, typer.Option("--misses-of-scoring", help="also print misses nobody should tune on")
    ] = False,
) -> None:
    """Score the reader on the labelled messages."""
    package = _tests("evaluation_reading")
    report = package.evaluate_reading(MESSAGES)
    package.print_reading_report(report, Console(), misses_of_scoring=misses_of_scoring)


@evaluate.command("diagnosis")
def evaluate_diagnosis(
    episodes: Annotated[int, typer.Option(min=1, help="simulated buildings")] = 300,
    seed: Annotated[int, typer.Option(help="where chance begins")] = 1,
    picture: Annotated[
        Path | None, typer.Option(help="where to save how often a stated chance came true (SVG)")
    ] = None,
) -> None:
    """Break simulated buildings and score the diagnosis, beside simple rivals."""
    run = _tests("evaluation.run")
    console = Console()
    with Progress(console=Console(stderr=True)) as bar:
        task = bar.add_task("Episodes", total=episodes)
        report = run.evaluate(
            episodes, seed, lambda done, total: bar.update(task, completed=done, total=total)
        )
    run.print_report(report, console)
    if picture is not None:
        run.save_picture(report, picture)


@evaluate.command("contract")
def evaluate_contract(
    episodes: Annotated[int, typer.Option(min=1, help="simulated buildings")] = 80,
    seed: Annotated[int, typer.Option(help="where chance begins")] = 1,
) -> None:
    """Drive a service of its own as a stranger would, and print what happened and how good it was."""
    _tests("outside.report").evaluate(episodes, seed, typer.echo)


def _tests(module: str) -> Any:
    try:
        return from_tests(module)
    except NotACheckoutError as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(2) from None
