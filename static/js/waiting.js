// A group's log that was saved without a connection is sent from whatever page its coach opens next;
// the server writes it once, however often it comes. What it does not take is left for its own page.
// Somebody else's logs and pages go from this device.

const { waitingGroups: owner } = document.querySelector("script[data-waiting-groups]").dataset;
const GROUPS = "fledge-group-";
const OWNER = "fledge-owner";
const open = () => document.querySelector("[data-group]")?.dataset.group;

function letGoOfOthers() {
  if (localStorage.getItem(OWNER) === owner) return;
  for (const key of Object.keys(localStorage)) {
    if (/^fledge-(place|group)-/.test(key) && !key.startsWith(`${GROUPS}${owner}-`)) localStorage.removeItem(key);
  }
  localStorage.setItem(OWNER, owner);
  navigator.serviceWorker?.getRegistration().then((found) => found?.active?.postMessage({ type: "wipe" }));
}

/** Of sessions that are not open here: the page itself sends its own. */
function waiting() {
  const keys = Object.keys(localStorage).filter((key) => key.startsWith(`${GROUPS}${owner}-`) && key !== `${GROUPS}${open()}`);
  return keys.map((key) => ({ key, ...JSON.parse(localStorage.getItem(key)) })).filter(({ sent }) => sent);
}

async function send({ key, sent, name, values }) {
  const address = `/sessions/${key.split("-").at(-1)}/group/`;
  const body = new URLSearchParams(sent);
  const headers = { "HX-Request": "true", ...JSON.parse(document.body.getAttribute("hx-headers")) };
  const answer = await fetch(address, { method: "POST", headers, body });
  if (answer.headers.get("HX-Redirect") === address) {
    localStorage.removeItem(key);
    say("is-good", `The group’s log of ${name}, kept on this device, is saved now.`, address);
  } else if ([404, 409, 422].includes(answer.status)) {
    localStorage.setItem(key, JSON.stringify({ values, name, sent: null }));
    say("is-look", `The group’s log of ${name}, kept on this device, is not saved yet: it needs another look.`, address);
  }
}

function say(tint, words, address) {
  const item = Object.assign(document.createElement("li"), { className: tint });
  item.append(`${words} `, Object.assign(document.createElement("a"), { href: address, textContent: "Open it" }));
  document.querySelector("[data-messages]")?.append(item);
}

async function sendAll() {
  for (const each of waiting()) {
    try {
      await send(each);
    } catch {
      return; // no connection: it waits on
    }
  }
}

try {
  letGoOfOthers();
  sendAll();
  window.addEventListener("online", sendAll);
} catch {
  // Where nothing can be kept, nothing waits.
}
