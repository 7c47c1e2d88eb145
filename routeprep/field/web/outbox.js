// What this phone has recorded and the office has not yet acknowledged.  Everything is written into
// a database of the browser first; an item leaves it only after the office said that it had it.
// An item's number comes from the database and is never used twice, so that (device, number) names
// it once and for all.
"use strict";

const OUTBOX = (() => {
  const DATABASE = "routeprep field";
  let opening = null;

  function upgrade(database) {
    database.createObjectStore("items", { keyPath: "counter", autoIncrement: true });
    database.createObjectStore("fixes", { keyPath: "no", autoIncrement: true });
    database.createObjectStore("marks", { keyPath: "mark_id" });
    database.createObjectStore("drives", { keyPath: "drive_id" });
    database.createObjectStore("meta");
  }

  // A UUID (RFC 9562, version 4), also where the page has no https.
  function newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  }

  const answer = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

  function opened() {
    opening ||= new Promise((resolve, reject) => {
      const request = indexedDB.open(DATABASE, 1);
      request.onupgradeneeded = () => upgrade(request.result);
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => { opening = null; reject(request.error); };
    });
    return opening;
  }

  // All of the work or none of it; durable when the promise is kept.
  async function within(names, mode, work) {
    const database = await opened();
    const options = mode === "readwrite" ? { durability: "strict" } : {};
    const transaction = database.transaction(names, mode, options);
    const ended = new Promise((resolve, reject) => {
      transaction.oncomplete = resolve;
      transaction.onabort = () => reject(transaction.error || new Error("not written"));
    });
    const stores = names.map((name) => transaction.objectStore(name));
    try {
      const result = await work(...stores);
      await ended;
      return result;
    } catch (error) {
      ended.catch(() => {});
      try { transaction.abort(); } catch { /* it has ended by itself */ }
      throw error;
    }
  }

  const get = (key) => within(["meta"], "readonly", (meta) => answer(meta.get(key)));
  const put = (key, value) => within(["meta"], "readwrite", (meta) => answer(meta.put(value, key)));

  // The phone's own id lives beside its numbers: where one is lost, so is the other.
  function device() {
    return within(["meta"], "readwrite", async (meta) => {
      const known = await answer(meta.get("device"));
      const own = known || newId();
      if (!known) {
        await answer(meta.put(own, "device"));
      }
      return own;
    });
  }

  // Put an item among those to be sent, inside a transaction; its number.  It is for the job that
  // the phone is paired with now, or if it is with none, for the next.
  async function queue(items, meta, item) {
    const job = (await answer(meta.get("job"))) || "";
    const { kind, thing, body, parents = [], bytes = null } = item;
    return answer(items.add({ kind, thing, body, parents, bytes, job, time_ms: Date.now() }));
  }

  const add = (item) => within(
    ["items", "meta"], "readwrite", (items, meta) => queue(items, meta, item),
  );

  const waiting = () => within(["items"], "readonly", (items) => answer(items.count()));

  // The next items to send to a job, in their order, up to so many of them and bytes.
  const next = (job, { count, bytes }) => within(["items"], "readonly", (items) => (
    new Promise((resolve, reject) => {
      const found = [];
      let size = 0;
      const request = items.openCursor();
      request.onerror = () => reject(request.error);
      request.onsuccess = () => {
        const cursor = request.result;
        if (!cursor) {
          resolve(found);
          return;
        }
        const item = cursor.value;
        const own = (!item.job || item.job === job) && !item.refused;
        if (own) {
          size += (item.bytes?.byteLength || 0) * 1.34 + JSON.stringify(item.body).length + 200;
          if (found.length && (size > bytes || found.length >= count)) {
            resolve(found);
            return;
          }
          found.push(item);
        }
        cursor.continue();
      };
    })
  ));

  // Forget what the office has, keep what it refused and why.
  const settle = (had, refused) => within(["items"], "readwrite", async (items) => {
    await Promise.all(had.map((counter) => answer(items.delete(counter))));
    for (const { counter, why } of refused) {
      const item = await answer(items.get(counter));
      if (item) {
        await answer(items.put({ ...item, refused: why }));
      }
    }
  });

  // What is held back: refused by the office, or recorded for another job.
  const held = (job) => within(["items"], "readonly", (items) => (
    new Promise((resolve, reject) => {
      const found = { refused: 0, why: "", other: 0, otherJob: "" };
      const request = items.openCursor();
      request.onerror = () => reject(request.error);
      request.onsuccess = () => {
        const cursor = request.result;
        if (!cursor) {
          resolve(found);
          return;
        }
        const { refused, job: own } = cursor.value;
        if (refused) {
          found.refused += 1;
          found.why ||= refused;
        } else if (job && own && own !== job) {
          found.other += 1;
          found.otherJob = own;
        }
        cursor.continue();
      };
    })
  ));

  // Let what was refused be sent again.
  const again = () => within(["items"], "readwrite", async (items) => {
    for (const item of await answer(items.getAll())) {
      if (item.refused) {
        await answer(items.put({ ...item, refused: "" }));
      }
    }
  });

  return { add, again, answer, device, get, held, newId, next, put, queue, settle, waiting, within };
})();
