// Frame around the page: requests the widgets from the server and reports connection problems.
"use strict";
(() => {
  const texts = JSON.parse(document.getElementById("frame-texts").textContent);
  const PAUSE = 3000; // ms between checks that the page still exists
  const PATIENCE = 90000; // ms to wait for the first widget
  const LONG = 8000; // ms before a message explains why loading takes so long
  const { widgets, entries } = window;
  let leaving = false;
  let line = null; // the connection to Python (line.js)
  let send = null; // sends a message of the frame itself
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
        line.close();
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
    view = widgets.model(model_id);
    document.getElementById("page").append(widgets.element(view));
    await entries.move();
    document.getElementById("frame-loading").hidden = true;
    performance.mark("frame-ready");
    seen = true;
    compare();
  }

  function begin() {
    line = window.line = widgets.connect(texts.name);
    send = widgets.open(texts.target, (told) => {
      if (told.inputs) {
        answered = JSON.stringify(told.inputs);
        drawing = told.drawing;
        if (seen) compare();
      } else if (told.model) {
        show(told.model).catch(failed);
      } else {
        failed();
      }
    });
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
  const { typing } = widgets;
  let view = null; // widget of the whole page
  let answered = null; // inputs of the answer as JSON
  let drawing = false; // true while Python draws the answer
  let disagreeing = null;
  let agreeing = null;

  function* inputs(model) {
    const { state } = model;
    if (state._dom_classes?.includes("ao-input")) {
      yield state[["index", "selected_index"].find((key) => key in state) ?? "value"];
    }
    for (const child of widgets.children(model)) yield* inputs(child);
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
        send({ agree: true });
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

  // What Python puts into a field replaces an entry that the browser keeps, such as at an undo.
  widgets.replaced = ({ state }) => {
    const name = state._dom_classes?.find((one) => one.startsWith("ao-at-"));
    if (name) entries.replace(name, "index" in state ? state._options_labels[state.index] : state.value);
  };

  function read({ target }) {
    if (target.closest?.("#page")) entries.note(target);
    compare();
  }
  for (const type of ["input", "change"]) addEventListener(type, read);
  addEventListener("line", compare);
  new MutationObserver(() => {
    if (seen) entries.enter();
    compare();
  }).observe(document.getElementById("page"), {
    childList: true, characterData: true, subtree: true,
  });

  // A button that leads to the next step also leads to its beginning, and so does the bar of steps
  // at the bottom of a phone's screen.
  addEventListener("click", ({ target }) => {
    const bar = target.closest?.(".widget-tabs");
    const is_below = bar && getComputedStyle(bar).position === "fixed";
    if (is_below || target.closest?.(".ao-onward")) document.getElementById("ao-answer").scrollIntoView();
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
  begin();
})();
