"""What the served notebook runs: everything slow first, then the page of whoever asks for it."""

import asyncio
import json
import os
from concurrent.futures import ThreadPoolExecutor

import ipywidgets as widgets
from tornado.websocket import websocket_connect

from airover.page.app import App
from airover.page.keys import key_of, latest, unsaved_file, unsaved_folder
from airover.page.spoken import AHEAD, LANGUAGE, SHARED, UNITS


def begin() -> widgets.Widget:
    """The widget of the page whose request this kernel answers; waits for the request.

    Raises InputError where the request has no key.
    """
    page = App(os.environ.get(LANGUAGE, "en"), os.environ.get(UNITS, "US"))
    waits = os.environ.get("VOILA_PREHEAT") == "True"
    if waits and os.environ.get(AHEAD):  # nobody asks for it yet
        page.get_ready()
    key, folder = key_of(_asked() if waits else os.environ["QUERY_STRING"]), unsaved_folder()
    before = None if os.environ.get(SHARED) else latest(folder, key)
    page.keep_in(unsaved_file(folder, key), before)
    return page.view


def _asked() -> str:
    """The query of the request, once it has come.

    As `voila.utils.get_query_string` does; to import that takes two seconds.
    """
    port, kernel = os.environ["VOILA_APP_PORT"], os.environ["VOILA_KERNEL_ID"]

    async def told() -> str:
        line = await websocket_connect(f"ws://127.0.0.1:{port}/voila/query/{kernel}")
        return await line.read_message()

    with ThreadPoolExecutor(1) as thread:  # the kernel's own loop runs in this one
        return json.loads(thread.submit(asyncio.run, told()).result())["QUERY_STRING"]
