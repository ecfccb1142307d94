// The service worker: for when there is no connection it keeps a family's week, and of a coach the
// groups' logs.
//
// What it keeps of pages is named after the sign-in that fetched it. Whatever shows that this
// sign-in has ended (signing out, being asked to sign in, somebody else's pages) wipes it. What the
// server knows of this release stands above, in TOLD.

const ASSETS = `fledge-assets-${TOLD.version}`;
const PAGES = "fledge-pages-";
const WHO = "fledge-who";
const PATIENCE = 4000; // ms a slow line is waited for where the page is kept
const OWN_FILES = new RegExp(
  `(?:href|src)="(${TOLD.static.replace(/[.*+?^${}()|[\]\\]/g, "\\$&")}[^"]+)"`,
  "g",
);

self.addEventListener("install", (event) => {
  event.waitUntil(keepFiles([TOLD.offline, ...TOLD.extra]).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(takeOver());
});

/** The release before is let go only once this one has kept all anew. */
async function takeOver() {
  await self.clients.claim();
  const who = await whose();
  if (who && !(await keepAll(who.list))) return;
  for (const name of await caches.keys()) {
    if (name.startsWith("fledge-assets-") && name !== ASSETS) await caches.delete(name);
    if (name.startsWith(PAGES) && !name.startsWith(`${PAGES}${TOLD.version}-`))
      await caches.delete(name);
  }
}

self.addEventListener("message", (event) => {
  if (event.data?.type === "keep") event.waitUntil(keepAll(event.data.list));
  if (event.data?.type === "wipe") event.waitUntil(wipe());
});

// ---- whose

async function whose() {
  const found = await (await caches.open(WHO)).match("/who");
  return found ? found.json() : null;
}

async function wipe() {
  for (const name of await caches.keys()) {
    if (name.startsWith(PAGES) || name === WHO) await caches.delete(name);
  }
}

async function becomes(signIn, list) {
  for (const name of await caches.keys()) {
    if (name.startsWith(PAGES) && !name.endsWith(`-${signIn}`)) await caches.delete(name);
  }
  await (await caches.open(WHO)).put("/who", new Response(JSON.stringify({ signIn, list })));
  return caches.open(`${PAGES}${TOLD.version}-${signIn}`);
}

// ---- keeping

/** Keeps all that the server lists for this sign-in; whether it could. */
async function keepAll(list) {
  try {
    const answer = await fetch(list);
    if (!answer.ok || answer.redirected) return false;
    const { signIn, pages, figures, children } = await answer.json();
    const mine = await becomes(signIn, list);
    const files = new Set();
    for (const page of pages) for (const file of await keepPage(mine, page)) files.add(file);
    for (const figure of figures)
      if (!(await mine.match(figure))) await put(mine, figure, await fetch(figure));
    await keepFiles([...files]);
    await letGo(mine, new Set([...pages, ...figures]));
    await tell({ type: "kept", children });
    return true;
  } catch (error) {
    if (error.name === "QuotaExceededError") await tell({ type: "no room" });
    return false;
  }
}

/** Keeps a page and answers with the files of ours that it needs. */
async function keepPage(cache, page) {
  const answer = await fetch(page, { cache: "no-cache", headers: { "x-keeps": "1" } });
  if (!answer.ok || new URL(answer.url).pathname === TOLD.signIn) return [];
  const html = await answer.text();
  // Made anew, because a page that was led elsewhere may not be shown as it came.
  await cache.put(page, new Response(html, { headers: answer.headers }));
  return [...html.matchAll(OWN_FILES)].map((found) => found[1]);
}

async function put(cache, address, answer) {
  if (answer.ok && !answer.redirected) await cache.put(address, answer);
}

async function keepFiles(files) {
  const cache = await caches.open(ASSETS);
  for (const file of files)
    if (!(await cache.match(file)))
      await put(cache, file, await fetch(file, { cache: "no-cache" }));
}

async function letGo(cache, kept) {
  for (const request of await cache.keys()) {
    const { pathname, search } = new URL(request.url);
    if (!kept.has(pathname + search)) await cache.delete(request);
  }
}

async function tell(message) {
  for (const client of await self.clients.matchAll()) client.postMessage(message);
}

// ---- answering

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== self.location.origin) return;
  if (request.method === "POST" && pathname === TOLD.signOut) event.respondWith(signedOut(request));
  else if (request.method !== "GET") return;
  else if (pathname.startsWith(TOLD.static)) event.respondWith(fileOf(request));
  else if (request.mode === "navigate") event.respondWith(pageOf(request, event));
  else if (request.destination === "image" || pathname.startsWith(TOLD.figures))
    event.respondWith(keptBefore(request));
});

async function signedOut(request) {
  await wipe();
  return fetch(request).catch(noConnection);
}

async function fileOf(request) {
  const cache = await caches.open(ASSETS);
  const found = await cache.match(request, { ignoreVary: true });
  return (
    found ?? (await caches.match(request, { ignoreVary: true }).catch(() => null)) ?? fetch(request)
  );
}

async function keptBefore(request) {
  return (await kept(request)) ?? fetch(request);
}

async function kept(request) {
  const who = await whose();
  if (!who) return undefined;
  for (const name of (await caches.keys()).reverse()) {
    if (!name.startsWith(PAGES) || !name.endsWith(`-${who.signIn}`)) continue;
    const found = await (await caches.open(name)).match(request, { ignoreVary: true });
    if (found) return found;
  }
  return undefined;
}

async function pageOf(request, event) {
  const here = await kept(request);
  // Nor is it shown as the browser has it: after signing out, Back would find it there.
  const asked = fetch(request, { cache: "no-store" }).then((answer) => {
    if (
      new URL(answer.url).pathname === TOLD.signIn ||
      new URL(request.url).pathname === TOLD.signIn
    )
      event.waitUntil(wipe());
    return answer;
  });
  if (!here) return asked.catch(noConnection);
  const late = new Promise((resolve) => {
    setTimeout(resolve, PATIENCE, here);
  });
  return Promise.race([asked, late]).catch(() => here);
}

async function noConnection() {
  return (await caches.match(TOLD.offline)) ?? Response.error();
}
