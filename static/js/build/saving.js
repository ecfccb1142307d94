// Nothing typed is lost. A form with data-saves is sent whenever one of its fields is left; until
// the server has said that it holds what was typed, the typing is kept here (and in the tab's own
// storage, through a reload), carried into whatever the server draws anew, and sent again when
// there was no answer. What the server refuses stays in its field, marked, until it is changed.

const WAITS = [1, 2, 4, 8, 15]; // seconds from one try to the next
const STORE = `fledge-typed:${location.pathname}`;

// Form id -> {values, seen, state, tries}: the fields that differ from what the form was filled
// with, and what it was filled with.
const typed = new Map();
const sent = new Map(); // form id -> the values of the request on its way
let waiting = null; // a form that is to be sent when everything typed is stored

const isSaving = (element) => element instanceof HTMLFormElement && "saves" in element.dataset;
const isField = (element) =>
  element.name && element.matches("input:not([type=hidden]), select, textarea");
const fieldsOf = (form) => [...form.elements].filter(isField);
const seenOf = (form) => [...form.querySelectorAll("[id$='-seen'] input")];
const pairs = (elements) =>
  Object.fromEntries(elements.map((element) => [element.name, element.value]));

function changesIn(form) {
  const seen = pairs(seenOf(form));
  return fieldsOf(form).filter((field) => field.value !== seen[`seen-${field.name}`]);
}

function remember(form) {
  const before = typed.get(form.id);
  const seen = before?.seen ?? pairs(seenOf(form));
  typed.set(form.id, { seen, state: "typed", tries: 0, values: pairs(changesIn(form)) });
  store();
}

function forget(id) {
  typed.delete(id);
  const form = document.getElementById(id);
  if (form) delete form.dataset.state;
  store();
  if (waiting && typed.size === 0) waiting.requestSubmit();
}

function store() {
  try {
    if (typed.size === 0) sessionStorage.removeItem(STORE);
    else sessionStorage.setItem(STORE, JSON.stringify([...typed]));
  } catch {
    // Without room for it a reload loses it, but it stands in its field and is saved.
  }
}

function save(form) {
  form.dispatchEvent(new CustomEvent("save"));
}

function mark(id, state) {
  const entry = typed.get(id);
  const form = document.getElementById(id);
  if (!entry || !form) return;
  entry.state = state;
  form.dataset.state = state;
  if (state !== "typed") waiting = null;
  say(state === "failed" ? "not saved: no connection, trying again" : "one line is not saved");
}

function say(words) {
  const output = document.querySelector("[data-saved]");
  if (output) output.textContent = words;
}

function tryAgain(id) {
  const entry = typed.get(id);
  if (!entry) return;
  const wait = WAITS[Math.min(entry.tries, WAITS.length - 1)];
  entry.tries += 1;
  setTimeout(() => {
    const form = document.getElementById(id);
    if (form && typed.get(id)?.state === "failed") save(form);
  }, wait * 1000);
}

// Put what is kept into a form that was drawn anew, as a change of what it was first filled with:
// the server can then tell what somebody else changed meanwhile.
function carryOver(id, entry) {
  const form = document.getElementById(id);
  if (!form) return false;
  for (const field of fieldsOf(form)) {
    if (field.name in entry.values) field.value = entry.values[field.name];
  }
  for (const input of seenOf(form)) {
    if (input.name in entry.seen) input.value = entry.seen[input.name];
  }
  if (entry.state !== "typed") form.dataset.state = entry.state;
  return true;
}

function carryAllOver() {
  for (const [id, entry] of typed) {
    if (carryOver(id, entry)) continue;
    typed.delete(id);
    const lost = Object.values(entry.values).join(" · ");
    if (lost) say(`A line was taken out while you typed “${lost}”`);
  }
  store();
}

// What was refused is sent again too: the reason was drawn over.
function saveWhatWasLeft() {
  for (const [id, entry] of typed) {
    const form = document.getElementById(id);
    if (entry.state !== "failed" && !form.contains(document.activeElement)) save(form);
  }
}

