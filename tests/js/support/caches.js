// As much of the Cache API as the worker asks for, with what is easily forgotten of it: an answer is
// found only by a request like the one it was for in what its Vary names, and there may be no room.

export const ORIGIN = "https://fledge.example";

export const asRequest = (request) =>
  typeof request === "string" ? { url: new URL(request, ORIGIN).href, headers: {} } : request;

/** An answer as a browser hands it over: with the address it came from in the end. */
export function cameFrom(url, response, redirected = false) {
  return Object.defineProperties(response, {
    url: { value: url },
    redirected: { value: redirected },
  });
}

class Cache {
  #rows = new Map();

  constructor(all) {
    this.all = all;
  }

  async put(request, response) {
    if (this.all.isFull) throw new DOMException("There is no room.", "QuotaExceededError");
    const { url, headers } = asRequest(request);
    const { status, redirected } = response;
    const told = Object.fromEntries(response.headers);
    const row = { from: response.url, asked: headers, body: await response.text(), status };
    this.#rows.set(url, { ...row, headers: told, redirected });
  }

  async match(request, { ignoreVary = false } = {}) {
    const { url, headers } = asRequest(request);
    const row = this.#rows.get(url);
    const varies = (row?.headers.vary ?? "").toLowerCase().split(", ").filter(Boolean);
    if (!row || (!ignoreVary && varies.some((name) => row.asked[name] !== headers[name]))) return;
    return cameFrom(row.from, new Response(row.body, row), row.redirected);
  }

  async delete({ url }) {
    return this.#rows.delete(url);
  }

  async keys() {
    return [...this.#rows.keys()].map((url) => ({ url }));
  }
}

/** What stands for `caches` on one device. */
export class Caches {
  isFull = false;
  #caches = new Map();

  async open(name) {
    if (!this.#caches.has(name)) this.#caches.set(name, new Cache(this));
    return this.#caches.get(name);
  }

  async match(request, options) {
    for (const cache of this.#caches.values()) {
      const found = await cache.match(request, options);
      if (found) return found;
    }
  }

  async keys() {
    return [...this.#caches.keys()];
  }

  async delete(name) {
    return this.#caches.delete(name);
  }
}
