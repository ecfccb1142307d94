// Carrying a child along the pathway's lane, by drag or by a finger's long press. Putting it down
// presses a button like those beside the names, so there is one way to move a child, and it works
// without this.

import { liftable } from "./lift.js";

let carried = null;

const board = () => document.querySelector("[data-board]");
const stationOf = (element) => element?.closest?.("[data-exercise]");

function makeDraggable() {
  for (const token of board()?.querySelectorAll("[data-child]") ?? []) token.draggable = true;
}

function mark(station) {
  for (const other of document.querySelectorAll(".board-station.is-over"))
    other.classList.remove("is-over");
  station?.classList.add("is-over");
}

function move(child, exercise) {
  const button = document.createElement("button");
  button.name = "move";
  button.value = `${child}:${exercise}`;
  button.hidden = true;
  board().append(button);
  button.click();
  button.remove();
}

function putDown(token, station) {
  if (stationOf(token) !== station) move(token.dataset.child, station.dataset.exercise);
}

document.addEventListener("dragstart", (event) => {
  carried = event.target.closest?.("[data-child]") ?? null;
  if (!carried) return;
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", carried.dataset.child);
});

document.addEventListener("dragover", (event) => {
  const station = carried && stationOf(event.target);
  mark(station);
  if (station) event.preventDefault();
});

document.addEventListener("drop", (event) => {
  const station = carried && stationOf(event.target);
  if (!station) return;
  event.preventDefault();
  putDown(carried, station);
});

document.addEventListener("dragend", () => {
  carried = null;
  mark(null);
});

liftable("[data-child]", {
  nameOf: (token) => token.querySelector(".token-name").textContent,
  lifted: () => {},
  over: (element) => mark(stationOf(element)),
  laidDown: () => mark(null),
  dropped: (token, element) => stationOf(element) && putDown(token, stationOf(element)),
});

document.addEventListener("htmx:afterSettle", makeDraggable);
makeDraggable();

// On a phone the chips run past the edge: the chosen one is brought into sight.
for (const chip of document.querySelectorAll(".board-chips [aria-current]")) {
  chip.scrollIntoView({ inline: "center", block: "nearest" });
}
