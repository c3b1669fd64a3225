"""The page's server: Voila with one notebook, a template of its own and few addresses.

Nobody runs code by it: kernels take messages of widgets only, and no address leads to files,
notebooks, terminals or lists of kernels.
"""

import os
import re
import secrets
import socket
import webbrowser
from pathlib import Path

from jupyter_client.kernelspec import KernelSpecManager
from jupyter_client.localinterfaces import public_ips
from jupyter_core.utils import ensure_async
from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection
from tornado.httpserver import HTTPServer
from tornado.ioloop import IOLoop
from traitlets import default
from traitlets.config import Config
from voila.app import Voila
from voila.paths import collect_static_paths
from voila.utils import get_voila_labextensions_path
from voila.voila_identity_provider import VoilaIdentityProvider

from airover.errors import InputError
from airover.page import handlers
from airover.page.keys import forget_old, unsaved_folder
from airover.page.spoken import AHEAD, LANGUAGE, SHARED, UNITS
from airover.texts import Texts

FRAME = Path(__file__).parent / "frame"
PORT, TRIED = 8765, 20  # the usual one, and how many from there on
LARGEST_MESSAGE = 5_000_000  # bytes, from the page
LARGEST_FILE = 4_500_000  # bytes; the rest is for the message around it
MOST_PAGES = 8  # at one time; each takes some 350 MB
IDLE, LOOKED = 7200, 60  # s without a message until a kernel ends, and between two looks
TOKEN = re.compile(r"[\w-]{12,200}", re.ASCII)
MESSAGES = ["comm_open", "comm_close", "comm_msg", "comm_info_request", "kernel_info_request"]
WIDGETS = ["@voila-dashboards/widgets-manager8", "@jupyter-widgets/jupyterlab-manager"]
PING = 30_000  # ms between two signs of life of a page, and until the answer
_KERNEL = r"(?P<kernel_id>[\w-]{36})"


class ThisPython(KernelSpecManager):
    """Knows no kernel but the Python that the server runs on."""

    @default("kernel_dirs")
    def _no_other(self):
        return []


class Connection(ZMQChannelsWebsocketConnection):
    """Tells the page, by closing, that its kernel died."""

    def on_restart_failed(self):
        super().on_restart_failed()
        self.websocket_handler.close(1001, "the kernel has ended")


class PageServer(Voila):
    """Serves ``frame/page.ipynb`` on the socket ``line``, in the language of ``texts``."""

    def __init__(self, line: socket.socket, texts: Texts, **settings):
        super().__init__(**settings)
        self.line, self.texts = line, texts
        self.port = line.getsockname()[1]

    def setup_template_dirs(self):
        self.template_paths = [str(FRAME / "template")]
        self.static_paths = [str(FRAME / "static"), *collect_static_paths(["voila"], "base")]

    def init_settings(self) -> dict:
        settings = super().init_settings()
        self.kernel_manager.allowed_message_types = MESSAGES
        own = {
            "allow_remote_access": bool(self.token),  # else only names of this computer
            "headers": handlers.HEADERS,
            "ws_ping_interval": PING,
            "ws_ping_timeout": PING,
            "websocket_max_message_size": LARGEST_MESSAGE,
            "page_texts": self.texts,
            "most_pages": MOST_PAGES,
            "end_if_left": self.end_if_left,
        }
        return settings | own

    def init_handlers(self) -> list:
        page = {
            "notebook_path": os.path.relpath(self.notebook_path, self.root_dir),
            "template_paths": self.template_paths,
            "config": self.config,
            "voila_configuration": self.voila_configuration,
        }
        extensions = {"path": get_voila_labextensions_path()}
        return [
            (r"/", handlers.Page, page),
            (r"/voila/static/(.+)", handlers.Files, {"path": self.static_paths}),
            (
                rf"/voila/labextensions/((?:{'|'.join(WIDGETS)})/static/.+)",
                handlers.Files,
                extensions,
            ),
            (rf"/api/kernels/{_KERNEL}/channels", handlers.Messages),
            (rf"/voila/query/{_KERNEL}", handlers.Question),
            (rf"/api/kernels/{_KERNEL}", handlers.Kernel),
            (rf"/goodbye/{_KERNEL}", handlers.Goodbye),
            (r"/.*", handlers.Nothing),
        ]

    def listen(self):
        """Answer until Ctrl-C or SIGTERM."""
        os.environ[AHEAD] = "yes"  # for all kernels but the first, for which somebody may wait
        HTTPServer(self.app, max_body_size=LARGEST_MESSAGE).add_socket(self.line)
        self.ioloop = IOLoop.current()
        try:
            self.ioloop.start()
        except KeyboardInterrupt:
            print("\nThe page was closed.")
        finally:
            self.stop()

    async def end_if_left(self, kernel_id: str) -> None:
        """End a kernel that no page is connected to."""
        kernels = self.kernel_manager
        if kernel_id in kernels and not kernels.kernel_model(kernel_id)["connections"]:
            await ensure_async(kernels.shutdown_kernel(kernel_id, now=True))


