// What waits on this phone, seen: it is sent when there is a connection, and what the server could
// not write stays here, with its reason, until somebody has read it.

import { forget, send, waiting } from "../keeping.js";

const WORDS = { log: "the log", ask: "a question", pain: "what hurts", easier: "an easier choice", started: "the start" };

/** Sends what waits and shows what is left in `[data-waiting]`; resolves to why it stopped. */
export async function sendWaiting(root) {
  let stopped = "";
  try {
    stopped = await send(root.dataset.owner, root.dataset.inbox);
    draw(root.querySelector("[data-waiting]"), await waiting(root.dataset.owner), root, stopped);
  } catch {
    stopped = "offline"; // no database on this phone: nothing waits in it
  }
  return stopped;
}

function draw(list, items, root, stopped) {
  const unsent = items.filter((item) => item.state === "waiting");
  const unwritten = items.filter((item) => item.state !== "waiting");
  list.hidden = items.length === 0;
  list.replaceChildren();
  if (unsent.length) {
    const what = new Intl.ListFormat("en-GB").format([...new Set(unsent.map((item) => WORDS[item.kind]))]);
    list.append(stopped === "signed out" ? `Waiting until you sign in again: ${what}.` : `Waiting for a connection: ${what}.`);
  }
  for (const item of unwritten) {
    const line = document.createElement("span");
    const read = Object.assign(document.createElement("button"), { type: "button", className: "btn", textContent: "I have read it" });
    read.addEventListener("click", () => forget(item.id).then(() => sendWaiting(root)));
    line.append(`${item.name}: ${item.sentence} `, ...both(item), read);
    list.append(line);
  }
}

/** Where both logs of a session are shown, if that is what was in the way. */
function both(item) {
  if (item.state !== "conflict") return [];
  const href = `/family/${item.child}/${item.session}/kept/`;
  return [Object.assign(document.createElement("a"), { href, textContent: "Look at both and choose." }), " "];
}
