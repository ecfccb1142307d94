// What every page needs from JavaScript: say plainly when a save failed, and ask before a
// destructive act. Nothing typed is touched: htmx swaps no error answer in (see htmx-config in
// base.html), so the form stays as it was.

const SENTENCES = {
  offline: "No connection just now. What you typed is still here; try again in a moment.",
  signedOut:
    "You have been signed out, so this was not saved. Copy what you typed, sign in again and save it there.",
  refused:
    "You signed in anew after this page was opened, so this was not saved. Copy what you typed, reload the page and save it there.",
  missing: "That is no longer there. Reload the page to see what is.",
  busy: "Fledge is busy just now, and this was not done. What you typed is still here; try again in a minute.",
  broken: "Something went wrong on our side and this was not done. What you typed is still here.",
};

function sentenceFor(status) {
  if (status === 0) return SENTENCES.offline;
  if (status === 401) return SENTENCES.signedOut;
  if (status === 403) return SENTENCES.refused;
  if (status === 404 || status === 410) return SENTENCES.missing;
  if (status === 502 || status === 503 || status === 504) return SENTENCES.busy;
  return SENTENCES.broken;
}

function say(sentence) {
  const list = document.querySelector("[data-messages]");
  unsay();
  const item = document.createElement("li");
  item.className = "is-stop";
  item.dataset.fault = "";
  item.textContent = sentence;
  list.append(item);
}

function unsay() {
  document.querySelector("[data-messages] [data-fault]")?.remove();
}

// Busy, or asking for a second way to sign in, the server says what became of it; a proxy in front of
// it may answer with a page instead.
function sentenceOf(xhr) {
  const isTold = xhr.getResponseHeader("content-type")?.startsWith("text/plain");
  return [403, 503].includes(xhr.status) && isTold ? xhr.responseText : sentenceFor(xhr.status);
}

document.addEventListener("htmx:responseError", (event) => say(sentenceOf(event.detail.xhr)));
document.addEventListener("htmx:sendError", () => say(SENTENCES.offline));
document.addEventListener("htmx:timeout", () => say(SENTENCES.offline));

// Every answer passes here before it is shown. The sign-in page in answer to a part's request is
// not put into that part; any other answer that is not an error ends the last complaint.
document.addEventListener("htmx:beforeSwap", (event) => {
  const { xhr } = event.detail;
  const from = xhr.responseURL && new URL(xhr.responseURL).pathname;
  if (from === document.body.dataset.signIn) {
    event.detail.shouldSwap = false;
    say(SENTENCES.signedOut);
  } else if (xhr.status < 400) {
    unsay();
  }
});

// On the way down, so that a "no" also stops what the element itself listens for.
function confirmFirst(event) {
  const asking = event.target.closest("[data-confirm]");
  if (asking && !window.confirm(asking.dataset.confirm)) {
    event.preventDefault();
    event.stopImmediatePropagation();
  }
}

document.addEventListener("submit", confirmFirst, true);
document.addEventListener(
  "click",
  (event) => {
    if (event.target.closest("a[data-confirm], button[type=button][data-confirm]"))
      confirmFirst(event);
  },
  true,
);

// A double tap sends a form once: the answer to the second would hide that of the first. On the
// window, after everything that keeps a form from being sent.
const DOUBLE_TAP = 1500; // milliseconds
let last = { form: null, at: -DOUBLE_TAP };

window.addEventListener("submit", (event) => {
  if (event.defaultPrevented) return;
  if (event.target === last.form && event.timeStamp - last.at < DOUBLE_TAP) event.preventDefault();
  else last = { form: event.target, at: event.timeStamp };
});
