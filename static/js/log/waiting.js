// A group's log that was saved without a connection is sent from whatever page its coach opens next;
// the server writes it once, however often it comes. What it does not take is left for its own page.
// Somebody else's logs and pages go from this device.

import {
  belongTo,
  forgetGroup,
  goWithSigningOut,
  groupsOf,
  keepGroup,
  keptGroup,
} from "../keeping.js";

const { waitingGroups: owner } = document.querySelector("script[data-waiting-groups]").dataset;
const open = () => document.querySelector("[data-group]")?.dataset.group;

function letGoOfOthers() {
  if (!belongTo(owner)) return;
  navigator.serviceWorker
    ?.getRegistration()
    .then((found) => found?.active?.postMessage({ type: "wipe" }));
}

/** Of sessions that are not open here: the page itself sends its own. */
function waiting() {
  const others = groupsOf(owner).filter((group) => group !== open());
  return others.map((group) => ({ group, ...keptGroup(group) })).filter(({ sent }) => sent);
}

async function send({ group, sent, name, values }) {
  const address = `/sessions/${group.split("-").at(-1)}/group/`;
  const body = new URLSearchParams(sent);
  const headers = { "HX-Request": "true", ...JSON.parse(document.body.getAttribute("hx-headers")) };
  const answer = await fetch(address, { method: "POST", headers, body });
  if (answer.headers.get("HX-Redirect") === address) {
    forgetGroup(group);
    say("is-good", `The group’s log of ${name}, kept on this device, is saved now.`, address);
  } else if ([404, 409, 422].includes(answer.status)) {
    keepGroup(group, { values, name, sent: null });
    say(
      "is-look",
      `The group’s log of ${name}, kept on this device, is not saved yet: it needs another look.`,
      address,
    );
  }
}

function say(tint, words, address) {
  const item = Object.assign(document.createElement("li"), { className: tint });
  item.append(
    `${words} `,
    Object.assign(document.createElement("a"), { href: address, textContent: "Open it" }),
  );
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

goWithSigningOut(owner);
try {
  letGoOfOthers();
  sendAll();
  window.addEventListener("online", sendAll);
} catch {
  // Where nothing can be kept, nothing waits.
}
