// Adding by search without leaving the keyboard: / goes to a part's field, arrows walk what was
// found, Enter adds, Escape leaves off.

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
  if (isAnswered(field)) buttonsOf(field)[0]?.click();
  else chosen = field.id;
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

// Not sooner: only what has settled is sent by htmx rather than by the browser.
document.addEventListener("htmx:afterSettle", () => {
  const field = document.getElementById(chosen);
  if (!field || !isAnswered(field)) return;
  chosen = null;
  take(field);
});
