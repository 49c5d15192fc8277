"""The lab's line to a kernel, without the wait that gathers small messages into larger ones.

JupyterLab's server loads this by its name, from the setting ``ServerApp.kernel_websocket_connection_class``; it stands
in a module of its own so that the launcher can say so in a sentence when JupyterLab is missing.
"""

from asyncio import Future

from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection


class UndelayedConnection(ZMQChannelsWebsocketConnection):
    """A kernel's web socket that sends each message at once.

    Nagle's algorithm (RFC 896) holds a small message back until the one before it is acknowledged. A slider sends and
    receives many small messages, so that switching it off halves the time from the slider to its picture.
    """

    def connect(self) -> Future[None] | None:  # type: ignore[override]  # as in jupyter_server's own class
        """Switch the gathering off, then connect as usual and return what that returns."""
        self.websocket_handler.set_nodelay(True)
        return super().connect()
