// The review queue from the keyboard: n and p walk it, digits take a decision, l opens "later", h
// "Give to a coach", o opens the child, a goes to a question's answer (Escape leaves it, Control and Enter send it), z
// takes the last answer back. The keys work only while the focus is in the queue,
// and each does what a button or a link on the page does.

const queue = () => document.querySelector("[data-queue]");
const findings = () => [...document.querySelectorAll("[data-finding]")];
const isTyping = (element) => element.matches("input, select, textarea");
const at = () => findings().findIndex((finding) => finding.contains(document.activeElement));

let place = 0; // where the coach was before the queue was drawn anew

function goTo(index) {
  const all = findings();
  const finding = all[Math.min(Math.max(index, 0), all.length - 1)];
  if (!finding) return;
  finding.focus({ preventScroll: true });
  finding.scrollIntoView({ block: "nearest" });
}

function decide(finding, digit) {
  finding?.querySelectorAll("[data-act]")[digit - 1]?.click();
}

function unfold(finding, which) {
  const details = finding?.querySelector(`[data-${which}]`);
  if (!details) return;
  details.open = true;
  details.querySelector("input[type=date], select").focus();
}

function leaveLater(event) {
  const details = event.target.closest("details");
  details.open = false;
  details.closest("[data-finding]").focus();
}

const KEYS = {
  n: () => goTo(at() + 1),
  p: () => goTo(at() - 1),
  a: () => findings()[at()]?.querySelector("[data-words]")?.focus(),
  h: () => unfold(findings()[at()], "hand"),
  l: () => unfold(findings()[at()], "later"),
  o: () => findings()[at()]?.querySelector("[data-child]")?.click(),
  z: () => document.querySelector("[data-take-back]")?.click(),
};

function onWords(event) {
  if (event.key === "Escape") event.target.closest("[data-finding]").focus();
  else if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
    event.target.form.querySelector("button").click(); // a click names the button to htmx
  } else return;
  event.preventDefault();
}

function onKey(event) {
  if (event.target.matches("[data-words]")) {
    onWords(event);
    return;
  }
  if (event.altKey || event.ctrlKey || event.metaKey || event.isComposing) return;
  if (!event.target.closest("[data-queue]")) return;
  if (event.key === "Escape" && event.target.closest("details.later")) leaveLater(event);
  else if (isTyping(event.target)) return;
  else if (event.key >= "1" && event.key <= "9") decide(findings()[at()], Number(event.key));
  else if (event.key in KEYS) KEYS[event.key]();
  else return;
  event.preventDefault();
}

document.addEventListener("keydown", onKey);

document.addEventListener("focusin", () => {
  if (at() >= 0) place = at();
});

document.addEventListener("htmx:afterSettle", (event) => {
  if (!event.target.matches("[data-queue]")) return;
  if (findings().length > 0) goTo(place);
  else queue().focus();
});

if (window.matchMedia("(hover: hover)").matches)
  (findings()[0] ?? queue()).focus({ preventScroll: true });
