"""What the page's server answers, and nothing else: the page, its files, its kernel's messages."""

from html import escape

from jupyter_server.base.handlers import FileFindHandler, JupyterHandler
from jupyter_server.services.kernels.handlers import KernelHandler
from tornado import web
from tornado.ioloop import IOLoop
from voila.request_info_handler import RequestInfoSocketHandler
from voila.tornado.handler import TornadoVoilaHandler
from voila.tornado.kernel_websocket_handler import VoilaKernelWebsocketHandler

from airover.errors import InputError
from airover.page.keys import key_of, new_key

# What the page's own files need. Styles stand in the widgets, so they cannot be named one by one.
POLICY = {
    "default-src": "'self'",
    "style-src": "'self' 'unsafe-inline'",
    "img-src": "'self' data: blob:",
    "font-src": "'self' data:",
    "object-src": "'none'",
    "base-uri": "'none'",
    "form-action": "'none'",
    "frame-ancestors": "'none'",
}
HEADERS = {
    "Content-Security-Policy": "; ".join(f"{what} {whence}" for what, whence in POLICY.items()),
    "Referrer-Policy": "no-referrer",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
AFTER_GOODBYE, AFTER_LOSS = 3.0, 300.0  # s that a kernel without its page is kept


class Guarded:
    """A handler that answers nothing at all to who has no token, where one is asked for."""

    async def prepare(self):
        await super().prepare()
        if not self.current_user:
            raise web.HTTPError(403)

    def get_login_url(self):
        raise web.HTTPError(403)  # instead of a form to log in

    def write_error(self, status_code: int, **kwargs) -> None:
        """One sentence on a page of its own, in the language of the server."""
        texts = self.settings["page_texts"]
        key = f"refusal.{status_code}"
        why = escape(texts(key if texts.has(key) else "refusal.other"))
        back = f'<p><a href="{self.base_url}">{escape(texts("refusal.back"))}</a></p>'
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.finish(
            f'<!DOCTYPE html><html lang="{texts.language}"><head><title>airover</title>'
            '<meta name="viewport" content="width=device-width, initial-scale=1"></head>'
            f"<body><main><h1>airover</h1><p>{why}</p>{'' if status_code == 403 else back}</main>"
        )


class Page(Guarded, TornadoVoilaHandler):
    """The page; whoever comes without a key is sent on to one of their own, without the token."""

    async def get(self):
        if self.request.headers.get("Sec-Fetch-Dest", "document") != "document":
            raise web.HTTPError(403)  # another site has put the page into a picture, a frame, ...
        try:
            key = key_of(self.request.query)
        except InputError:
            key = new_key()
        if self.request.query != f"job={key}":
            self.redirect(f"{self.base_url}?job={key}")
        elif len(self.kernel_manager.list_kernel_ids()) > self.settings["most_pages"]:
            raise web.HTTPError(503)
        else:
            await super().get()


class Files(Guarded, FileFindHandler):
    """Files of the frame and of Voila that the page is made of; links out of them are refused."""


class Messages(Guarded, VoilaKernelWebsocketHandler):
    """The messages of the widgets, both ways. A kernel whose page stays away is ended."""

    def on_close(self):
        super().on_close()
        IOLoop.current().call_later(AFTER_LOSS, self.settings["end_if_left"], self.kernel_id)


class Question(RequestInfoSocketHandler):
    """Where a kernel of this computer that was started beforehand waits for its page."""

    def prepare(self):
        if self.request.remote_ip != "127.0.0.1":
            raise web.HTTPError(403)

    def check_origin(self, origin: str) -> bool:
        return False  # kernels send none; a page of a browser has nothing to ask here


class Kernel(Guarded, KernelHandler):
    """Tells a page whether its kernel is still there, and nothing of others; it can ask no more."""

    SUPPORTED_METHODS = ("GET",)


class Goodbye(Guarded, JupyterHandler):
    """A page that is left says so; its kernel gets the time to keep what was typed."""

    def check_xsrf_cookie(self) -> None:
        if not self.check_origin():  # a beacon has no header to carry more
            raise web.HTTPError(403)

    def post(self, kernel_id):
        IOLoop.current().call_later(AFTER_GOODBYE, self.settings["end_if_left"], kernel_id)
        self.set_status(204)


class Nothing(Guarded, JupyterHandler):
    """Every other address."""

    async def prepare(self):
        await super().prepare()
        raise web.HTTPError(404)
