"""What answers a browser: a dashboard for each visitor, for pages of this machine alone."""

from aiohttp import web
from aiohttp.typedefs import Handler
from textual_serve.server import Server


class _OneMachine(Server):
    """Refuses what did not come from its own page, and lets that page load nothing from elsewhere.

    Bound to loopback it could still be reached by any page that a browser on this machine shows:
    by a name that points here, or by a socket that is opened across.
    """

    def initialize_logging(self) -> None:
        """What goes wrong goes to standard error; nothing else is told."""

    async def on_startup(self, app: web.Application) -> None:
        """Nothing: the command has said where it is."""

    async def _make_app(self) -> web.Application:
        app = await super()._make_app()
        app.middlewares.append(self._own_alone)
        app.on_response_prepare.append(self._guarded)
        return app

    @web.middleware
    async def _own_alone(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        address = f"{self.host}:{self.port}"
        origin = request.headers.get("Origin", f"http://{address}")
        if request.host != address or origin != f"http://{address}":
            raise web.HTTPForbidden(text=f"open http://{address} on the machine itself")
        return await handler(request)

    async def _guarded(self, _request: web.Request, response: web.StreamResponse) -> None:
        socket = f"ws://{self.host}:{self.port}"
        response.headers["Content-Security-Policy"] = (
            "default-src 'self' 'unsafe-inline'; img-src 'self' data:; font-src 'self' data:; "
            f"connect-src 'self' {socket}; frame-ancestors 'none'"
        )


def serve(command: str, host: str, port: int) -> None:
    """Answer until somebody interrupts.

    Args:
        command: what each visitor gets, as a line of the shell.
        host: the address to listen at.
        port: and its port.
    """
    _OneMachine(command, host=host, port=port, title="Porewatch").serve()
