// Frame around the page: requests the widgets from the server and reports connection problems.
"use strict";
(() => {
  const texts = JSON.parse(document.getElementById("frame-texts").textContent);
  const PAUSE = 3000; // ms between checks that the page still exists
  const PATIENCE = 90000; // ms to wait for the first widget
  const LONG = 8000; // ms before a message explains why loading takes so long
  const { solara, entries } = window;
  const ignored = { connect: () => {} };
  let leaving = false;
  let kernel = null; // Python's end as the widgets see it
  let line = null; // the connection to Python (line.js)
  let asking = null; // messages of the frame itself
  let manager = null;
  let watching = false;
  let lost = false; // true while the connection is lost
  let seen = false; // true once the widgets are displayed

  const is_open = () => line?.open === true;

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
        kernel.dispose();
        break;
      }
      const told = line.waiting ? texts.unsent : status ? texts.again : texts.unreachable;
      trouble(told, !line.waiting);
      await new Promise((done) => setTimeout(done, PAUSE));
    }
    watching = false;
  }

  addEventListener("line", () => {
    if (is_open()) {
      if (lost) trouble("", false);
      lost = false;
    } else if (!leaving) {
      lost = true;
      setTimeout(watch, 500);
    }
  });

  async function show(model_id) {
    view = await manager.get_model(model_id);
    const shown = await manager.create_view(view);
    await manager.display_view(undefined, shown, { el: document.getElementById("page") });
    await entries.move();
    document.getElementById("frame-loading").hidden = true;
    performance.mark("frame-ready");
    seen = true;
    compare();
  }

  async function begin() {
    const baseUrl = `${location.origin}/jupyter/`;
    const wsUrl = baseUrl.replace(/^http/, "ws");
    kernel = await solara.connectKernel(baseUrl, texts.name, { wsUrl });
    line = window.line;
    const session = { kernel, kernelChanged: ignored };
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
    await keep_entries();
    asking = kernel.createComm(texts.target);
    asking.onMsg = (message) => {
      const told = message.content.data;
      if (told.inputs) {
        answered = JSON.stringify(told.inputs);
        drawing = told.drawing;
        if (seen) compare();
      } else if (told.model) {
        show(told.model).catch(failed);
      } else {
        failed();
      }
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

  // Compare the inputs on the screen with the inputs of the answer, which Python reports. The
  // answer is marked as outdated until both agree, also while the connection is lost.
  const AGREE = 3000; // ms of disagreement before Python sends its inputs again
  const SAVED = 3000; // ms of agreement after which Python has stored the entries
  const root = document.documentElement.dataset;
  const typing = new Set(); // text fields with text that their widgets do not have yet
  const model_of = new WeakMap(); // widget of a text field
  let view = null; // widget of the whole page
  let answered = null; // inputs of the answer as JSON
  let drawing = false; // true while Python draws the answer
  let disagreeing = null;
  let agreeing = null;

  function* inputs(model) {
    if (model.get("_dom_classes")?.includes("ao-input")) {
      yield model.get(["index", "selected_index"].find((key) => model.has(key)) ?? "value");
    }
    for (const child of model.get("children") ?? []) yield* inputs(child);
  }

  function compare() {
    if (is_open()) delete root.offline;
    else root.offline = "";
    if (answered === null || !seen) return;
    for (const one of typing) if (!one.isConnected) typing.delete(one);
    const agrees = typing.size === 0 && JSON.stringify([...inputs(view)]) === answered;
    if (agrees && !drawing) delete root.pending;
    else root.pending = "";
    if (agrees || typing.size || !line.open || line.waiting) {
      clearTimeout(disagreeing);
      disagreeing = null;
    } else {
      disagreeing ??= setTimeout(() => {
        disagreeing = null;
        asking.send({ agree: true });
      }, AGREE);
    }
    if (!agrees || line.waiting) {
      clearTimeout(agreeing);
      agreeing = null;
    } else {
      agreeing ??= setTimeout(() => {
        agreeing = null;
        entries.forget();
      }, SAVED);
    }
  }

  // A value from Python does not replace a later value that is on its way to Python, nor text that
  // the user is typing.
  async function keep_entries() {
    const { prototype } = await manager.loadClass("WidgetModel", "@jupyter-widgets/base", "2.0.0");
    const handle = prototype._handle_comm_msg;
    prototype._handle_comm_msg = function (message) {
      const { method, state } = message.content.data;
      if (method === "update" && this.get("_model_name") !== "FileUploadModel") {
        for (const key of Object.keys(state)) {
          if (this._expectedEchoMsgIds.has(key) || key in (this._msg_buffer ?? {})) delete state[key];
        }
        const name = this.get("_dom_classes")?.find((one) => one.startsWith("ao-at-"));
        if (name && "value" in state) entries.replace(name, state.value);
        if (name && "index" in state) entries.replace(name, this.get("_options_labels")[state.index]);
      }
      return handle.call(this, message);
    };
    for (const name of ["TextView", "TextareaView"]) {
      const { prototype } = await manager.loadClass(name, "@jupyter-widgets/controls", "2.0.0");
      const { update } = prototype;
      prototype.update = function (options) {
        const box = this.textbox;
        model_of.set(box, this.model);
        const [start, end, whole] = [box.selectionStart, box.selectionEnd, box.value.length];
        const found = update.call(this, typing.has(box) ? { updated_view: this } : options);
        if (box === document.activeElement && box.value.length !== whole) {
          box.setSelectionRange(start, end === whole && start < end ? box.value.length : end);
        }
        return found;
      };
    }
  }

  function read({ target, type }) {
    const model = model_of.get(target);
    if (model && type !== "change" && model.get("value") !== target.value) typing.add(target);
    else typing.delete(target);
    if (target.closest?.("#page")) entries.note(target);
    compare();
  }
  for (const type of ["input", "change"]) addEventListener(type, read);
  addEventListener("focusout", ({ target }) => {
    if (typing.has(target)) target.dispatchEvent(new Event("change", { bubbles: true }));
  });
  addEventListener("line", compare);
  new MutationObserver(() => {
    if (seen) entries.enter();
    compare();
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