function showInvalid(form) {
  for (const field of fieldsOf(form)) {
    const said = document.getElementById(`${field.id}-said`);
    field.toggleAttribute("aria-invalid", false);
    if (said?.textContent.trim()) field.setAttribute("aria-invalid", "true");
  }
}

function shareVersion() {
  const version = document.getElementById("state")?.dataset.sessionVersion;
  for (const input of document.querySelectorAll("input[name=session_version]"))
    input.value = version;
}

document.addEventListener("input", (event) => {
  const form = event.target.form;
  if (form && isSaving(form)) remember(form);
});

document.addEventListener("change", (event) => {
  const form = event.target.form;
  if (!form || !isSaving(form) || !isField(event.target)) return;
  remember(form);
  save(form);
});

document.addEventListener("htmx:beforeRequest", (event) => {
  const form = event.detail.elt;
  if (isSaving(form)) sent.set(form.id, pairs(fieldsOf(form)));
});

// Before anything is drawn: what is stored now is no longer to be kept.
document.addEventListener("htmx:beforeSwap", (event) => {
  const { requestConfig, xhr } = event.detail;
  const asked = requestConfig.elt;
  if (xhr.status !== 200) return;
  if (asked.matches("[data-drops]")) forget(asked.closest("form").id);
  if (isSaving(asked)) settle(asked);
});

function settle(form) {
  const now = document.getElementById(form.id) ?? form;
  const stored = sent.get(form.id) ?? {};
  const later = fieldsOf(now).filter((field) => field.value !== stored[field.name]);
  if (later.length === 0) forget(form.id);
  else typed.set(form.id, { values: pairs(later), seen: {}, state: "typed", tries: 0 });
}

// Which lines were open and what was typed outlive the drawing anew of the parts.
let open = [];
document.addEventListener("htmx:beforeSwap", () => {
  open = [...document.querySelectorAll("details.beyond[open]")].map((details) => details.id);
});

document.addEventListener("htmx:afterSwap", (event) => {
  for (const id of open) document.getElementById(id)?.setAttribute("open", "");
  if (event.detail.target.id !== "parts") return;
  const target = document.querySelector("#parts [data-focus]");
  const first = target?.querySelector("input:not([type=hidden]), button:not(.save-button)");
  first?.focus();
  if (first?.select) first.select();
  carryAllOver();
});

// Only now does htmx listen to what it has drawn.
document.addEventListener("htmx:afterSettle", (event) => {
  if (event.detail.target.id === "parts") saveWhatWasLeft();
});

document.addEventListener("htmx:afterRequest", (event) => {
  shareVersion();
  const form = event.detail.elt;
  if (!isSaving(form)) return;
  sent.delete(form.id);
  showInvalid(document.getElementById(form.id) ?? form);
  const { status } = event.detail.xhr;
  if (status === 409 || status === 422) mark(form.id, "refused");
  else if (status === 0 || status >= 500) {
    mark(form.id, "failed");
    tryAgain(form.id);
  } else if (status >= 400) mark(form.id, "refused");
});

window.addEventListener("online", () => {
  for (const [id, entry] of typed) {
    const form = document.getElementById(id);
    if (form && entry.state === "failed") save(form);
  }
});

// What is about the whole session waits until every line is stored.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!("whenSaved" in form.dataset) || typed.size === 0) return;
  event.preventDefault();
  waiting = form;
  say("saving first");
  for (const id of typed.keys()) save(document.getElementById(id));
});

window.addEventListener("beforeunload", (event) => {
  if (typed.size > 0) event.preventDefault();
});

for (const [id, entry] of JSON.parse(sessionStorage.getItem(STORE) ?? "[]")) typed.set(id, entry);
for (const entry of typed.values()) entry.state = "typed";
if (typed.size > 0) {
  const begin = () => {
    carryAllOver();
    saveWhatWasLeft();
  };
  document.addEventListener("htmx:load", begin, { once: true });
}
