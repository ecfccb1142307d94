// Dragging a child along the pathway's lane. A drop presses a button like those beside the names,
// so there is one way to move a child, and it works without this.

let carried = null;

const board = () => document.querySelector("[data-board]");
const stationUnder = (event) => event.target.closest?.("[data-exercise]");

function makeDraggable() {
  for (const token of board()?.querySelectorAll("[data-child]") ?? []) token.draggable = true;
}

function unmark() {
  for (const station of document.querySelectorAll(".board-station.is-over")) {
    station.classList.remove("is-over");
  }
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

document.addEventListener("dragstart", (event) => {
  carried = event.target.closest?.("[data-child]") ?? null;
  if (!carried) return;
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", carried.dataset.child);
});

document.addEventListener("dragover", (event) => {
  const station = carried && stationUnder(event);
  unmark();
  if (!station) return;
  event.preventDefault();
  station.classList.add("is-over");
});

document.addEventListener("drop", (event) => {
  const station = carried && stationUnder(event);
  if (!station) return;
  event.preventDefault();
  if (carried.closest("[data-exercise]") !== station) {
    move(carried.dataset.child, station.dataset.exercise);
  }
});

document.addEventListener("dragend", () => {
  carried = null;
  unmark();
});

document.addEventListener("htmx:afterSettle", makeDraggable);
makeDraggable();

// On a phone the chips run past the edge: the chosen one is brought into sight.
for (const chip of document.querySelectorAll(".board-chips [aria-current]")) {
  chip.scrollIntoView({ inline: "center", block: "nearest" });
}
