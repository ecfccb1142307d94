// As much of a document as our scripts ask for: a tree of elements with attributes and events, and
// simple selectors. A selector that is not understood is refused rather than finding nothing.

const SIMPLE =
  /^(?:([a-z]+)|#([\w-]+)|\.([\w-]+)|\[([\w-]+)(?:(\$?=)'?([^'\]]*)'?)?\]|:not\(([^()]*)\))/;

function isSimple(element, [, tag, id, name, attribute, how, value, not]) {
  if (tag) return element.tag === tag;
  if (id) return element.id === id;
  if (name) return element.className.split(" ").includes(name);
  if (not) return !isCompound(element, not);
  const has = element.getAttribute(attribute);
  if (how === "$=") return has?.endsWith(value) ?? false;
  return how ? has === value : has !== null;
}

function isCompound(element, compound) {
  for (let rest = compound; rest; ) {
    const found = SIMPLE.exec(rest);
    if (!found) throw new Error(`This document does not know the selector ${compound}.`);
    if (!isSimple(element, found)) return false;
    rest = rest.slice(found[0].length);
  }
  return true;
}

function isSelected(element, compounds) {
  const above = [...compounds];
  if (!isCompound(element, above.pop())) return false;
  for (let at = element.parent; at && above.length > 0; at = at.parent) {
    if (isCompound(at, above.at(-1))) above.pop();
  }
  return above.length === 0;
}

const dashed = (name) => `data-${name.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`)}`;

const dataOf = (element) =>
  new Proxy(
    {},
    {
      get: (_, name) => element.getAttribute(dashed(name)) ?? undefined,
      has: (_, name) => element.getAttribute(dashed(name)) !== null,
      set: (_, name, value) => element.setAttribute(dashed(name), value) ?? true,
      deleteProperty: (_, name) => element.toggleAttribute(dashed(name), false) ?? true,
    },
  );

export class Element {
  parent = null;
  value = "";
  hidden = false;
  #nodes = [];
  #attributes = new Map();
  #listeners = [];

  constructor(tag, attributes = {}, ...nodes) {
    this.tag = tag;
    for (const [name, value] of Object.entries(attributes)) this.setAttribute(name, value);
    this.value = this.getAttribute("value") ?? "";
    this.dataset = dataOf(this);
    this.append(...nodes);
  }

  // ---- attributes

  getAttribute(name) {
    return this.#attributes.get(name) ?? null;
  }

  setAttribute(name, value) {
    this.#attributes.set(name, String(value));
  }

  toggleAttribute(name, isWanted) {
    if (isWanted) this.setAttribute(name, "");
    else this.#attributes.delete(name);
  }

  // ---- the tree

  get children() {
    return this.#nodes.filter((node) => node instanceof Element);
  }

  get textContent() {
    return this.#nodes.map((node) => node.textContent ?? node).join("");
  }

  set textContent(text) {
    this.replaceChildren(text);
  }

  append(...nodes) {
    for (const node of nodes) if (node instanceof Element) node.parent = this;
    this.#nodes.push(...nodes);
  }

  replaceChildren(...nodes) {
    for (const child of this.children) child.parent = null;
    this.#nodes = [];
    this.append(...nodes);
  }

  contains(other) {
    for (let at = other; at; at = at.parent) if (at === this) return true;
    return false;
  }

  matches(selector) {
    return selector.split(", ").some((one) => isSelected(this, one.split(" ")));
  }

  closest(selector) {
    for (let at = this; at; at = at.parent) if (at.matches(selector)) return at;
    return null;
  }

  querySelectorAll(selector) {
    const inside = this.children.flatMap((child) => [child, ...child.querySelectorAll("*")]);
    return selector === "*" ? inside : inside.filter((element) => element.matches(selector));
  }

  querySelector(selector) {
    return this.querySelectorAll(selector)[0] ?? null;
  }

  // ---- forms

  get form() {
    return this.closest("form");
  }

  get elements() {
    return this.querySelectorAll("input, select, textarea, button");
  }

  focus() {
    this.closest("document").activeElement = this;
  }

  select() {}

  // ---- events

  addEventListener(type, heard, { once = false } = {}) {
    this.#listeners.push({ type, heard, once });
  }

  dispatchEvent({ type, bubbles, detail }) {
    this.fire(type, { detail }, bubbles);
  }

  /** Like dispatchEvent, with what an event of this kind tells; answers with the event. */
  fire(type, told = {}, bubbles = true) {
    const event = { type, target: this, defaultPrevented: false, ...told };
    event.preventDefault = () => {
      event.defaultPrevented = true;
    };
    for (let at = this; at; at = bubbles ? at.parent : null) at.#hear(event);
    return event;
  }

  #hear(event) {
    const heard = this.#listeners.filter(({ type }) => type === event.type);
    this.#listeners = this.#listeners.filter((each) => !(each.once && heard.includes(each)));
    for (const each of heard) each.heard(event);
  }
}

for (const [property, attribute] of [
  ["id", "id"],
  ["name", "name"],
  ["type", "type"],
  ["href", "href"],
  ["className", "class"],
]) {
  Object.defineProperty(Element.prototype, property, {
    get() {
      return this.getAttribute(attribute) ?? "";
    },
    set(value) {
      this.setAttribute(attribute, value);
    },
  });
}

export class Form extends Element {
  constructor(...told) {
    super("form", ...told);
  }

  requestSubmit() {
    return this.fire("submit");
  }
}

export const h = (tag, ...told) => (tag === "form" ? new Form(...told) : new Element(tag, ...told));

export class Document extends Element {
  cookie = "";
  activeElement = null;

  constructor(...nodes) {
    super("document", {}, ...nodes);
    this.parent = new Element("window");
  }

  createElement = h;

  getElementById(id) {
    return this.querySelector(`#${id}`);
  }
}

/** What a tab or a device keeps of short texts. */
export class Storage {
  isFull = false;
  #kept = new Map();

  getItem(key) {
    return this.#kept.get(key) ?? null;
  }

  setItem(key, value) {
    if (this.isFull) throw new DOMException("There is no room.", "QuotaExceededError");
    this.#kept.set(key, String(value));
  }

  removeItem(key) {
    this.#kept.delete(key);
  }
}
