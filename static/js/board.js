// The block board by drag, and by Alt and an arrow. Both send what a button of the cell would send,
// so there is one way to move or copy a session, and it works without this.

const WAYS = { ArrowLeft: "earlier", ArrowRight: "later", ArrowUp: "before", ArrowDown: "after" };
let carried = null;

const form = () => document.querySelector("[data-board]");
const dayUnder = (event) => event.target.closest?.("[data-day]");

function send(order, cell) {
  const back = cell.querySelector(".cell-name a").id;
  window.htmx
    .ajax("POST", form().action, {
      source: form(),
      target: "#board",
      swap: "outerHTML",
      values: { do: order },
    })
    .then(() => document.getElementById(back)?.focus());
}

function makeDraggable() {
  for (const cell of document.querySelectorAll("[data-cell]")) cell.draggable = true;
}

function unmark() {
  for (const day of document.querySelectorAll(".board-day.is-over")) day.classList.remove("is-over");
}

document.addEventListener("dragstart", (event) => {
  carried = event.target.closest?.("[data-cell]") ?? null;
  if (!carried) return;
  event.dataTransfer.effectAllowed = "copyMove";
  event.dataTransfer.setData("text/plain", carried.querySelector(".cell-name").textContent);
  form().classList.add("is-carrying");
});

document.addEventListener("dragover", (event) => {
  const day = carried && dayUnder(event);
  unmark();
  if (!day) return;
  event.preventDefault();
  event.dataTransfer.dropEffect = event.ctrlKey || event.metaKey ? "copy" : "move";
  day.classList.add("is-over");
});

document.addEventListener("drop", (event) => {
  const day = carried && dayUnder(event);
  if (!day) return;
  event.preventDefault();
  const copies = event.ctrlKey || event.metaKey;
  if (!copies && carried.closest("[data-day]") === day) return;
  send(`${copies ? "copy" : "move"}:${carried.dataset.cell}:${day.dataset.day}`, carried);
});

document.addEventListener("dragend", () => {
  carried = null;
  form()?.classList.remove("is-carrying");
  unmark();
});

document.addEventListener("keydown", (event) => {
  const cell = event.altKey && event.key in WAYS && event.target.closest("[data-cell]");
  if (!cell) return;
  event.preventDefault();
  const way = event.shiftKey && event.key === "ArrowRight" ? "copy" : WAYS[event.key];
  const button = cell.querySelector(`[data-way=${way}]`);
  if (button) send(button.value, cell);
});

// A cell's buttons answer in place; what leads elsewhere is a form like any other.
document.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (event.target !== form() || !button?.value || "plain" in button.dataset) return;
  event.preventDefault();
  send(button.value, button.closest("[data-cell]"));
});

// The board comes back scrolled to where it was.
let left = 0;
const scroller = () => document.querySelector(".block-board");
document.addEventListener("htmx:beforeSwap", () => (left = scroller()?.scrollLeft ?? 0));
document.addEventListener("htmx:afterSwap", () => scroller()?.scrollTo({ left }));
document.addEventListener("htmx:afterSettle", makeDraggable);
makeDraggable();

// The week that is on is brought into sight; on a phone the weeks stand below each other.
document.querySelector(".board-week.is-now")?.scrollIntoView({ block: "nearest", inline: "start" });
