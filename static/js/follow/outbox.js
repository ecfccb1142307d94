// What waits on this phone: it is sent when there is a connection, and what the server could not
// write stays here, with its reason, until somebody has read it.

// ---- kept and sent

function asPromise(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** Only then is it on the phone: there may be no room for what was put without complaint. */
function committed(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = () => reject(transaction.error);
  });
}

async function store(mode, act) {
  const opening = indexedDB.open("fledge", 1);
  opening.onupgradeneeded = () => opening.result.createObjectStore("outbox", { keyPath: "id" });
  const database = await asPromise(opening);
  try {
    const transaction = database.transaction("outbox", mode);
    const asked = asPromise(act(transaction.objectStore("outbox")));
    const [result] = await Promise.all([asked, committed(transaction)]);
    return result;
  } finally {
    database.close();
  }
}

/** Whether something here has still to be sent, whosever it is. */
export async function isWaiting() {
  const databases = (await indexedDB.databases?.()) ?? [{ name: "fledge" }];
  if (!databases.some(({ name }) => name === "fledge")) return false;
  const items = await store("readonly", (box) => box.getAll());
  return items.some((item) => item.state === "waiting");
}

/** Puts one thing in the queue. Rejects where the phone has no room. */
export function queue(item) {
  return store("readwrite", (box) => box.put({ state: "waiting", made: Date.now(), ...item }));
}

/** All that waits or was not taken, of one owner, oldest first. */
async function waiting(owner) {
  const items = await store("readonly", (box) => box.getAll());
  return items.filter((item) => item.owner === owner).sort((one, other) => one.made - other.made);
}

const forget = (id) => store("readwrite", (box) => box.delete(id));

/** Sends all that waits, oldest first. Resolves to why it stopped: "" once all is sent. */
async function send(owner, inbox) {
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
  return (
    /(?:^|;\s*)(?:__Host-)?csrftoken=([^;]+)/.exec(document.cookie)?.[1] ??
    document.querySelector("[name=csrfmiddlewaretoken]")?.value ??
    ""
  );
}

// ---- seen

const WORDS = {
  log: "the log",
  ask: "a question",
  pain: "what hurts",
  easier: "an easier choice",
  started: "the start",
};

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
    const what = new Intl.ListFormat("en-GB").format([
      ...new Set(unsent.map((item) => WORDS[item.kind])),
    ]);
    list.append(
      stopped === "signed out"
        ? `Waiting until you sign in again: ${what}.`
        : `Waiting for a connection: ${what}.`,
    );
  }
  for (const item of unwritten) {
    const line = document.createElement("span");
    const read = Object.assign(document.createElement("button"), {
      type: "button",
      className: "btn",
      textContent: "I have read it",
    });
    read.addEventListener("click", () => forget(item.id).then(() => sendWaiting(root)));
    line.append(`${item.name}: ${item.sentence} `, ...both(item), read);
    list.append(line);
  }
}

/** Where both logs of a session are shown, if that is what was in the way. */
function both(item) {
  if (item.state !== "conflict") return [];
  const href = `/family/${item.child}/${item.session}/kept/`;
  return [
    Object.assign(document.createElement("a"), { href, textContent: "Look at both and choose." }),
    " ",
  ];
}
