// A family's page (and a coach's on which a group is logged) and what is kept for it: registers the worker once the page stands, sends
// what waits, and says so when there is no connection. Nothing here holds the page up.

import { belongTo, goWithSigningOut, keepOnlyOf, localDay } from "./keeping.js";

const own = document.querySelector("script[data-offline]");
const { owner, worker, list, inbox, outbox } = own.dataset;
const main = document.querySelector("main");
const PATIENCE = 4000; // ms a line is waited for before something is kept instead

function line(name, tint) {
  let element = main.querySelector(`[data-${name}]`);
  if (!element) {
    element = Object.assign(document.createElement("p"), {
      className: `notice notice-${tint} screen-only`,
      hidden: true,
    });
    element.dataset[name] = "";
    element.setAttribute("role", "status");
    main.prepend(element);
  }
  return element;
}

// ---- the worker

async function register() {
  if (!navigator.serviceWorker) return;
  navigator.serviceWorker.addEventListener("message", heard);
  try {
    await navigator.serviceWorker.register(worker);
    const { active } = await navigator.serviceWorker.ready;
    active.postMessage({ type: "keep", list });
  } catch {
    // Without a worker everything works that has a connection.
  }
}

function heard({ data }) {
  if (data.type === "kept") {
    if (data.children) keepOnlyOf(owner, data.children);
    document.documentElement.dataset.kept = "";
  }
  if (data.type === "no room") {
    const told = line("noroom", "look");
    told.textContent =
      "This phone has no room to keep the week’s sessions: they need a connection.";
    told.hidden = false;
  }
}

// ---- what waits

async function sendWaiting() {
  const databases = (await indexedDB.databases?.()) ?? [{ name: "fledge" }];
  if (!databases.some(({ name }) => name === "fledge")) return;
  const { sendWaiting: send } = await import(outbox);
  line("waiting", "look");
  await send(main);
}

/** A log or a question that cannot be sent now is kept and sent later. A phone may call itself
 *  online on a line that carries nothing: so the line is tried before the form is let go. */
function sendOrKeep(form) {
  let isOnItsWay = false;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (isOnItsWay) return;
    isOnItsWay = true;
    if (await isReachable()) {
      form.submit();
      return;
    }
    await keepLater(form);
    isOnItsWay = false;
  });
  window.addEventListener("pageshow", () => {
    isOnItsWay = false;
  }); // come back to it
}

const isReachable = async () =>
  navigator.onLine &&
  fetch(own.src, { method: "HEAD", cache: "no-store", signal: AbortSignal.timeout(PATIENCE) }).then(
    () => true,
    () => false,
  );

async function keepLater(form) {
  const sent = [...new FormData(form)];
  const fields = fieldsOf(sent);
  const hasFile = sent.some(([, value]) => value.size > 0);
  const [, child, session] = /family\/([^/]+)\/([^/]+)\//.exec(location.pathname);
  try {
    const { queue, stateOf } = await import(outbox);
    // What was sent meanwhile is not written over: what is changed afterwards is another one.
    const id =
      (await stateOf(form.dataset.id ?? "")) === "waiting" ? form.dataset.id : crypto.randomUUID();
    form.dataset.id = id;
    await queue({
      id,
      kind: form.dataset.keptAs,
      owner,
      child,
      session,
      fields,
      name: document.querySelector("h1").textContent,
    });
    await sendWaiting();
    if (hasFile)
      say(
        form,
        "The words are kept and sent later. The photo or clip is not: it needs a connection.",
      );
    main.querySelector("[data-waiting]").scrollIntoView();
  } catch {
    line("waiting", "look").textContent =
      "This phone has no room to keep this. Leave this page open, and send it again with a connection.";
    main.querySelector("[data-waiting]").hidden = false;
  }
}

/** By name, without files; what was ticked several times in one field with commas between. */
function fieldsOf(sent) {
  const fields = {};
  for (const [name, value] of sent) {
    if (typeof value !== "string" || name === "csrfmiddlewaretoken") continue;
    fields[name] = name in fields ? `${fields[name]},${value}` : value;
  }
  return fields;
}

function say(form, words) {
  const told =
    form.querySelector("[data-left-out]") ??
    form.appendChild(
      Object.assign(document.createElement("p"), { className: "notice notice-look" }),
    );
  told.dataset.leftOut = "";
  told.setAttribute("role", "status");
  told.textContent = words;
}

function sayWhetherThereIsAConnection() {
  const told = line("connection", "note");
  told.textContent = "No connection. This page is as it was when it was last fetched.";
  told.hidden = navigator.onLine;
}

// ---- the page

belongTo(owner);
goWithSigningOut(owner);
if (!main.matches("[data-follow]")) {
  Object.assign(main.dataset, { owner, inbox });
  sayWhetherThereIsAConnection();
  for (const name of ["online", "offline"])
    window.addEventListener(name, sayWhetherThereIsAConnection);
  window.addEventListener("online", sendWaiting);
  sendWaiting();
}
for (const form of document.querySelectorAll("form[data-kept-as]")) sendOrKeep(form);
// A page kept for days says “today” of the day on which it is opened.
for (const day of document.querySelectorAll("form[data-kept-as] [name=told_on]"))
  day.value = localDay();
if (document.readyState === "complete") register();
else window.addEventListener("load", register);
