// Dragging something to a place, by mouse or by finger. A mouse drags as the browser does; a finger's
// long press lifts, and until then the page scrolls as it always does. Who uses it says what may be
// dragged and to which places, and hears where it was dropped.

const HOLD = 400; // milliseconds until it is lifted
const STILL = 10; // pixels the finger may stray before that
const EDGE = 64; // pixels from the window's edge within which the page scrolls along
const PACE = 10; // pixels in each frame

/**
 * Let whatever matches `selector` be dragged to a place: `placeOf(element)` finds the one an element
 * is in. `nameOf(item)` is what a finger carries. `over(place)` hears which place is beneath, null
 * for none and at the end; `dropped(item, place, copies)` where it was dropped, and whether a key
 * asks for a copy (with `canCopy`). `begun(isByTouch)` and `ended()` tell when something is carried.
 */
export function draggable(
  selector,
  { placeOf, nameOf, over, dropped, begun = () => {}, ended = () => {}, canCopy = false },
) {
  let carried = null;
  const asksForCopy = (event) => canCopy && (event.ctrlKey || event.metaKey);

  function makeDraggable() {
    for (const item of document.querySelectorAll(selector)) item.draggable = true;
  }

  document.addEventListener("dragstart", (event) => {
    carried = event.target.closest?.(selector) ?? null;
    if (!carried) return;
    event.dataTransfer.effectAllowed = canCopy ? "copyMove" : "move";
    event.dataTransfer.setData("text/plain", nameOf(carried));
    begun(false);
  });

  document.addEventListener("dragover", (event) => {
    const place = carried && placeOf(event.target);
    over(place ?? null);
    if (!place) return;
    event.preventDefault();
    event.dataTransfer.dropEffect = asksForCopy(event) ? "copy" : "move";
  });

  document.addEventListener("drop", (event) => {
    const place = carried && placeOf(event.target);
    if (!place) return;
    event.preventDefault();
    dropped(carried, place, asksForCopy(event));
  });

  document.addEventListener("dragend", () => {
    carried = null;
    over(null);
    ended();
  });

  liftable(selector, {
    nameOf,
    lifted: () => begun(true),
    over: (element) => over(placeOf(element) ?? null),
    laidDown: () => {
      over(null);
      ended();
    },
    dropped: (item, element) => {
      const place = placeOf(element);
      if (place) dropped(item, place, false);
    },
  });

  document.addEventListener("htmx:afterSettle", makeDraggable);
  makeDraggable();
}

/** Mark the place beneath among all that match `selector`; null for none. */
export function markOver(selector, place) {
  for (const other of document.querySelectorAll(`${selector}.is-over`)) {
    other.classList.remove("is-over");
  }
  place?.classList.add("is-over");
}

function liftable(selector, { lifted, over, dropped, laidDown, nameOf }) {
  let press = null; // {item, x, y, timer}: a finger that has not lifted anything yet
  let held = null; // {item, x, y, label}: one that has
  let justHeld = false; // until its click is stopped

  function lift() {
    const { item, x, y } = press;
    press = null;
    const label = document.createElement("p");
    label.className = "carried";
    label.textContent = nameOf(item);
    document.body.append(label);
    held = { item, x, y, label };
    const before = item.getBoundingClientRect().top;
    lifted(item);
    scrollPage(item.getBoundingClientRect().top - before); // it stays under the finger
    follow();
  }

  function follow() {
    held.label.style.transform = `translate(${held.x}px, ${held.y}px) translate(-50%, -150%)`;
    over(document.elementFromPoint(held.x, held.y));
  }

  function scrollAlong() {
    if (!held) return;
    held.isUnderWay = true;
    const across = toEdge(held.x, window.innerWidth);
    const down = toEdge(held.y, window.innerHeight);
    if (across || down) {
      scrollPage(down);
      for (let box = held.item.parentElement; across && box; box = box.parentElement)
        box.scrollLeft += across;
      follow();
    }
    requestAnimationFrame(scrollAlong);
  }

  function scrollPage(top) {
    window.scrollBy({ top, behavior: "instant" });
  }

  function toEdge(at, size) {
    if (at < EDGE) return -PACE;
    return at > size - EDGE ? PACE : 0;
  }

  function layDown() {
    clearTimeout(press?.timer);
    held?.label.remove();
    if (held) laidDown();
    press = held = null;
  }

  document.addEventListener("pointerdown", (event) => {
    layDown();
    justHeld = false;
    if (event.pointerType !== "touch" || !event.isPrimary) return;
    const item = event.target.closest(selector);
    if (!item || event.target.closest("button, summary, a.btn")) return;
    item.draggable = false; // or the browser would drag it in its own way
    press = { item, x: event.clientX, y: event.clientY, timer: setTimeout(lift, HOLD) };
  });

  document.addEventListener("pointermove", (event) => {
    if (press && Math.hypot(event.clientX - press.x, event.clientY - press.y) > STILL) layDown();
    if (!held) return;
    Object.assign(held, { x: event.clientX, y: event.clientY });
    follow();
    if (!held.isUnderWay) scrollAlong();
  });

  document.addEventListener("pointerup", () => {
    const { item, x, y } = held ?? {};
    const under = held && document.elementFromPoint(x, y); // before anything moves back
    justHeld = Boolean(held);
    layDown();
    if (item) dropped(item, under);
  });

  document.addEventListener("pointercancel", layDown);

  // What is carried is not scrolled, opened as a link, or asked about in a menu.
  document.addEventListener("touchmove", (event) => held && event.preventDefault(), {
    passive: false,
  });
  document.addEventListener("touchend", (event) => justHeld && event.preventDefault(), {
    passive: false,
  });
  document.addEventListener("contextmenu", (event) => (press || held) && event.preventDefault());
}
