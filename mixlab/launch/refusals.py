"""What is refused before anything starts, and how a refusal is worded."""

import os
import socket
from collections.abc import Sequence
from pathlib import Path

LOOPBACK = "127.0.0.1"

# The last word of a JupyterLab option -> why it is not handed on.
_NETWORK = "mixlab answers on this machine only"
_TOKEN = "mixlab keeps its lab behind a token, a fresh one at each start"
_REFUSED = {
    "ip": _NETWORK,
    "sock": _NETWORK,
    "allow_remote_access": _NETWORK,
    "token": _TOKEN,
    "password": _TOKEN,
    "hashed_password": _TOKEN,
    "password_required": _TOKEN,
    "identity_provider_class": _TOKEN,
    "login_handler_class": _TOKEN,
    "allow_unauthenticated_access": _TOKEN,
    "default_url": "mixlab opens on its first notebook",
    "port": "use --port NUMBER",
    "port_retries": "use --port NUMBER",
    "root_dir": "use --folder PATH",
    "notebook_dir": "use --folder PATH",
}


class CannotOpenError(Exception):
    """Why the course cannot be opened, in one sentence that also says what to do."""


def refuse_exposure(options: Sequence[str]) -> None:
    """Refuse options that would open the lab to the network, take its token away or contradict mixlab's own options.

    Raises
    ------
    CannotOpenError
        Naming the first such option.
    """
    for word in options:
        option = word.partition("=")[0]
        last = option.lstrip("-").rpartition(".")[2].replace("-", "_")
        if option.startswith("-") and last in _REFUSED:
            raise CannotOpenError(f"{option} is not handed to JupyterLab: {_REFUSED[last]}.")


def check_port(port: int) -> None:
    """Try whether a port of this machine is free.

    Raises
    ------
    CannotOpenError
        When it is busy or not allowed.
    """
    with socket.socket() as trial:
        if os.name == "posix":  # a port that was just given up is free; on Windows this option means something else
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((LOOPBACK, port))
        except OSError as fault:
            raise CannotOpenError(
                f"Port {port} cannot be used ({fault.strerror}): name another with --port NUMBER, "
                "or leave --port out and a free one is found."
            ) from fault


def check_site_file(site: Path) -> None:
    """See that a site file can be read; what stands in it is checked by the notebooks.

    Raises
    ------
    CannotOpenError
        When it is missing, a folder or locked.
    """
    if site.is_dir():
        raise CannotOpenError(f"{site} is a folder, not a site file: name the file itself with --site FILE.")
    if not site.is_file():
        raise CannotOpenError(f"There is no site file {site}: name one that is there with --site FILE.")
    if not os.access(site, os.R_OK):
        raise CannotOpenError(
            f"The site file {site} cannot be read: ask its owner for leave, or name a copy with --site FILE."
        )
