// The builder's page with two lines in it, the tab it stands in, and htmx as that page sets it: one
// request at a time, the next one with what stands in the form by then; an answer changes what is
// told about a line, never its fields.

import { Document, Element, Form, h, Storage } from "./dom.js";
import { Clock, runScript } from "./scripts.js";

const LINES = { "slot-1": { amount: "8", rest_seconds: "30" }, "slot-2": { amount: "5" } };

const seen = (values) =>
  Object.entries(values).map(([name, value]) =>
    h("input", { type: "hidden", name: `seen-${name}`, value }),
  );

const line = (id, values) =>
  h(
    "form",
    { id, "data-saves": "" },
    h("input", { type: "hidden", name: "session_version", value: "1" }),
    h("span", { id: `${id}-seen` }, ...seen(values)),
    ...Object.entries(values).flatMap(([name, value]) => [
      h("input", { id: `${id}-${name}`, name, value }),
      h("p", { id: `${id}-${name}-said` }),
    ]),
    h("a", { "data-drops": "" }, "Take theirs"),
  );

/** One tab at the builder. What it keeps is there after `reload`; `stored` is what the server has. */
export class Builder {
  clock = new Clock();
  storage = new Storage();
  stored = structuredClone(LINES);
  saves = []; // what was sent: [line, its values], in order

  constructor() {
    this.reload();
  }

  /** Opens the page anew, as the server has it by now. */
  reload() {
    this.parts = h("div", { id: "parts" });
    this.output = h("output", { "data-saved": "" });
    this.state = h("div", { id: "state", "data-session-version": "1" }, this.output);
    this.publish = h("form", { id: "publish", "data-when-saved": "" });
    this.document = new Document(this.parts, this.state, this.publish);
    this.onItsWay = null;
    this.queued = [];
    this.#draw();
    runScript(new URL("../../../static/js/build/saving.js", import.meta.url), {
      document: this.document,
      window: this.document.parent,
      location: { pathname: "/sessions/1/" },
      sessionStorage: this.storage,
      setTimeout: this.clock.setTimeout,
      HTMLFormElement: Form,
    });
    this.document.fire("htmx:load");
  }

  #draw() {
    this.parts.replaceChildren(...Object.entries(this.stored).map((each) => line(...each)));
    for (const form of this.parts.children) {
      form.addEventListener("save", () => this.#request(form));
    }
  }

  // ---- the coach

  form = (id) => this.document.getElementById(id);
  field = (id, name = "amount") => this.document.getElementById(`${id}-${name}`);

  type(id, value, name) {
    this.field(id, name).focus();
    this.field(id, name).value = value;
    this.field(id, name).fire("input");
  }

  leave(id, name) {
    this.document.activeElement = null;
    this.field(id, name).fire("change");
  }

  change(id, value, name) {
    this.type(id, value, name);
    this.leave(id, name);
  }

  /** Whether it goes out now. */
  submitsPublish = () => !this.publish.fire("submit").defaultPrevented;
  asksBeforeLeaving = () => this.document.parent.fire("beforeunload").defaultPrevented;
  comesBackOnline = () => this.document.parent.fire("online");

  /** What the tab would still have after it was closed. */
  get kept() {
    const entries = JSON.parse(this.storage.getItem("fledge-typed:/sessions/1/") ?? "[]");
    return Object.fromEntries(entries.map(([id, { values }]) => [id, values]));
  }

  // ---- htmx and the server

  #request(form) {
    if (this.onItsWay) {
      this.queued.push(form);
      return;
    }
    if (!this.document.contains(form)) return;
    const fields = form.elements.filter((field) => field.type !== "hidden");
    const values = Object.fromEntries(fields.map((field) => [field.name, field.value]));
    const told = form.querySelectorAll("[id$='-seen'] input");
    this.onItsWay = { form, values };
    this.saves.push([form.id, values]);
    this.seenSent = Object.fromEntries(told.map((field) => [field.name, field.value]));
    form.fire("htmx:beforeRequest", { detail: { elt: form } });
  }

  /** The answer to what is on its way; 0 is none at all. `said` is what is wrong, field by field. */
  answer(status, said = {}) {
    const { form, values } = this.onItsWay;
    const detail = { elt: form, target: form, requestConfig: { elt: form }, xhr: { status } };
    if (status > 0) form.fire("htmx:beforeSwap", { detail });
    if (status === 200) this.#store(form, values);
    if ([200, 409, 422].includes(status)) {
      for (const name of Object.keys(values)) this.#say(form.id, name, said[name] ?? "");
      form.fire("htmx:afterSwap", { detail });
      form.fire("htmx:afterSettle", { detail });
    }
    form.fire("htmx:afterRequest", { detail });
    this.onItsWay = null;
    const next = this.queued.shift();
    if (next) this.#request(next);
  }

  #store(form, values) {
    this.stored[form.id] = values;
    form.querySelector("[id$='-seen']").replaceChildren(...seen(values));
    this.state.dataset.sessionVersion = Number(this.state.dataset.sessionVersion) + 1;
    this.output.textContent = "saved 10:04";
  }

  #say(id, name, words) {
    this.document.getElementById(`${id}-${name}-said`).textContent = words;
  }

  /** Something else was done to the parts, or `asked` for: they are drawn as the server has them. */
  redraw(asked = new Element("button")) {
    const detail = { target: this.parts, requestConfig: { elt: asked }, xhr: { status: 200 } };
    this.parts.fire("htmx:beforeSwap", { detail });
    const { activeElement } = this.document;
    this.#draw();
    if (activeElement) this.document.getElementById(activeElement.id)?.focus();
    this.parts.fire("htmx:afterSwap", { detail: { ...detail, elt: this.parts } });
    this.parts.fire("htmx:afterSettle", { detail: { ...detail, elt: this.parts } });
    this.parts.fire("htmx:afterRequest", { detail: { ...detail, elt: this.parts } });
  }
}
