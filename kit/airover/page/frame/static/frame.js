// The frame around the page: what stands there while it loads, or when it can not go on.
"use strict";
(() => {
  const texts = JSON.parse(document.getElementById("frame-texts").textContent);
  const PAUSE = 3000; // ms between two looks whether the page's kernel is there
  const PATIENCE = 90000; // ms for the first widget
  const LONG = 8000; // ms, after which it is told why it takes so long
  let leaving = false;
  let kernel = null;
  let open = 0; // connections to the kernel

  // Voila calls these while it sends the page.
  window.voila_process = window.voila_finish = window.voila_heartbeat = () => {};

  function trouble(words, again) {
    const place = document.getElementById("frame-trouble");
    const button = place.querySelector("button");
    place.querySelector("p").textContent = words;
    button.hidden = !again;
    button.onclick = () => location.reload();
    place.hidden = words === "";
    if (again) document.getElementById("frame-loading").hidden = true;
  }

  function stage(words) {
    const place = document.getElementById("frame-stage");
    if (place.textContent !== words) place.textContent = words;
  }

  async function isThere() {
    try {
      return (await fetch(`${texts.base}api/kernels/${kernel}`, { cache: "no-store" })).status;
    } catch {
      return 0; // the server itself can not be reached
    }
  }

  let watching = false;
  async function watch() {
    if (watching) return;
    watching = true;
    while (!open && !leaving) {
      const status = await isThere();
      if (open || leaving) break;
      if (status === 404 || status === 403) {
        trouble(texts.ended, true);
        break;
      }
      trouble(status ? texts.again : texts.unreachable, true);
      await new Promise((done) => setTimeout(done, PAUSE));
    }
    watching = false;
  }

  // The page's own connection, watched from outside.
  const Plain = window.WebSocket;
  window.WebSocket = class extends Plain {
    constructor(...how) {
      super(...how);
      const found = /\/api\/kernels\/([\w-]+)\/channels/.exec(this.url);
      if (!found) return;
      kernel = found[1];
      let counted = false;
      this.addEventListener("open", () => {
        open += 1;
        counted = true;
        trouble("", false);
      });
      this.addEventListener("close", () => {
        if (counted) open -= 1;
        if (!leaving) setTimeout(watch, 500);
      });
    }
  };

  addEventListener("pagehide", () => {
    leaving = true;
    if (kernel) navigator.sendBeacon(`${texts.base}goodbye/${kernel}`);
  });
  addEventListener("pageshow", (event) => {
    if (event.persisted) location.reload();
  });

  // A file that is too large would only break the connection: it is refused before it is sent.
  addEventListener("change", (event) => {
    const input = event.target;
    if (!(input instanceof HTMLInputElement) || input.type !== "file") return;
    const large = [...input.files].some((file) => file.size > texts.largest_file);
    if (large) {
      event.stopImmediatePropagation();
      input.value = "";
    }
    if (open) trouble(large ? texts.too_large : "", false);
  }, true);

  // The language of the page follows what its content says of itself.
  function look() {
    const spoken = document.querySelector("#rendered_cells [data-language]");
    if (spoken && document.documentElement.lang !== spoken.dataset.language) {
      document.documentElement.lang = spoken.dataset.language;
      document.title = spoken.dataset.title;
    }
    const loading = document.getElementById("frame-loading");
    if (!loading || loading.hidden) return;
    if (document.querySelector("#rendered_cells .jupyter-widgets")) {
      loading.hidden = true;
      performance.mark("frame-ready");
    } else if (document.querySelector("[data-failed]")) {
      trouble(texts.failed, true);
    } else if (document.getElementById("jupyter-config-data")) {
      stage(document.querySelector("[type$='cell-output+json']") ? texts.drawing : texts.working);
    }
  }
  // At once: the page comes in parts, the last of them only once its kernel has worked.
  new MutationObserver(look).observe(document, {
    attributeFilter: ["data-language"], childList: true, subtree: true,
  });
  setTimeout(() => {
    const more = document.getElementById("frame-more");
    if (more) more.textContent = texts.loading_long;
  }, LONG);
  setTimeout(() => {
    if (!document.getElementById("frame-loading").hidden) trouble(texts.failed, true);
  }, PATIENCE);
})();
