// Ctrl+Z undoes the last change of the session, as its button does; in a field in which something
// has been typed it is the field's own. What is still on its way to the server is the last change:
// it is waited for, so that undoing means that one.

const isTypedInto = (element) =>
  element.matches("input, textarea, select") && element.value !== element.defaultValue;
const undoButton = () => document.querySelector("[data-undo]");
const isSaving = () => document.querySelector("#build [data-saves].htmx-request") !== null;

let isAsked = false;

document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.shiftKey) return;
  if (event.key.toLowerCase() !== "z" || isTypedInto(event.target)) return;
  if (isSaving()) isAsked = true;
  else if (undoButton()) undoButton().click();
  else return;
  event.preventDefault();
});

// Before htmx hears of it.
document.addEventListener(
  "submit",
  (event) => {
    if (!isSaving() || !event.target.querySelector("[data-undo]")) return;
    event.preventDefault();
    event.stopPropagation();
    isAsked = true;
  },
  true,
);

// Only now does htmx listen to the button it has drawn.
document.addEventListener("htmx:afterSettle", () => {
  if (!isAsked || isSaving()) return;
  isAsked = false;
  undoButton()?.click();
});
