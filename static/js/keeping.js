// What this device keeps, and for whom: the place in a session, what hurt, a family's choices and the
// log of a group (what a family's phone has still to send is in follow/outbox.js). The names of a place and
// of a group's log begin with the key of their owner; the choices are nobody's.

const OWNER = "fledge-owner";
const CHOICES = "fledge-follow";
const PLACE = "fledge-place-";
const GROUP = "fledge-group-";
const SORE = "fledge-sore-";

const OF_AN_OWNER = [PLACE, GROUP, SORE];

// ---- whose

/** From here on this device is the owner's: what it kept of anybody else goes. Whether it was
 *  somebody else's, or nobody's, before. */
export function belongTo(owner) {
  if (isOwnedBy(owner)) return false;
  try {
    letGo((key) => !OF_AN_OWNER.some((kind) => key.startsWith(`${kind}${owner}-`)));
    localStorage.setItem(OWNER, owner);
  } catch {
    // Where nothing can be kept, nothing was.
  }
  return true;
}

/** What is held of a child that is not its owner's family any more goes: it was erased, or its
 *  guardian was removed. Of a place that says no child, nothing is known. */
export function keepOnlyOf(owner, children) {
  try {
    letGo((key) => {
      if (key.startsWith(`${SORE}${owner}-`))
        return !children.includes(key.slice(`${SORE}${owner}-`.length));
      if (!key.startsWith(`${PLACE}${owner}-`)) return false;
      const { child } = kept(key) ?? {};
      return Boolean(child) && !children.includes(child);
    });
  } catch {
    // Where nothing can be kept, nothing was.
  }
}

/** Nobody is signed in here any more: their account may be gone. What was reported of a child, and
 *  the places in its sessions, go; a group's log has still to be sent. */
export function forgetChildren() {
  try {
    letGo((key) => !key.startsWith(GROUP));
  } catch {
    // Where nothing can be kept, nothing was.
  }
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
  for (const key of keys)
    if (OF_AN_OWNER.some((kind) => key.startsWith(kind)) && isUnwanted(key)) forgetKey(key);
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

/** Where a child was in a session, and on which day it was doing it. */
export const keepPlace = (session, snapshot, child, doneOn) =>
  keep(PLACE + session, { ...snapshot, child, doneOn });
export const keptPlace = (session) => kept(PLACE + session);
export const forgetPlace = (session) => forgetKey(PLACE + session);
export const keepGroup = (group, log) => keep(GROUP + group, log);
export const keptGroup = (group) => kept(GROUP + group);
export const forgetGroup = (group) => forgetKey(GROUP + group);
export const keepChoices = (choices) => keep(CHOICES, choices);
export const keptChoices = () => kept(CHOICES) ?? {};

/** What hurt a child, as this phone reported it: older pages spare it until the server knows. */
export const keepSore = (child, report) =>
  keep(SORE + child, [...(kept(SORE + child) ?? []), report]);

/** What this phone has reported of a child and the server, by the ids it `knows`, had not heard. */
export function soreOf(child, knows) {
  const reports = (kept(SORE + child) ?? []).filter(({ id }) => !knows.includes(id));
  if (reports.length) keep(SORE + child, reports);
  else forgetKey(SORE + child);
  return reports;
}

/** The owner's groups of which something is kept. */
export const groupsOf = (owner) =>
  Object.keys(localStorage)
    .filter((key) => key.startsWith(`${GROUP}${owner}-`))
    .map((key) => key.slice(GROUP.length));

function forgetKey(key) {
  try {
    localStorage.removeItem(key);
  } catch {
    // Where nothing can be kept, nothing has to be forgotten.
  }
}

/** The day it is where this device is, as "2026-12-01". */
export function localDay(moment = new Date()) {
  const [year, month, day] = [moment.getFullYear(), moment.getMonth() + 1, moment.getDate()];
  return [year, month, day].map((part) => String(part).padStart(2, "0")).join("-");
}
