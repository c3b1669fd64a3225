// Frame around the page: requests the widgets from the server and reports connection problems.
"use strict";
(() => {
  const texts = JSON.parse(document.getElementById("frame-texts").textContent);
  const PAUSE = 3000; // ms between checks that the page still exists
  const PATIENCE = 90000; // ms to wait for the first widget
  const LONG = 8000; // ms before a message explains why loading takes so long
  const { solara } = window;
  const ignored = { connect: () => {} };
  let leaving = false;
  let line = null; // the connection to Python
  let manager = null;
  let watching = false;
  let seen = false; // true once the widgets are displayed

  const is_open = () => line?.connectionStatus === "connected";

  function trouble(words, again) {
    const place = document.getElementById("frame-trouble");
    const button = place.querySelector("button");
    place.querySelector("p").textContent = words;
    button.hidden = !again;
    button.onclick = () => location.reload();
    place.hidden = words === "";
    if (again) document.getElementById("frame-loading").hidden = true;
  }

  async function is_there() {
    try {
      return (await fetch(`/pages/${texts.name}`, { cache: "no-store" })).status;
    } catch {
      return 0; // the server cannot be reached
    }
  }

  async function watch() {
    if (watching) return;
    watching = true;
    while (!is_open() && !leaving) {
      const status = await is_there();
      if (is_open() || leaving) break;
      if (status === 404 || status === 403) {
        trouble(texts.ended, true);
        line.dispose();
        break;
      }
      trouble(status ? texts.again : texts.unreachable, true);
      await new Promise((done) => setTimeout(done, PAUSE));
    }
    watching = false;
  }

  function connected(_, status) {
    if (status !== "connected") {
      if (!leaving) setTimeout(watch, 500);
    } else {
      trouble("", false);
      if (seen) manager.fetchAll(); // get changes made while the connection was lost
    }
  }

  async function show(model_id) {
    const model = await manager.get_model(model_id);
    const view = await manager.create_view(model);
    await manager.display_view(undefined, view, { el: document.getElementById("page") });
    document.getElementById("frame-loading").hidden = true;
    performance.mark("frame-ready");
    seen = true;
  }

  async function begin() {
    const baseUrl = `${location.origin}/jupyter/`;
    const wsUrl = baseUrl.replace(/^http/, "ws");
    line = await solara.connectKernel(baseUrl, texts.name, { wsUrl });
    line.connectionStatusChanged.connect(connected);
    const session = { kernel: line, kernelChanged: ignored };
    const context = {
      sessionContext: {
        session, statusChanged: ignored, kernelChanged: ignored, connectionStatusChanged: ignored,
      },
      saveState: ignored,
    };
    const rendermime = new solara.RenderMimeRegistry({
      initialFactories: [], latexTypesetter: { typeset: () => {} },
    });
    manager = new solara.WidgetManager(context, rendermime, { saveState: false });
    const asking = line.createComm(texts.target);
    asking.onMsg = (message) => {
      const told = message.content.data;
      if (told.model) show(told.model).catch(failed);
      else failed();
    };
    asking.open();
  }

  function failed(why) {
    if (why) console.error(why);
    trouble(texts.failed, true);
  }

  addEventListener("pagehide", () => {
    leaving = true;
    navigator.sendBeacon(`/goodbye/${texts.name}`);
  });
  addEventListener("pageshow", (event) => {
    if (event.persisted) location.reload();
  });

  // Mark the answer as outdated as soon as the user types, also while the connection is lost. The
  // mark is removed when Python writes the status line while no text waits to be sent, or when the
  // user leaves a field without a change.
  const root = document.documentElement.dataset;
  const is_entry = (one) => one.closest?.("#page .ao-job .ao-field") && one.matches("input, select");
  const field = { typing: false, sent: false, marked: false }; // the field in use
  addEventListener("focusin", ({ target }) => {
    if (is_entry(target)) Object.assign(field, { sent: false, marked: "pending" in root });
  });
  addEventListener("input", ({ target }) => {
    if (!is_entry(target)) return;
    root.pending = "";
    field.typing = true;
  });
  addEventListener("change", ({ target }) => {
    if (is_entry(target)) Object.assign(field, { typing: false, sent: true });
  });
  addEventListener("focusout", ({ target }) => {
    if (!is_entry(target)) return;
    field.typing = false;
    if (!field.sent && !field.marked) delete root.pending;
  });
  new MutationObserver((records) => {
    const told = (one) => (one.target.closest ? one.target : one.target.parentElement)
      ?.closest(".ao-status");
    if (is_open() && !field.typing && records.some(told)) delete root.pending;
  }).observe(document.getElementById("page"), {
    childList: true, characterData: true, subtree: true,
  });

  // A button that leads to the next step also leads to its beginning.
  addEventListener("click", (event) => {
    if (event.target.closest?.(".ao-onward")) document.getElementById("ao-answer").scrollIntoView();
  });

  // A file that is too large would break the connection, so reject it before it is sent.
  addEventListener("change", (event) => {
    const input = event.target;
    if (!(input instanceof HTMLInputElement) || input.type !== "file") return;
    const large = [...input.files].some((file) => file.size > texts.largest_file);
    if (large) {
      event.stopImmediatePropagation();
      input.value = "";
    }
    if (is_open()) trouble(large ? texts.too_large : "", false);
  }, true);

  // Set the language and title of the page from its content.
  new MutationObserver(() => {
    const spoken = document.querySelector("#page [data-language]");
    if (spoken && document.documentElement.lang !== spoken.dataset.language) {
      document.documentElement.lang = spoken.dataset.language;
      document.title = spoken.dataset.title;
    }
  }).observe(document.getElementById("page"), {
    attributeFilter: ["data-language"], childList: true, subtree: true,
  });
  setTimeout(() => {
    const more = document.getElementById("frame-more");
    if (more) more.textContent = texts.loading_long;
  }, LONG);
  setTimeout(() => {
    if (!seen) failed();
  }, PATIENCE);
  begin().catch(failed);
})();
