"""`drainpool desk`: the pool in a browser, for members and the coordinator."""

from __future__ import annotations

import argparse

from pipeline.commands.line.result import DONE, CommandResult, Say
from pipeline.errors import DrainpoolError, WrongUseError

HIGHEST_PORT = 65_535


def desk(arguments: argparse.Namespace, say: Say) -> CommandResult:
    """Opens the desk and stays until it is stopped; on a first start says the link for the coordinator."""
    from pipeline.desk.serve import Place, address, first_link, open_desk, serve

    if not 0 < arguments.port <= HIGHEST_PORT:
        raise WrongUseError(f"--port: {arguments.port} is no port; choose one from 1 to {HIGHEST_PORT}.")
    place = Place(arguments.host, arguments.port, arguments.behind_proxy)
    opened = open_desk(arguments.pool, say)
    link = first_link(opened, place)
    if link is not None:
        say(f"First start. The coordinator's own link, good once: {link}")
    say(f"The desk is open at http://{address(place)} (stop it with Ctrl-C).")
    try:
        serve(opened, place)
    except SystemExit as error:
        if error.code:
            raise DrainpoolError(
                f"The desk could not be opened at {address(place)}; is another program there already? "
                "Nothing was changed. Choose another --port."
            ) from None
    return CommandResult(DONE)
