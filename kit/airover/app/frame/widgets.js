// Show the widgets of Python (ipywidgets). A widget has a model, which is the state that Python and
// the browser share, and one element. The messages are those of Jupyter's widgets; the page has only
// the kinds of widgets below.
"use strict";
(() => {
  const PREFIX = "IPY_MODEL_";
  const LONGEST = 20000; // characters of an entry; the server accepts no message of 100 kB
  const models = new Map(); // by the ID of their comm
  const comms = new Map(); // handlers of the messages of the frame itself
  const running = new Map(); // models by the ID of the message that Python is handling
  const late = new Set(); // models with changes that wait until Python has handled the last ones
  const typing = new Set(); // boxes with text that their models do not have yet
  const session = crypto.randomUUID?.() ?? `${Math.random()}`;
  let line = null;
  let count = 0;

  // Messages

  function post(msg_type, content, buffers = []) {
    count += 1;
    const msg_id = `${session}-${count}`;
    const header = { msg_id, msg_type, username: "", session, version: "5.3", date: new Date().toISOString() };
    const text = JSON.stringify({ header, parent_header: {}, metadata: {}, content, channel: "shell", buffers: [] });
    line.send(buffers.length ? packed(text, buffers) : text);
    return msg_id;
  }

  // Join the parts of a message: their number, their places, and the parts themselves.
  function packed(text, buffers) {
    const parts = [new TextEncoder().encode(text), ...buffers.map((one) => new Uint8Array(one))];
    const head = 4 * (parts.length + 1);
    const size = parts.reduce((sum, one) => sum + one.length, head);
    const whole = new Uint8Array(size);
    const numbers = new DataView(whole.buffer);
    numbers.setUint32(0, parts.length);
    let place = head;
    parts.forEach((one, at) => {
      numbers.setUint32(4 * (at + 1), place);
      whole.set(one, place);
      place += one.length;
    });
    return whole.buffer;
  }

  function hear({ data }) {
    if (typeof data !== "string") return; // Python sends no binary data
    const { header, parent_header, content } = JSON.parse(data);
    const { comm_id } = content;
    const told = content.data ?? {};
    if (header.msg_type === "status") {
      running.get(parent_header.msg_id)?.heard(parent_header.msg_id, content.execution_state);
    } else if (header.msg_type === "comm_open") {
      models.set(comm_id, new Model(comm_id, told.state));
    } else if (header.msg_type === "comm_close") {
      models.get(comm_id)?.element?.remove();
      models.delete(comm_id);
    } else if (header.msg_type === "comm_msg") {
      if (comms.has(comm_id)) comms.get(comm_id)(told);
      else if (told.method === "update") (models.get(comm_id) ?? adopted(comm_id)).receive(told.state);
    }
  }

  // Python does not send a layout or a style that has nothing set, until it changes.
  function adopted(comm_id) {
    const model = new Model(comm_id, {});
    const all = [...models.values()];
    model.owners = all.filter(({ state }) => [state.layout, state.style].includes(PREFIX + comm_id));
    models.set(comm_id, model);
    return model;
  }

  class Model {
    constructor(id, state) {
      Object.assign(this, { id, state, element: null, view: null, owners: [] });
      Object.assign(this, { changes: {}, unheard: new Map(), message: null });
      for (const name of ["layout", "style"]) part(state[name])?.owners.push(this);
    }

    // Send a change that the user made. While Python is handling an earlier one, only the latest
    // value of each property is kept, so that a moving slider does not fall behind.
    set(state) {
      for (const one of late) if (one !== this) one.flush();
      Object.assign(this.state, state);
      Object.assign(this.changes, state);
      if (this.message === null) this.flush();
      else late.add(this);
      this.show();
    }

    flush(paths = [], buffers = []) {
      late.delete(this);
      const state = this.changes;
      const keys = Object.keys(state);
      if (!keys.length) return;
      this.changes = {};
      const data = { method: "update", state, buffer_paths: paths };
      this.message = post("comm_msg", { comm_id: this.id, data }, buffers);
      this.unheard.set(this.message, keys);
      running.set(this.message, this);
    }

    heard(message, state) {
      this.unheard.delete(message);
      if (state !== "idle") return;
      running.delete(message);
      if (this.message !== message) return;
      this.message = null;
      this.flush();
    }

    // Accept what Python sets, except a value that the user has changed again in the meantime.
    receive(state) {
      const own = new Set([...Object.keys(this.changes), ...[...this.unheard.values()].flat()]);
      for (const [key, value] of Object.entries(state)) {
        if (own.has(key)) continue;
        this.state[key] = value;
        if (key === "value" || key === "index") widgets.replaced(this);
      }
      for (const name of ["layout", "style"]) {
        const one = name in state && part(state[name]);
        if (one && !one.owners.includes(this)) one.owners.push(this);
      }
      for (const one of this.owners) one.show();
      this.show();
    }

    show() {
      if (!this.view) return;
      const { _dom_classes: own = [], layout, disabled, tooltip } = this.state;
      const { root, controls = [] } = this.view;
      root.classList.remove(...(this.classes ?? []).filter((one) => !own.includes(one)));
      root.classList.add(...own);
      this.classes = own;
      for (const [key, value] of Object.entries(part(layout)?.state ?? {})) {
        if (key.startsWith("_")) continue;
        const name = key.replaceAll("_", "-");
        if (typeof value === "string") root.style.setProperty(name, value);
        else root.style.removeProperty(name);
      }
      for (const one of controls) one.disabled = disabled === true;
      if (tooltip) root.title = tooltip;
      this.view.show?.(this.state, part(this.state.style)?.state ?? {});
    }

    tell(event) {
      for (const one of late) one.flush();
      post("comm_msg", { comm_id: this.id, data: { method: "custom", content: { event } } });
    }
  }

  const part = (name) => models.get(name?.startsWith?.(PREFIX) ? name.slice(PREFIX.length) : name);
  const children = (model) => (model.state.children ?? []).map(part).filter(Boolean);

  // Elements

  function make(tag, name = "", parts = []) {
    const one = document.createElement(tag);
    one.className = name;
    one.append(...parts);
    return one;
  }

  function id(one) {
    count += 1;
    one.id = `widget-${count}`;
    return one.id;
  }

  function put(one, key, value) {
    if (one[key] !== value) one[key] = value;
  }

  // Put the elements in their order without moving those that are in place, which may have the focus.
  function fill(box, parts) {
    for (const one of [...box.children]) if (!parts.includes(one)) one.remove();
    parts.forEach((one, at) => {
      if (box.children[at] !== one) box.insertBefore(one, box.children[at] ?? null);
    });
  }

  // A control with its label. `show` updates the control from the state.
  function labelled(kind, control, show, more = []) {
    const label = make("label", "widget-label");
    label.htmlFor = id(control);
    const root = make("div", `widget-inline ${kind}`, [label, control, ...more]);
    const shown = (state, style) => {
      put(label, "textContent", state.description);
      label.hidden = !state.description;
      label.style.width = style.description_width ?? "";
      show(state);
    };
    return { root, controls: [control], show: shown };
  }

  function html() {
    const content = make("div", "widget-html-content");
    let last = null;
    const show = ({ value }) => {
      if (value !== last) content.innerHTML = last = value;
    };
    return { root: make("div", "widget-html", [content]), show };
  }

  const box = (direction) => (model) => {
    const root = make("div", `widget-box ${direction}`);
    return { root, show: () => fill(root, children(model).map(element)) };
  };

  const typed = (tag, kind) => (model) => {
    const field = Object.assign(make(tag), { maxLength: LONGEST });
    if (tag === "input") Object.assign(field, { type: "text", autocomplete: "off" });
    const read = () => {
      typing.delete(field);
      if (field.value !== model.state.value) model.set({ value: field.value });
    };
    field.addEventListener("input", () => {
      if (model.state.continuous_update) read();
      else if (field.value !== model.state.value) typing.add(field);
      else typing.delete(field);
    });
    for (const event of ["change", "blur"]) field.addEventListener(event, read);
    field.addEventListener("keydown", ({ key, isComposing }) => {
      if (key !== "Enter" || isComposing || tag !== "input") return;
      read();
      model.tell("submit");
    });
    return labelled(kind, field, ({ value, placeholder, rows }) => {
      put(field, "placeholder", placeholder);
      if (rows) put(field, "rows", rows);
      if (typing.has(field) || field.value === value) return;
      const [start, end, whole] = [field.selectionStart, field.selectionEnd, field.value.length];
      field.value = value;
      if (field === document.activeElement) {
        field.setSelectionRange(start, end === whole && start < end ? value.length : end);
      }
    });
  };

  // Read a number within the limits of its model, or return null.
  function limited(text, { min, max }) {
    const value = text.trim() === "" ? NaN : Number(text.replace(",", "."));
    return Number.isFinite(value) ? Math.min(Math.max(value, min), max) : null;
  }

  function number(model) {
    const field = Object.assign(make("input"), { type: "text", inputMode: "decimal", autocomplete: "off" });
    field.addEventListener("change", () => {
      const value = limited(field.value, model.state);
      if (value !== null) model.set({ value });
      model.show();
    });
    return labelled("widget-text", field, ({ value }) => put(field, "value", `${value}`));
  }

  const list = (kind) => (model) => {
    const select = make("select");
    let shown = null;
    select.addEventListener("change", () => {
      if (select.selectedIndex >= 0) model.set({ index: select.selectedIndex });
    });
    return labelled(kind, select, ({ _options_labels: labels, index, rows }) => {
      if (rows) put(select, "size", rows);
      const all = JSON.stringify(labels);
      if (all !== shown) {
        shown = all;
        select.replaceChildren(...labels.map((label) => new Option(label, label)));
      }
      put(select, "selectedIndex", index ?? -1);
    });
  };

  function toggles(model) {
    const group = make("div", "widget-toggles");
    group.role = "group";
    return labelled("widget-toggle-buttons", group, ({ _options_labels: labels, index, disabled }) => {
      while (group.children.length > labels.length) group.lastChild.remove();
      labels.forEach((label, at) => {
        const button = group.children[at] ?? group.appendChild(make("button", "jupyter-button"));
        button.type = "button";
        button.onclick = () => model.set({ index: at });
        button.disabled = disabled === true;
        put(button, "textContent", label);
        press(button, at === index);
      });
    });
  }

  function press(button, is_pressed) {
    button.classList.toggle("mod-active", is_pressed);
    button.ariaPressed = `${is_pressed}`;
  }

  function checkbox(model) {
    const field = Object.assign(make("input"), { type: "checkbox" });
    const words = make("span");
    field.addEventListener("change", () => model.set({ value: field.checked }));
    const root = make("div", "widget-inline widget-checkbox", [make("label", "widget-label-basic", [field, words])]);
    const show = ({ value, description }) => {
      put(field, "checked", value);
      put(words, "textContent", description);
    };
    return { root, controls: [field], show };
  }

  function button(model) {
    const root = Object.assign(make("button", "jupyter-button"), { type: "button" });
    root.addEventListener("click", () => model.tell("click"));
    const show = ({ description, button_style: style }) => {
      put(root, "textContent", description);
      root.classList.toggle("mod-primary", style === "primary");
    };
    return { root, controls: [root], show };
  }

  function toggle(model) {
    const root = Object.assign(make("button", "jupyter-button"), { type: "button" });
    root.addEventListener("click", () => model.set({ value: !model.state.value }));
    const show = ({ value, description }) => {
      put(root, "textContent", description);
      root.classList.toggle("mod-active", value);
      const key = root.classList.contains("ao-fold") ? "ariaExpanded" : "ariaPressed";
      root[key] = `${value}`;
    };
    return { root, controls: [root], show };
  }

  function upload(model) {
    const field = Object.assign(make("input"), { type: "file", hidden: true });
    const words = make("span");
    const root = Object.assign(make("button", "jupyter-button"), { type: "button" });
    root.append(words);
    root.addEventListener("click", () => field.click());
    field.addEventListener("change", async () => {
      const [file] = field.files;
      if (!file) return;
      const content = await file.arrayBuffer();
      const { name, type, size, lastModified: last_modified } = file;
      field.value = ""; // so that the same file can be opened again
      model.changes = { value: [{ name, type, size, last_modified }] };
      model.flush([["value", 0, "content"]], [content]);
    });
    const show = ({ description, accept }) => {
      put(words, "textContent", description);
      put(field, "accept", accept);
    };
    return { root: make("div", "widget-upload", [root, field]), controls: [root], show };
  }

  // A slider of whole numbers or, with `labels`, of the places of a list.
  function slider(model) {
    const { state } = model;
    const key = "index" in state ? "index" : "value";
    const field = Object.assign(make("input"), { type: "range" });
    const readout = Object.assign(make("input", "widget-readout"), { type: "text", inputMode: "decimal" });
    readout.readOnly = key === "index";
    field.addEventListener("input", () => model.set({ [key]: Number(field.value) }));
    readout.addEventListener("change", () => {
      const value = limited(readout.value, model.state);
      if (value !== null) model.set({ value: Math.round(value) });
      model.show();
    });
    const view = labelled("widget-slider", field, ({ description, min, max, step, _options_labels: labels }) => {
      const [least, most] = labels ? [0, labels.length - 1] : [min, max];
      put(field, "min", `${least}`);
      put(field, "max", `${most}`);
      put(field, "step", `${labels ? 1 : step}`);
      put(field, "value", `${state[key]}`);
      const told = labels ? labels[state.index] ?? "" : `${state.value}`;
      put(readout, "value", told);
      field.ariaValueText = told;
      readout.ariaLabel = description;
    }, [readout]);
    view.controls.push(readout);
    return view;
  }

  function tabs(model) {
    const bar = make("div", "widget-tabs");
    bar.role = "tablist";
    const contents = make("div", "widget-tab-contents");
    const panels = new Map(); // by the model that is shown inside
    const select = (at) => model.state.selected_index !== at && model.set({ selected_index: at });
    bar.addEventListener("keydown", (event) => {
      const all = [...bar.children];
      const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      if (!step) return;
      all[(all.indexOf(event.target) + step + all.length) % all.length].focus();
      event.preventDefault();
    });
    function panel(child) {
      if (!panels.has(child)) {
        const one = make("div", "widget-tab-panel", [element(child)]);
        one.role = "tabpanel";
        id(one);
        panels.set(child, one);
      }
      return panels.get(child);
    }
    const show = ({ titles, selected_index: at }) => {
      const shown = children(model).map(panel);
      fill(contents, shown);
      while (bar.children.length > shown.length) bar.lastChild.remove();
      shown.forEach((one, place) => {
        const tab = bar.children[place] ?? bar.appendChild(Object.assign(make("button"), { type: "button" }));
        if (!tab.id) id(tab);
        tab.role = "tab";
        tab.onclick = () => select(place);
        put(tab, "textContent", titles[place] ?? "");
        tab.ariaSelected = `${place === at}`;
        tab.tabIndex = place === at ? 0 : -1;
        tab.setAttribute("aria-controls", one.id);
        one.setAttribute("aria-labelledby", tab.id);
        one.hidden = place !== at;
        if (place === at) bar.scrollTo({ left: tab.offsetLeft + (tab.clientWidth - bar.clientWidth) / 2 });
      });
    };
    return { root: make("div", "widget-tab", [bar, contents]), show };
  }

  const KINDS = {
    HTMLModel: html,
    BoxModel: box("widget-plain"),
    HBoxModel: box("widget-hbox"),
    VBoxModel: box("widget-vbox"),
    TextModel: typed("input", "widget-text"),
    TextareaModel: typed("textarea", "widget-textarea"),
    BoundedFloatTextModel: number,
    DropdownModel: list("widget-dropdown"),
    SelectModel: list("widget-select"),
    ToggleButtonsModel: toggles,
    CheckboxModel: checkbox,
    ButtonModel: button,
    ToggleButtonModel: toggle,
    FileUploadModel: upload,
    IntSliderModel: slider,
    SelectionSliderModel: slider,
    TabModel: tabs,
  };

  function element(model) {
    if (!model.view) {
      model.view = KINDS[model.state._model_name](model);
      model.element = model.view.root;
      model.element.classList.add("jupyter-widgets");
      model.show();
    }
    return model.element;
  }

  const widgets = (window.widgets = {
    children,
    typing,
    // Called with a model whose value was set by Python.
    replaced: () => {},
    connect(name) {
      const place = location.origin.replace(/^http/, "ws");
      line = new Line(`${place}/jupyter/api/kernels/${name}/channels?session_id=${session}`);
      line.onmessage = hear;
      return line;
    },
    // Open the frame's own exchange of messages with Python, and return the function that sends one.
    open(target_name, handle) {
      const comm_id = `${session}-frame`;
      comms.set(comm_id, handle);
      post("comm_open", { comm_id, target_name, data: {} });
      return (data) => post("comm_msg", { comm_id, data });
    },
    model: part,
    element,
  });
})();
