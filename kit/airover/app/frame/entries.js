// Entries that Python may not have stored yet, by the class of their field. They are kept in the
// browser, so they survive a lost connection and a reload. This script is small and loaded first,
// because the first fields (#frame-form) can be filled in before the widgets are loaded.
"use strict";
(() => {
  const key = `airover ${new URLSearchParams(location.search).get("job")}`;
  const FIELDS = ":is(input, select, textarea)";
  let kept = {};
  let left = {}; // those that are not in a widget yet
  try {
    left = JSON.parse(localStorage.getItem(key)) ?? {};
    kept = { ...left };
  } catch {} // without storage, entries are kept until the page is reloaded

  const named = (one) => {
    const box = one?.closest?.("[class*=ao-at-]");
    return box && [...box.classList].find((name) => name.startsWith("ao-at-"));
  };
  const field = (place, name) => document.querySelector(`${place} .${CSS.escape(name)} ${FIELDS}`);
  const value = (one) => (one.type === "checkbox" ? one.checked : one.value);

  function keep() {
    try {
      if (Object.keys(kept).length) localStorage.setItem(key, JSON.stringify(kept));
      else localStorage.removeItem(key);
    } catch {}
  }

  const is_changed = (one) =>
    one.options ? !one.options[one.selectedIndex].defaultSelected && one.selectedIndex > 0
      : one.value !== one.defaultValue;
  const frame = () => new Promise(requestAnimationFrame);

  function put(one, given) {
    if (one.type === "checkbox") one.checked = given;
    else one.value = given;
    one.dispatchEvent(new Event("input", { bubbles: true }));
    if (one !== document.activeElement) one.dispatchEvent(new Event("change", { bubbles: true }));
  }

  const entries = (window.entries = {
    // Keep what the user has entered.
    note(one) {
      const name = named(one);
      if (!name) return;
      kept[name] = value(one);
      if (one.closest("#frame-form")) left[name] = kept[name];
      else delete left[name];
      keep();
    },
    // Enter what is left into the widgets on the page.
    enter() {
      for (const [name, given] of Object.entries(left)) {
        const one = field("#page", name);
        if (!one) continue;
        delete left[name];
        if (value(one) !== given) put(one, given);
      }
    },
    // Replace the first fields with the widgets, without moving the field in use.
    async move() {
      const form = document.getElementById("frame-form");
      const any = form && named(form.querySelector(FIELDS));
      for (let at = 0; any && at < 120 && !field("#page", any)?.checkVisibility(); at += 1) await frame();
      await frame();
      form?.querySelectorAll(FIELDS).forEach((each) => is_changed(each) && entries.note(each));
      const used = document.activeElement;
      const one = form?.contains(used) && field("#page", named(used) ?? "none");
      const from = one && used.getBoundingClientRect().top;
      const caret = one && one.setSelectionRange && [used.selectionStart, used.selectionEnd];
      form?.remove();
      if (one) {
        one.focus({ preventScroll: true });
        window.scrollBy(0, one.getBoundingClientRect().top - from);
      }
      entries.enter();
      if (caret) one.setSelectionRange(...caret);
    },
    // Replace a kept entry with the value that Python has given to its field, such as by an undo.
    replace(name, given) {
      if (!(name in kept)) return;
      kept[name] = given;
      keep();
    },
    // Forget what Python has stored.
    forget() {
      kept = { ...left };
      keep();
    },
  });

  const form = document.getElementById("frame-form");
  for (const [name, given] of Object.entries(left)) {
    const one = field("#frame-form", name);
    if (one && !is_changed(one)) one.value = given;
  }
  for (const type of ["input", "change"]) {
    form?.addEventListener(type, ({ target }) => entries.note(target));
  }
})();
