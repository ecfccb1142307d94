// The block board by drag, by a finger's long press, and by Alt and an arrow. All send what a button
// of the cell would send, so there is one way to move or copy a session, and it works without this.

import { draggable, markOver } from "../drag.js";

const WAYS = { ArrowLeft: "earlier", ArrowRight: "later", ArrowUp: "before", ArrowDown: "after" };

const TYPED = "input, textarea, select, [contenteditable]";

const form = () => document.querySelector("[data-board]");
const dayOf = (element) => element?.closest?.("[data-day]");

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

function drop(cell, day, copies) {
  if (!copies && dayOf(cell) === day) return;
  send(`${copies ? "copy" : "move"}:${cell.dataset.cell}:${day.dataset.day}`, cell);
}

draggable("[data-cell]", {
  placeOf: dayOf,
  nameOf: (cell) => cell.querySelector(".cell-name").textContent,
  over: (day) => markOver(".board-day", day),
  dropped: drop,
  begun: (isByTouch) => {
    form().classList.add("is-carrying");
    form().classList.toggle("is-by-touch", isByTouch);
  },
  ended: () => form()?.classList.remove("is-carrying", "is-by-touch"),
  canCopy: true,
});

document.addEventListener("keydown", (event) => {
  const cell = event.altKey && event.key in WAYS && event.target.closest("[data-cell]");
  if (!cell) return;
  event.preventDefault();
  const way = event.shiftKey && event.key === "ArrowRight" ? "copy" : WAYS[event.key];
  const button = cell.querySelector(`[data-way=${way}]`);
  if (button) send(button.value, cell);
});

// Ctrl and Z take back the newest change that is one's own; in a text field they are the field's.
document.addEventListener("keydown", (event) => {
  const isUndo = (event.ctrlKey || event.metaKey) && !event.shiftKey && !event.altKey;
  if (!isUndo || event.key.toLowerCase() !== "z" || event.target.matches(TYPED)) return;
  const newest = document.querySelector("[data-undo]");
  if (!newest) return;
  event.preventDefault();
  newest.requestSubmit();
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

// The week that is on is brought into sight: beside the names of the days, and the page stays at its
// head; on a phone the weeks stand below each other, and the page goes to it.
const now = document.querySelector(".board-week.is-now");
const days = document.querySelector(".board-days");
if (now && days.offsetWidth)
  scroller().scrollTo({ left: now.offsetLeft - days.offsetWidth, behavior: "instant" });
else now?.scrollIntoView({ block: "nearest" });