def serve(
    port: int | None = None,
    network: bool = False,
    token: str | None = None,
    language: str = "en",
    units: str = "US",
    open_browser: bool = True,
) -> None:
    """Serve the page until it is closed by Ctrl-C; prints its address.

    Without a ``port`` the usual one, or the next that is free. With ``network`` other computers
    are answered too, but only with the ``token``, which is drawn where none is given. Raises
    InputError for a port that is not free, or a token that is too short or not asked for.
    """
    token = _token(network, token)
    texts = Texts(language)
    forget_old(unsaved_folder())
    line = _socket(port, "0.0.0.0" if network else "127.0.0.1")
    os.environ |= {LANGUAGE: language, UNITS: units, SHARED: "yes" if network else "", AHEAD: ""}
    server = PageServer(line, texts, config=_config(texts), token=token)
    server.initialize([])
    address = f"http://127.0.0.1:{server.port}/"
    secret = f"?token={token}" if token else ""
    print(_told(address, server.port, secret), flush=True)
    if open_browser:
        IOLoop.current().call_later(0, webbrowser.open, address + secret)
    server.start()


def _token(network: bool, token: str | None) -> str | None:
    if token is not None and not network:
        raise InputError("--token", "a token without --network", "both together")
    if token is not None and not TOKEN.fullmatch(token):
        raise InputError(
            "--token", f"a token of {len(token)} letters", "12 or more of a-z, A-Z, 0-9, - and _"
        )
    return (token or secrets.token_urlsafe(24)) if network else None


def _socket(port: int | None, address: str) -> socket.socket:
    """A socket that listens at ``port``, or at the first free one of the usual ones."""
    if port is not None and not 0 <= port <= 65535:
        raise InputError("--port", port, "a number from 0 (any) to 65535")
    for one in range(PORT, PORT + TRIED) if port is None else [port]:
        try:
            found = socket.create_server((address, one), backlog=128)
        except OSError as error:
            why = error.strerror
        else:
            found.setblocking(False)
            return found
    raise InputError("--port", f"{one} ({why})", "a port that is free; 0 takes any")


def _config(texts: Texts) -> Config:
    """The settings of Voila: those of this page only, whatever else this computer has."""
    config = Config()
    config.Voila.config_file_paths = []
    config.Voila.notebook_path = str(FRAME / "page.ipynb")
    config.Voila.open_browser = False
    config.Voila.log_level = "ERROR"
    config.Voila.identity_provider_class = VoilaIdentityProvider
    config.Voila.kernel_websocket_connection_class = Connection
    config.IdentityProvider.cookie_options = {"samesite": "Lax"}
    voila = config.VoilaConfiguration
    voila.allow_template_override = voila.allow_theme_override = "NO"
    voila.file_allowlist = []
    voila.extension_allowlist = WIDGETS
    voila.kernel_spec_manager_class = ThisPython
    voila.preheat_kernel, voila.default_pool_size = True, 1
    voila.http_keep_alive_timeout = 600  # s; its sign of life would be a script within the page
    voila.resources = {"frame": _frame(texts)}
    config.MappingKernelManager.cull_idle_timeout = IDLE
    config.MappingKernelManager.cull_interval = LOOKED
    config.MappingKernelManager.cull_connected = True
    if os.name != "nt":
        config.KernelManager.transport = "ipc"  # files of this user instead of open ports
        # The path of such a file has at most 103 letters, and half of them are the kernel's name:
        # the usual folder of temporary files on macOS is too long.
        config.Voila.connection_dir_root = "/tmp"
    config.KernelRestarter.restart_limit = 0  # a kernel that is started again has no page
    config.ZMQChannelsWebsocketConnection.limit_rate = False  # pictures come in bursts
    return config


def _frame(texts: Texts) -> dict:
    """What the template and its script say, and what they have to know."""
    size = f"{LARGEST_FILE / 1e6:g} MB"
    names = (key.removeprefix("frame.") for key in texts.texts if key.startswith("frame."))
    said = {name: texts(f"frame.{name}", size=size) for name in names}
    return said | {"language": texts.language, "base": "/", "largest_file": LARGEST_FILE}


def _told(address: str, port: int, secret: str) -> str:
    """What the person who starts the page has to know."""
    if not secret:
        return f"The page is at {address} for this computer only; Ctrl-C closes it."
    others = "".join(f"\n  http://{ip}:{port}/{secret}" for ip in public_ips())
    return (
        f"The page is at\n  {address}{secret}{others}\n"
        "Every computer and phone that can reach this one can open it, if it has such an address\n"
        "with its token: hand it on as you would a key. What is typed crosses the network as\n"
        "readable text, so use a network that you trust. Ctrl-C closes the page for all."
    )
