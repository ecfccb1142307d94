// Runs a script of ours that is no module for others, as a page or a worker would run it.

import { readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { compileFunction } from "node:vm";

/** What the script takes for global is what is `given`; `above` is what the server writes above it. */
export function runScript(url, given, above = '"use strict";') {
  const source = `${above} ${readFileSync(url, "utf8")}`;
  const script = compileFunction(source, Object.keys(given), { filename: fileURLToPath(url) });
  script(...Object.values(given));
}

/** A clock that stands until it is told how much time passes. */
export class Clock {
  now = 0;
  #due = [];

  setTimeout = (act, after, ...told) => {
    this.#due.push({ at: this.now + after, act: () => act(...told) });
  };

  pass(milliseconds) {
    const until = this.now + milliseconds;
    for (;;) {
      const next = this.#due
        .filter(({ at }) => at <= until)
        .sort((one, other) => one.at - other.at)[0];
      if (!next) break;
      this.#due.splice(this.#due.indexOf(next), 1);
      this.now = next.at;
      next.act();
    }
    this.now = until;
  }
}

/** Until everything that waits for nothing but its turn has had it. */
export const settled = () => new Promise((resolve) => setTimeout(resolve, 1));
