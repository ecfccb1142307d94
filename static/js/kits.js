// What is at home, of everybody: the table by keyboard, filled down a column, and a row made like
// another one. All of it sets ticks that a person could set, so the form is the same without it.

const form = document.querySelector("[data-kits]");
const rows = form ? [...form.querySelectorAll("[data-row]")].map(rowOf) : [];
const columns = [...document.querySelectorAll("[data-column]")];
const usual = new Set(columns.filter((head) => "usual" in head.dataset).map(idOf));
let last = null; // the row that was changed by hand last

function rowOf(element) {
  const ticks = [...element.querySelectorAll("[name^=has-]")];
  return {
    element,
    ticks,
    told: element.querySelector("[data-told]"),
    buttons: [...element.querySelectorAll("[data-like]")],
    name: element.querySelector("[data-name]").textContent,
    isFamily: "family" in element.dataset,
    shown: ticks.map((tick) => tick.checked),
    isSaid: false, // somebody says that it is so, whatever it showed
  };
}

function idOf(head) {
  return head.dataset.column;
}

const stops = (row) => [...row.ticks, row.told, ...row.buttons];

function noteChange(row) {
  const differs = row.ticks.some((tick, at) => tick.checked !== row.shown[at]);
  row.told.checked = row.isSaid || differs;
  row.element.classList.toggle("is-on", row.told.checked);
}

function tell(words) {
  const changed = rows.filter((row) => row.told.checked).length;
  const count = `${changed} ${changed === 1 ? "row" : "rows"} to save.`;
  form.querySelector("[data-kits-said]").textContent = words ? `${words} ${count}` : count;
}

function changedByHand(row) {
  last = row;
  for (const each of rows) {
    each.buttons[1].textContent = each === row ? "as above" : `as ${row.name}`;
  }
}

function makeLike(row, isThere) {
  row.ticks.forEach((tick, at) => {
    tick.checked = isThere(tick, at);
  });
  row.isSaid = true;
  noteChange(row);
}

function asUsual(row) {
  makeLike(row, (tick) => usual.has(tick.value));
  changedByHand(row);
  tell(`${row.name}: a usual home.`);
}

function asRow(row, other) {
  if (!other || other === row) return;
  makeLike(row, (_, at) => other.ticks[at].checked);
  tell(`${row.name}: as ${other.name}.`);
}

const above = (row) => rows[rows.indexOf(row) - 1];
const asLast = (row) => asRow(row, last && last !== row ? last : above(row));

function fill(some, at, isThere) {
  for (const row of some) {
    row.ticks[at].checked = isThere;
    noteChange(row);
  }
}

/** What a family has told itself is changed by its own row alone. */
const fillable = (some) => some.filter((row) => !row.isFamily);

function fillColumn(at) {
  const some = fillable(rows);
  const isThere = !some.every((row) => row.ticks[at].checked);
  fill(some, at, isThere);
  tell(`${columns[at].textContent.trim()}: ${isThere ? "everybody" : "nobody"}.`);
}

function fillDown(row, at) {
  fill(fillable(rows.slice(rows.indexOf(row) + 1)), at, row.ticks[at].checked);
  tell(`${columns[at].textContent.trim()}: filled down.`);
}

function move(row, at, down, right) {
  const to = rows[rows.indexOf(row) + down];
  const stop = to && stops(to)[at + right];
  if (!stop) return;
  for (const each of form.querySelectorAll("[data-row] [tabindex='0']")) each.tabIndex = -1;
  stop.tabIndex = 0;
  stop.focus();
}

const WAYS = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };

function pressed(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const row = rows.find((each) => each.element.contains(event.target));
  const at = row ? stops(row).indexOf(event.target) : -1;
  if (at < 0) return;
  const done = {
    f: () => at < row.ticks.length && fillDown(row, at),
    u: () => asUsual(row),
    s: () => asLast(row),
    a: () => asRow(row, above(row)),
  }[event.key.toLowerCase()];
  if (event.key in WAYS) move(row, at, ...WAYS[event.key]);
  else if (done) done();
  else return;
  event.preventDefault();
}

function changed(event) {
  const row = rows.find((each) => each.element.contains(event.target));
  if (!row) return;
  if (event.target === row.told) row.isSaid = row.told.checked;
  else changedByHand(row);
  noteChange(row);
  tell("");
}

function beginColumn(head, at) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "kits-fill";
  button.title = "everybody, or nobody";
  button.append(...head.childNodes);
  button.addEventListener("click", () => fillColumn(at));
  head.append(button);
}

function beginRow(row) {
  for (const stop of stops(row)) stop.tabIndex = -1;
  const [like, same] = row.buttons;
  like.addEventListener("click", () => asUsual(row));
  same.addEventListener("click", () => asLast(row));
  for (const button of row.buttons) {
    button.hidden = false;
    button.setAttribute("aria-describedby", row.element.querySelector("[data-name]").id);
  }
  noteChange(row);
}

if (form) {
  columns.forEach(beginColumn);
  rows.forEach(beginRow);
  rows[0].ticks[0].tabIndex = 0;
  form.addEventListener("keydown", pressed);
  form.addEventListener("change", changed);
  form.querySelector("[data-kits-keys]").hidden = false;
}
