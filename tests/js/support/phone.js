// A family's phone with something to send, and the server that takes it: each thing once, however
// often it comes.

import { queue, sendWaiting } from "../../../static/js/follow/outbox.js";
import { Databases } from "./databases.js";
import { Document, h } from "./dom.js";

const INBOX = "/inbox/";

export class Inbox {
  isReachable = true;
  losesAnswers = false;
  answers = {}; // id -> the Response to it, where it is not simply written
  came = []; // all that came, in order, as it came
  written = new Map(); // id -> what was written

  fetch = async (address, { method, headers, body }) => {
    if (!this.isReachable) throw new TypeError("Failed to fetch");
    const item = JSON.parse(body);
    this.came.push({ address, method, headers, ...item });
    const answer = this.answers[item.id]?.() ?? this.#write(item);
    if (this.losesAnswers) throw new TypeError("network error");
    return answer;
  };

  #write(item) {
    if (!this.written.has(item.id)) this.written.set(item.id, item.fields);
    return Response.json({ state: "written", sentence: "" });
  }

  get order() {
    return this.came.map(({ id }) => id);
  }
}

/** Of one page of a family, open on this phone for `owner`. */
export class Phone {
  inbox = new Inbox();
  databases = new Databases();

  constructor(owner = "anna") {
    this.openAs(owner);
  }

  openAs(owner) {
    this.list = h("div", { "data-waiting": "" });
    this.main = h("main", { "data-owner": owner, "data-inbox": INBOX }, this.list);
    this.document = new Document(this.main);
    this.document.cookie = "theme=dark; csrftoken=from-the-cookie";
    Object.assign(globalThis, {
      document: this.document,
      indexedDB: this.databases,
      fetch: this.inbox.fetch,
    });
  }

  /** A thing that waits, made after those before it. */
  queue(id, { kind = "log", ...more } = {}) {
    return queue({ ...thing(id, this.main.dataset.owner), kind, ...more });
  }

  send = () => sendWaiting(this.main);

  /** What is shown of what is left. */
  get says() {
    return this.list.hidden ? "" : this.list.textContent.trim();
  }

  async reads() {
    this.list.querySelector("button").fire("click");
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
}

let made = 0;

export const thing = (id, owner = "anna") => ({
  id,
  owner,
  kind: "log",
  child: "c-1",
  session: "s-1",
  fields: { effort: "5" },
  name: "Strong steps",
  made: ++made,
});

export const refusal =
  (state, sentence, status = 200) =>
  () =>
    Response.json({ state, sentence }, { status });
