// Who gets what, from the keyboard: arrows walk the places, Enter opens one beside the table, digits
// choose there, a takes the same for all like this, Control and Enter keep it, Escape leads back.
// In an open group the digits are its answers. After a choice is kept the next open place has the
// focus.

const panel = () => document.getElementById("deciding-panel");
const table = () => document.querySelector("[data-places]");
const OPEN = ".fit-cell-undecided a";
const IS_BACK = "fledge.deciding.back"; // this visit's: a choice was kept, so the next one is due

let from = null; // the place that stands open beside the table

function neighbour(cell, key) {
  const row = cell.parentElement;
  const rows = [...row.parentElement.rows];
  const [up, aside] = {
    ArrowUp: [-1, 0],
    ArrowDown: [1, 0],
    ArrowLeft: [0, -1],
    ArrowRight: [0, 1],
  }[key];
  return rows[rows.indexOf(row) + up]?.cells[cell.cellIndex + aside]?.querySelector("a");
}

function walk(event) {
  const cell = event.target.closest("[data-places] td");
  const next = cell && neighbour(cell, event.key);
  if (!next) return false;
  next.focus();
  return true;
}

function press(within, key) {
  const control = within.querySelector(`[data-key="${key}"]`);
  if (!control) return false;
  control.focus();
  control.click();
  return true;
}

function onKey(event) {
  if (event.altKey || event.isComposing) return;
  const form = event.target.closest("[data-decision]");
  const isTyping = event.target.matches(
    "input:not([type=radio], [type=checkbox]), select, textarea",
  );
  let isDone = false;
  if (form && event.key === "Enter" && (event.ctrlKey || event.metaKey)) {
    form.requestSubmit();
    isDone = true;
  } else if (event.ctrlKey || event.metaKey) {
    return;
  } else if (event.key === "Escape" && panel()?.contains(event.target)) {
    from?.focus();
    isDone = Boolean(from);
  } else if (isTyping) {
    return;
  } else if (event.key.startsWith("Arrow")) {
    isDone = walk(event);
  } else if (/^[1-9a]$/.test(event.key)) {
    const within =
      event.target.closest("[data-open-group]") ?? panel()?.querySelector("[data-decision]");
    isDone = Boolean(within) && press(within, event.key);
  }
  if (isDone) event.preventDefault();
}

document.addEventListener("keydown", onKey);

document.addEventListener("click", (event) => {
  const place = event.target.closest("[data-places] a");
  if (!place) return;
  from?.removeAttribute("aria-current");
  place.setAttribute("aria-current", "true");
  from = place;
});

document.addEventListener("htmx:afterSwap", (event) => {
  if (event.detail.target !== panel()) return;
  from?.scrollIntoView({ block: "nearest", inline: "nearest" }); // the table is narrower now
  panel().scrollIntoView({ block: "nearest" });
  panel().querySelector("input[type=radio]:checked, input[type=radio]")?.focus();
});

document.addEventListener("submit", (event) => {
  if (event.target.matches("[data-decision], [data-open-group]"))
    sessionStorage.setItem(IS_BACK, "1");
});

if (sessionStorage.getItem(IS_BACK)) {
  sessionStorage.removeItem(IS_BACK);
  const next = document.querySelector("[data-open-group] button") ?? table()?.querySelector(OPEN);
  next?.focus();
}
