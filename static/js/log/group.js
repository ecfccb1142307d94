// A group's log in a hall without a connection. All that is tapped and typed is kept on this tablet
// until the server has said that it holds it: through a dropped connection, which is tried again by
// itself, and through a reload. What was saved there is also sent from any other page (waiting.js),
// which lets go of somebody else's taps, too.

import { forgetGroup, keepGroup, keptGroup } from "../keeping.js";

const EMPTY = { values: [], sent: null };
const WAITS = [2, 4, 8, 15]; // seconds from one try to the next
const group = () => document.querySelector("[data-group]");
const key = () => group().dataset.group;
const fields = () =>
  [...group().elements].filter(
    (each) => each.name && each.type !== "submit" && each.name !== "csrfmiddlewaretoken",
  );
const said = (words) => {
  group().querySelector("[data-group-said]").textContent = words;
};
const lineOf = (field) => field.closest("[data-line]");
/** The others have nothing to do as planned, and nothing that waits to be logged. */
const withTheSession = () => [...document.querySelectorAll("[data-line='']")];
const presences = (line) => [...line.querySelectorAll(".group-presence input")];

let tries = 0;
let timer = 0;

/** Keeps what was touched in the form; once it was saved, also what is to be sent of it. A line that
 *  was not touched is the server's to say, which may know better by the time this page is back. */
function keep(isSaved = kept().sent !== null) {
  const sent = isSaved
    ? [...new FormData(group())].filter(([name]) => name !== "csrfmiddlewaretoken")
    : null;
  const values = fields()
    .filter((each) => lineOf(each)?.matches("[data-touched]") ?? true)
    .map((each) => [each.name, each.value, each.checked]);
  if (!keepGroup(key(), { values, sent, name: group().dataset.name })) {
    said("This tablet has no room to keep what you tap: save before you leave the page.");
  }
}

const kept = () => keptGroup(key()) ?? EMPTY;

/** Puts what was kept back into the form, with what each line was filled from. */
function bringBack() {
  const form = group();
  for (const [name, value, checked] of kept().values) {
    const named = [...form.elements].filter((each) => each.name === name);
    for (const each of named) {
      lineOf(each)?.setAttribute("data-touched", "");
      if (each.type === "radio" || each.type === "checkbox") {
        if (each.value === value) each.checked = checked;
      } else each.value = value;
    }
  }
  for (const details of form.querySelectorAll(".group-note"))
    details.open = details.querySelector("textarea").value !== "";
}

function count() {
  const lines = withTheSession();
  const told = lines.filter((line) => presences(line).some((each) => each.checked)).length;
  said(`${told} of ${lines.length} logged`);
}

function there(line) {
  if (presences(line).some((each) => each.checked)) return;
  presences(line)[0].checked = true;
  line.setAttribute("data-touched", "");
}

document.addEventListener("input", (event) => {
  if (!event.target.closest("[data-group]")) return;
  const line = lineOf(event.target);
  line?.setAttribute("data-touched", "");
  if (line && event.target.matches(".tap input") && event.target.checked) there(line);
  keep();
  count();
});

document.addEventListener("click", (event) => {
  if (!event.target.closest("[data-as-planned]")) return;
  event.preventDefault();
  for (const line of withTheSession()) there(line);
  keep();
  count();
});

// ---- sending

function trySoon() {
  const wait = WAITS[Math.min(tries, WAITS.length - 1)];
  tries += 1;
  clearTimeout(timer);
  timer = setTimeout(() => group()?.requestSubmit(), wait * 1000);
}

document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.detail.elt.matches("[data-group]")) keep(true);
});

document.addEventListener("htmx:afterRequest", (event) => {
  const { elt, xhr } = event.detail;
  if (!elt.matches("[data-group]")) return;
  if (xhr.getResponseHeader("HX-Redirect") === location.pathname) forgetGroup(key());
  else if (xhr.status === 0 || xhr.status >= 500) {
    said("No connection. All of it is kept on this tablet and is sent as soon as there is one.");
    trySoon();
  } else if (xhr.status === 409 || xhr.status === 422) keep(false); // signed out, it waits on
});

document.addEventListener("htmx:afterSettle", () => {
  if (!group()) return;
  count();
  document.querySelector("[data-refused]")?.focus();
});

window.addEventListener("online", () => {
  if (tries > 0) group()?.requestSubmit();
});

function begin() {
  const { values, sent } = kept();
  bringBack();
  count();
  if (sent) {
    said("What you saved is kept on this tablet and is sent as soon as there is a connection.");
    trySoon();
  } else if (values.length) said("What you tapped before is here again. It is not saved yet.");
}

if (group()) {
  begin();
  // Once more when the browser has put back what it remembers of a page that was left.
  window.addEventListener("pageshow", begin);
}
