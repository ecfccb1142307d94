// As much of IndexedDB as the outbox asks for. A transaction is written when nothing more is asked
// of it, whole or not at all; what is there is a copy of what was put.

const NO_ROOM = () => new DOMException("There is no room.", "QuotaExceededError");

class Transaction {
  #asked = 0;

  constructor(device, name, isForWriting) {
    Object.assign(this, { device, name, isForWriting });
    this.rows = new Map(device.stores.get(name).rows);
  }

  objectStore() {
    const { keyPath } = this.device.stores.get(this.name);
    return {
      get: (key) => this.#ask(() => structuredClone(this.rows.get(key))),
      getAll: () => this.#ask(() => structuredClone([...this.rows.values()])),
      put: (row) => this.#ask(() => this.#write(() => this.rows.set(row[keyPath], row)), row),
      delete: (key) => this.#ask(() => this.#write(() => this.rows.delete(key))),
    };
  }

  #write(act) {
    if (!this.isForWriting) throw new DOMException("It is only read.", "ReadOnlyError");
    act();
  }

  #ask(act, row) {
    const request = {};
    this.#asked += 1;
    queueMicrotask(() => {
      if (row && this.device.hasNoRoom === "at once") {
        this.error = request.error = NO_ROOM();
        request.onerror?.();
        this.onabort?.();
        return;
      }
      request.result = act();
      request.onsuccess?.();
      queueMicrotask(() => this.#end(row));
    });
    return request;
  }

  #end(row) {
    this.#asked -= 1;
    if (this.#asked > 0) return;
    if (row && this.device.hasNoRoom === "in the end") {
      this.error = NO_ROOM();
      this.onabort?.();
      return;
    }
    if (this.isForWriting) this.device.stores.get(this.name).rows = this.rows;
    this.oncomplete?.();
  }
}

/** What stands for `indexedDB` on one device. */
export class Databases {
  stores = null;
  hasNoRoom = ""; // "at once", or only "in the end", when a transaction is written
  isForbidden = false;

  open() {
    const request = {};
    queueMicrotask(() => {
      if (this.isForbidden) {
        request.error = new DOMException("Not here.", "InvalidStateError");
        request.onerror();
        return;
      }
      request.result = {
        createObjectStore: (name, { keyPath }) =>
          this.stores.set(name, { keyPath, rows: new Map() }),
        transaction: (name, mode) => new Transaction(this, name, mode === "readwrite"),
        close: () => {},
      };
      if (!this.stores) {
        this.stores = new Map();
        request.onupgradeneeded();
      }
      request.onsuccess();
    });
    return request;
  }
}
