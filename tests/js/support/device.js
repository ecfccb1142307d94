// A device with our service worker on it, and the server at the other end of its line.

import { asRequest, Caches, cameFrom, ORIGIN } from "./caches.js";
import { Clock, runScript, settled } from "./scripts.js";

const SIGN_IN = "/accounts/login/";
const SIGN_OUT = "/accounts/logout/";
const LIST = "/offline/keep.json";
const NO_CONNECTION = "/no-connection/";
const OUTBOX = "/static/js/follow/outbox.js";

/** What the server writes above the worker, as `worker_script` in program/offline.py does. */
const told = (version) => ({
  version,
  static: "/static/",
  extra: [OUTBOX],
  offline: NO_CONNECTION,
  figures: "/library/figures/",
  signIn: SIGN_IN,
  signOut: SIGN_OUT,
});

/** Answers as Fledge does; whose pages they are is said by the sign-in. */
export class Server {
  isReachable = true;
  release = "r1";
  signIn = "anna-1"; // null: signed out
  list = { pages: ["/", "/family/mira/"], figures: ["/library/figures/squat.svg?pair"] };
  asked = []; // paths, in order
  lost = []; // paths of which no answer comes back
  isSlow = false; // what is answered now arrives when it is told to
  #held = [];

  fetch = async (request) => {
    const url = new URL(asRequest(request).url);
    const { method = "GET" } = request;
    const path = url.pathname + url.search;
    this.asked.push(path);
    if (!this.isReachable || this.lost.includes(path)) throw new TypeError("Failed to fetch");
    if (method === "POST" && path === SIGN_OUT) this.signIn = null;
    const answer = this.#answer(path);
    if (this.isSlow) await new Promise((resolve) => this.#held.push(resolve));
    return answer;
  };

  /** What was held back on a slow line arrives. */
  async arrives() {
    this.isSlow = false;
    for (const go of this.#held.splice(0)) go();
    await settled();
  }

  #answer(path) {
    const isPublic =
      [SIGN_IN, SIGN_OUT, NO_CONNECTION].includes(path) || path.startsWith("/static/");
    if (path === "/ended/" || (this.signIn === null && !isPublic)) return this.#page(SIGN_IN, true);
    if (path === LIST) return from(path, Response.json({ signIn: this.signIn, ...this.list }));
    if (path === "/gone/") return from(path, new Response("not there", { status: 404 }));
    return this.#page(path === "/" ? "/family/" : path, path === "/");
  }

  #page(path, isLedThere = false) {
    const style = `<link href="/static/css/base.${this.release}.css">`;
    const text = path.startsWith("/static/") ? path : `${path} for ${this.signIn}, ${style}`;
    const headers = { vary: "Accept, Cookie" };
    return from(path, new Response(text, { headers }), isLedThere);
  }
}

const from = (path, response, isLedThere) => cameFrom(ORIGIN + path, response, isLedThere);

async function happens(listeners, type, told = {}) {
  const until = [];
  listeners[type]({ ...told, waitUntil: (promise) => until.push(promise) });
  await Promise.all(until);
}

/** What is kept stays on it through the releases of the worker. */
export class Device {
  caches = new Caches();
  clock = new Clock();
  heard = []; // what the worker tells the pages

  constructor(server = new Server()) {
    this.server = server;
  }

  /** The worker of the server's release is fetched and, if it can be installed, takes over. */
  async install() {
    const listeners = {};
    runScript(
      new URL("../../../static/js/worker.js", import.meta.url),
      {
        self: {
          addEventListener: (type, heard) => {
            listeners[type] = heard;
          },
          location: { origin: ORIGIN },
          skipWaiting: () => {},
          clients: {
            claim: () => {},
            matchAll: async () => [{ postMessage: ({ type }) => this.heard.push(type) }],
          },
        },
        caches: this.caches,
        fetch: this.server.fetch,
        setTimeout: this.clock.setTimeout,
      },
      `const TOLD = ${JSON.stringify(told(this.server.release))};`,
    );
    await happens(listeners, "install");
    this.listeners = listeners;
    await happens(listeners, "activate");
  }

  /** A page asks for its week to be kept, as each page of a family does. */
  keep = () => this.tell({ type: "keep", list: LIST });
  tell = (data) => happens(this.listeners, "message", { data });

  // ---- what is seen on it

  /** What a page that is gone to shows: its text, or what comes instead. */
  async open(path) {
    return (await this.navigate(path)).text();
  }

  navigate = (path) => this.request(path, { mode: "navigate", headers: { accept: "text/html" } });

  /** The answer to a request; undefined where the worker leaves it to the browser. */
  async request(path, { method = "GET", mode = "cors", destination = "", headers = {} } = {}) {
    let answer;
    const until = [];
    const request = { url: new URL(path, ORIGIN).href, method, mode, destination, headers };
    this.listeners.fetch({
      request,
      respondWith: (promise) => {
        answer = promise;
      },
      waitUntil: (promise) => until.push(promise),
    });
    const given = await answer;
    await Promise.all(until);
    return given;
  }

  signOut = () => this.request(SIGN_OUT, { method: "POST", mode: "navigate" });

  // ---- what is kept on it

  /** Paths of all pages and figures that are kept, by the cache's name. */
  async pages() {
    const kept = {};
    for (const name of await this.caches.keys()) {
      if (name.startsWith("fledge-pages-")) kept[name] = await this.#paths(name);
    }
    return kept;
  }

  async files() {
    const names = (await this.caches.keys()).filter((name) => name.startsWith("fledge-assets-"));
    return (await Promise.all(names.map((name) => this.#paths(name)))).flat();
  }

  async #paths(name) {
    const keys = await (await this.caches.open(name)).keys();
    return keys.map(({ url }) => url.slice(ORIGIN.length));
  }
}
