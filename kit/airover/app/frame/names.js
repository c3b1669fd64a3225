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

  function field(box) {
    const input = box.querySelector("input, select");
    const help = box.querySelector(".ao-help .widget-html-content");
    if (!input || !help) return;
    if (input.closest(".ao-number")) set(input, "inputmode", "decimal"); // show a phone's numeric keypad
    set(input, "enterkeyhint", "done");
    set(input, "aria-describedby", named(help));
    set(input, "aria-invalid", String(help.querySelector(".ao-wrong") !== null));
  }

  function look() {
    const each = (what, act) => document.querySelectorAll(`#page ${what}`).forEach(act);
    each(".ao-field", field);
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
