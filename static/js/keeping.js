// What this device keeps, and for whom: the place in a session, a family's choices, the log of a
// group, and what waits to be sent. A place and a group's log begin with the key of their owner;
// the choices are no more anybody's than the phone is.

const OWNER = "fledge-owner";
const CHOICES = "fledge-follow";
const PLACE = "fledge-place-";
const GROUP = "fledge-group-";

// ---- whose

/** From here on this device is the owner's: what it kept of anybody else goes. Whether it was
 *  somebody else's, or nobody's, before. */
export function belongTo(owner) {
  if (isOwnedBy(owner)) return false;
  try {
    letGo((key) => !key.startsWith(`${PLACE}${owner}-`) && !key.startsWith(`${GROUP}${owner}-`));
    localStorage.setItem(OWNER, owner);
  } catch {
    // Where nothing can be kept, nothing was.
  }
  return true;
}

/** Places and groups' logs go when their owner signs out, and the device is nobody's. */
export function goWithSigningOut(owner) {
  document.addEventListener("submit", (event) => {
    if (!event.target.matches("[data-signs-out]")) return;
    letGo(() => true);
    forgetKey(OWNER);
  });
  // Back may bring a page from memory as it was left: not to somebody else.
  window.addEventListener("pageshow", (event) => {
    if (!event.persisted || isOwnedBy(owner)) return;
    document.body.hidden = true; // until the other page is here
    window.location.reload();
  });
}

function isOwnedBy(owner) {
  try {
    return localStorage.getItem(OWNER) === owner;
  } catch {
    return false; // nothing tells whose it is
  }
}

function letGo(isUnwanted) {
  const keys = Object.keys(localStorage);
  for (const key of keys) if ((key.startsWith(PLACE) || key.startsWith(GROUP)) && isUnwanted(key)) forgetKey(key);
}

// ---- something small

/** Keeps it; whether there was room. */
function keep(key, value) {
  try {
    localStorage.setItem(key, JSON.stringify(value));
    return true;
  } catch {
    return false;
  }
}

function kept(key) {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "null");
  } catch {
    return null;
  }
}

export const keepPlace = (session, snapshot) => keep(PLACE + session, snapshot);
export const keptPlace = (session) => kept(PLACE + session);
export const forgetPlace = (session) => forgetKey(PLACE + session);
export const keepGroup = (group, log) => keep(GROUP + group, log);
export const keptGroup = (group) => kept(GROUP + group);
export const forgetGroup = (group) => forgetKey(GROUP + group);
export const keepChoices = (choices) => keep(CHOICES, choices);
export const keptChoices = () => kept(CHOICES) ?? {};

/** The owner's groups of which something is kept. */
export const groupsOf = (owner) =>
  Object.keys(localStorage).filter((key) => key.startsWith(`${GROUP}${owner}-`)).map((key) => key.slice(GROUP.length));

function forgetKey(key) {
  try {
    localStorage.removeItem(key);
  } catch {
    // Where nothing can be kept, nothing has to be forgotten.
  }
}

// ---- what waits to be sent

function asPromise(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

async function store(mode, act) {
  const opening = indexedDB.open("fledge", 1);
  opening.onupgradeneeded = () => opening.result.createObjectStore("outbox", { keyPath: "id" });
  const database = await asPromise(opening);
  try {
    const transaction = database.transaction("outbox", mode);
    const result = await asPromise(act(transaction.objectStore("outbox")));
    return result;
  } finally {
    database.close();
  }
}

/** Puts one thing in the queue. Rejects where the phone has no room. */
export function queue(item) {
  return store("readwrite", (box) => box.put({ state: "waiting", made: Date.now(), ...item }));
}

/** All that waits or was not taken, of one owner, oldest first. */
export async function waiting(owner) {
  const items = await store("readonly", (box) => box.getAll());
  return items.filter((item) => item.owner === owner).sort((one, other) => one.made - other.made);
}

export const forget = (id) => store("readwrite", (box) => box.delete(id));

/** Sends all that waits, oldest first. Resolves to why it stopped: "" once all is sent. */
export async function send(owner, inbox) {
  for (const item of await waiting(owner)) {
    if (item.state !== "waiting") continue;
    const stopped = await sendOne(item, inbox);
    if (stopped) return stopped;
  }
  return "";
}

async function sendOne(item, inbox) {
  const { stopped, told } = await post(item, inbox);
  if (stopped) return stopped;
  if (isDone(told)) await forget(item.id);
  else await queue({ ...item, ...told });
  return "";
}

/** "waiting", or why the server did not take it; undefined once it is no longer in the queue. */
export const stateOf = async (id) => (await store("readonly", (box) => box.get(id)))?.state;

/** Sends something there is no room to queue. Resolves to "" once it is written, to "no room" where
 *  it could not be sent either, and else to what the server has to say about it. */
export async function sendStraight(item, inbox) {
  const { stopped, told } = await post(item, inbox);
  if (stopped) return "no room";
  return isDone(told) ? "" : told.sentence;
}

const isDone = ({ state }) => state === "written" || state === "settled";

/** Asks the server to take it: why that stopped, or what became of it there. */
async function post({ id, kind, child, session, fields }, inbox) {
  let answer;
  try {
    answer = await fetch(inbox, {
      method: "POST",
      headers: { "content-type": "application/json", "x-csrftoken": csrfToken() },
      body: JSON.stringify({ id, kind, child, session, fields }),
    });
  } catch {
    return { stopped: "offline" };
  }
  if (answer.redirected || answer.status === 403) return { stopped: "signed out" };
  if (answer.status >= 500 || answer.status === 429) return { stopped: "offline" };
  const told = await answer.json().catch(() => null);
  if (answer.ok && isDone(told ?? {})) return { told };
  return { told: { state: told?.state ?? "refused", sentence: told?.sentence || REFUSED } };
}

const REFUSED = "The server could not take this. It is still on this phone: show it to the coach.";

function csrfToken() {
  return /(?:^|;\s*)csrftoken=([^;]+)/.exec(document.cookie)?.[1] ?? document.querySelector("[name=csrfmiddlewaretoken]")?.value ?? "";
}
