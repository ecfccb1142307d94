// Carrying a child along the pathway's lane, by drag or by a finger's long press. Putting it down
// presses a button like those beside the names, so there is one way to move a child, and it works
// without this.

import { draggable, markOver } from "./drag.js";

const board = () => document.querySelector("[data-board]");
const stationOf = (element) => element?.closest?.("[data-exercise]");

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

draggable("[data-board] [data-child]", {
  placeOf: stationOf,
  nameOf: (token) => token.querySelector(".token-name").textContent,
  over: (station) => markOver(".board-station", station),
  dropped: putDown,
});

// On a phone the chips run past the edge: the chosen one is brought into sight.
for (const chip of document.querySelectorAll(".board-chips [aria-current]")) {
  chip.scrollIntoView({ inline: "center", block: "nearest" });
}
