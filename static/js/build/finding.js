// Adding by search without leaving the keyboard: / goes to a part's field, arrows walk what was
// found, Enter adds, Escape leaves off. Whoever adds by keyboard goes on at the search, and what is
// typed there while the answer is on its way is looked for.

let last = null; // the field that was used last
let chosen = null; // a field whose Enter came before its answer

const fields = () => [...document.querySelectorAll("[data-find]")];
const foundOf = (field) => field.closest(".part-add").querySelector("[data-found]");
const buttonsOf = (field) => [...foundOf(field).querySelectorAll("button[name=exercise]")];
const fieldOf = (element) => element.closest(".part-add")?.querySelector("[data-find]");
const isTyping = (element) => element.matches("input, select, textarea, [contenteditable]");

function isAnswered(field) {
  return foundOf(field).dataset.found === field.value.trim();
}

function take(field) {
  if (!isAnswered(field)) {
    chosen = field.id;
    return;
  }
  buttonsOf(field)[0]?.click();
  field.select(); // so that the next word takes this one's place
}

function leaveOff(field) {
  field.value = "";
  foundOf(field).replaceChildren();
  foundOf(field).dataset.found = "";
  field.focus();
}

function onField(event, field) {
  if (event.key === "ArrowDown") buttonsOf(field)[0]?.focus();
  else if (event.key === "Enter") take(field);
  else if (event.key === "Escape") leaveOff(field);
  else return;
  event.preventDefault();
}

function onButton(event, field) {
  const buttons = buttonsOf(field);
  const at = buttons.indexOf(event.target);
  if (event.key === "ArrowDown") buttons[Math.min(at + 1, buttons.length - 1)].focus();
  else if (event.key === "ArrowUp") (buttons[at - 1] ?? field).focus();
  else if (event.key === "Escape") leaveOff(field);
  else {
    if (event.key.length === 1 && event.key !== " ") field.focus(); // and is typed there
    return;
  }
  event.preventDefault();
}

document.addEventListener("keydown", (event) => {
  if (event.altKey || event.ctrlKey || event.metaKey || event.isComposing) return;
  const { target } = event;
  if (target.matches("[data-find]")) onField(event, target);
  else if (target.matches("button[name=exercise]")) onButton(event, fieldOf(target));
  else if (event.key === "/" && !isTyping(target)) {
    const field = document.getElementById(last) ?? fields().at(-1);
    if (!field) return;
    event.preventDefault();
    field.focus();
  }
});

document.addEventListener("focusin", (event) => {
  if (event.target.matches("[data-find]")) last = event.target.id;
});

document.addEventListener("htmx:afterSettle", () => {
  const field = document.getElementById(chosen);
  if (!field || !isAnswered(field)) return;
  chosen = null;
  take(field);
});

// The parts are drawn anew with each change of them, the fields empty: what was typed and not used
// is put back and looked for.

const used = new Map(); // field id -> what stood in it when its exercise was chosen
let typed = new Map(); // field id -> what stands in it and was not used
let next = null; // the field at which the keyboard goes on

const isParts = (event) => event.detail.target.id === "parts";
const lookFor = (field) => field.dispatchEvent(new Event("input", { bubbles: true }));

document.addEventListener("submit", (event) => {
  const field = event.submitter?.name === "exercise" && fieldOf(event.submitter);
  if (field) used.set(field.id, field.value);
});

document.addEventListener("htmx:beforeSwap", (event) => {
  if (!isParts(event)) return;
  const kept = fields().filter((field) => field.value !== (used.get(field.id) ?? ""));
  typed = new Map(kept.map((field) => [field.id, field.value]));
  const button = document.querySelector("button[name=exercise]:focus-visible");
  next = button && fieldOf(button).id;
});

document.addEventListener("htmx:afterSettle", (event) => {
  if (!isParts(event)) return;
  document.getElementById(next)?.focus();
  for (const [id, value] of typed) {
    const field = document.getElementById(id);
    if (!field) continue;
    field.value = value;
    lookFor(field);
  }
  used.clear();
  typed.clear();
  next = null;
});

// What was typed before htmx listened at all.
document.addEventListener(
  "htmx:load",
  () => {
    for (const field of fields()) if (!isAnswered(field)) lookFor(field);
  },
  { once: true },
);
