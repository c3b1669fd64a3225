// Accessibility attributes that the widgets lack: names, states and screen-reader announcements.
// Also selects the on-screen keyboard that a phone shows for a field.
"use strict";
(() => {
  const PAUSE = 250; // ms; messages that arrive within this time are announced together
  let last = 0;

  function set(element, name, value) {
    if (element.getAttribute(name) !== value) element.setAttribute(name, value);
  }

  function named(element) {
    if (!element.id) element.id = `frame-${(last += 1)}`;
    return element.id;
  }

  function slider(box) {
    const [handle, readout] = [".noUi-handle", ".widget-readout"].map((one) => box.querySelector(one));
    const label = box.querySelector(".widget-label").textContent;
    if (!handle || !readout) return;
    set(handle, "aria-label", label);
    set(handle, "aria-valuetext", readout.textContent);
    set(readout, "role", "textbox");
    set(readout, "aria-label", label);
  }

  function steps(tabs) {
    const panels = tabs.querySelector(":scope > .widget-tab-contents").children;
    tabs.querySelectorAll(":scope > .lm-TabBar [role=tab]").forEach((tab, at) => {
      if (!panels[at]) return;
      set(panels[at], "role", "tabpanel");
      set(panels[at], "aria-labelledby", named(tab));
      set(tab, "aria-controls", named(panels[at]));
      set(tab, "tabindex", tab.ariaSelected === "true" ? "0" : "-1");
    });
  }

  // Keyboard control of the tabs: arrow keys move the focus, Enter or the space bar selects a tab.
  addEventListener("keydown", (event) => {
    const tab = event.target.closest?.("#page [role=tab]");
    if (!tab) return;
    const all = [...tab.parentElement.children];
    const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (step) {
      all[(all.indexOf(tab) + step + all.length) % all.length].focus();
    } else if (event.key === "Enter" || event.key === " ") {
      const { x, y, width, height } = tab.getBoundingClientRect();
      const where = { bubbles: true, button: 0, clientX: x + width / 2, clientY: y + height / 2 };
      for (const kind of ["pointerdown", "pointerup"]) tab.dispatchEvent(new PointerEvent(kind, where));
    } else {
      return;
    }
    event.preventDefault();
  });

  function field(box) {
    const input = box.querySelector("input, select");
    const help = box.querySelector(".ao-help .widget-html-content");
    if (!input || !help) return;
    if (input.closest(".ao-number")) set(input, "inputmode", "decimal"); // show a phone's numeric keypad
    set(input, "enterkeyhint", "done");
    set(input, "aria-describedby", named(help));
    set(input, "aria-invalid", String(help.querySelector(".ao-wrong") !== null));
  }

  function upload(button) {
    button.querySelectorAll("i").forEach((icon) => set(icon, "aria-hidden", "true"));
    for (const one of button.childNodes) {
      const bare = one.data && one.data.replace(/ \(\d+\)$/, ""); // remove the number of files, which is always zero
      if (bare !== one.data) one.data = bare;
    }
  }

  function look() {
    const each = (what, act) => document.querySelectorAll(`#page ${what}`).forEach(act);
    each(".widget-slider", slider);
    each(".widget-tab", steps);
    each(".ao-field", field);
    each(".widget-upload", upload);
    each("[title=null]", (one) => one.removeAttribute("title"));
    each(".ao-fold", (fold) => set(fold, "aria-expanded", String(fold.matches(".mod-active"))));
  }

  // Screen readers announce one permanent element. Copy new text marked data-aloud into it.
  const said = new Set();
  let waiting = null;
  function aloud(records) {
    for (const { addedNodes } of records) {
      for (const node of addedNodes) {
        if (node instanceof Element) {
          if (node.matches("[data-aloud]")) said.add(node.textContent);
          node.querySelectorAll("[data-aloud]").forEach((one) => said.add(one.textContent));
        }
      }
    }
    if (!said.size) return;
    clearTimeout(waiting);
    waiting = setTimeout(() => {
      document.getElementById("frame-aloud").textContent = [...said].join(" ");
      said.clear();
    }, PAUSE);
  }

  let asked = false;
  function changed(records) {
    aloud(records);
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => {
      asked = false;
      look();
    });
  }
  addEventListener("DOMContentLoaded", () => {
    new MutationObserver(changed).observe(document.getElementById("page"), {
      attributeFilter: ["class", "aria-valuetext"], childList: true, characterData: true,
      subtree: true,
    });
  });
})();
