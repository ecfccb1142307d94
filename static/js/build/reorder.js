// Reorder by dragging a grip, or with Alt and an arrow from anywhere in a line. The buttons of each
// line do the same without this module.

let drag = null; // {item, kind, parent, next}: what is dragged and where it stood

const kindOf = (item) => ("slot" in item.dataset ? "slot" : "part");

function start(event) {
  const grip = event.target.closest("[data-grip]");
  if (!grip || event.button !== 0) return;
  event.preventDefault();
  const item = grip.closest("[data-slot], [data-part]");
  drag = { item, kind: kindOf(item), parent: item.parentNode, next: item.nextElementSibling };
  item.classList.add("is-dragging");
  grip.setPointerCapture(event.pointerId);
}

function move(event) {
  if (!drag) return;
  const under = document.elementFromPoint(event.clientX, event.clientY);
  const over = under?.closest(drag.kind === "slot" ? "[data-slot]" : "[data-part]");
  if (over && over !== drag.item) place(over, event.clientY);
  else if (drag.kind === "slot" && !over)
    under?.closest("[data-part]")?.querySelector("[data-slots]").append(drag.item);
}

function place(over, y) {
  const { top, height } = over.getBoundingClientRect();
  if (y < top + height / 2) over.before(drag.item);
  else over.after(drag.item);
}

function goHome() {
  drag.parent.insertBefore(drag.item, drag.next);
}

function end(event) {
  if (!drag) return;
  const { item, kind, parent, next } = drag;
  item.classList.remove("is-dragging");
  const moved = item.parentNode !== parent || item.nextElementSibling !== next;
  if (event.type === "pointercancel") goHome();
  else if (moved) send(item, kind);
  drag = null;
}

function nextOf(item, kind) {
  let next = item.nextElementSibling;
  while (next && !(kind in next.dataset)) next = next.nextElementSibling;
  return next;
}

function send(item, kind) {
  const values = { before: nextOf(item, kind)?.dataset[kind] ?? "" };
  if (kind === "slot") values.part = item.closest("[data-slots]").dataset.slots;
  const back = drag;
  const url = item.querySelector("button[name=way]").formAction;
  window.htmx
    .ajax("POST", url, { source: item, target: "#parts", swap: "outerHTML", values })
    .catch(() => back.parent.isConnected && back.parent.insertBefore(back.item, back.next));
}

function cancel(event) {
  if (event.key !== "Escape" || !drag) return;
  goHome();
  drag.item.classList.remove("is-dragging");
  drag = null;
}

function nudge(event) {
  if (!event.altKey || !["ArrowUp", "ArrowDown"].includes(event.key)) return;
  const line = event.target.closest(".slot, .part-line");
  if (!line) return;
  event.preventDefault();
  line.querySelector(`button[name=way][value=${event.key === "ArrowUp" ? "up" : "down"}]`).click();
}

document.addEventListener("pointerdown", start);
document.addEventListener("pointermove", move);
document.addEventListener("pointerup", end);
document.addEventListener("pointercancel", end);
document.addEventListener("keydown", cancel);
document.addEventListener("keydown", nudge);
