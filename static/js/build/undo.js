// Ctrl+Z undoes the last change of the session, as its button does; in a field in which something
// has been typed it is the field's own.

const isTypedInto = (element) =>
  element.matches("input, textarea, select") && element.value !== element.defaultValue;

document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || event.shiftKey) return;
  if (event.key.toLowerCase() !== "z" || isTypedInto(event.target)) return;
  const button = document.querySelector("[data-undo]");
  if (!button) return;
  event.preventDefault();
  button.click();
});
