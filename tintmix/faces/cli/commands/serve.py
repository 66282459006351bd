"""`tintmix serve`: the page."""

from __future__ import annotations

import click

from tintmix.faces.cli.options import Whole, usual


@click.command()
@usual("--port", type=Whole(1, 65535), default=8421, help="The port on the loopback address.")
@click.option(
    "--folder", type=click.Path(), metavar="FOLDER",
    help="Where the page keeps chips, pigments and recipes. [default: a folder in your own data]",
)  # fmt: skip
@usual("--open/--no-open", "opens", default=True, help="Open it in the browser.")
@click.option("--json", "as_json", is_flag=True, help="Print the address as a JSON object first, and nothing else.")
def serve(port: int, folder: str | None, opens: bool, as_json: bool) -> None:
    """Open the page: the whole job in a browser, by looking and dragging.

    It answers on this machine only, and only to the address that it prints. Stop it with Ctrl-C. Example:

    \b
      tintmix serve --port 8421
    """
    from tintmix.faces.web.serve import run  # here: help need not wait

    run(port, folder, opens, as_json, click.echo)
