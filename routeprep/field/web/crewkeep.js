// What this phone keeps for the crew page: the list, ticks, finds and what was picked, in a
// database of the browser, so that all of it is there without a connection and after a restart.
"use strict";

const KEPT = (() => {
  const DATABASE = "routeprep crew";
  const STORE = "kept";
  let opening = null;

  function opened() {
    opening ||= new Promise((resolve, reject) => {
      const request = indexedDB.open(DATABASE, 1);
      request.onupgradeneeded = () => request.result.createObjectStore(STORE);
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => { opening = null; reject(request.error); };
    });
    return opening;
  }

  // Durable when the promise is kept: the transaction has ended then.
  async function asked(mode, work) {
    const database = await opened();
    return new Promise((resolve, reject) => {
      const transaction = database.transaction(STORE, mode);
      const request = work(transaction.objectStore(STORE));
      transaction.oncomplete = () => resolve(request.result);
      transaction.onabort = () => reject(transaction.error);
      transaction.onerror = () => reject(transaction.error);
    });
  }

  const get = (key) => asked("readonly", (store) => store.get(key));
  const put = (key, value) => asked("readwrite", (store) => store.put(value, key));
  const all = (prefix) => asked("readonly", (store) => (
    store.getAll(IDBKeyRange.bound(prefix, `${prefix}\uffff`))
  ));

  return { all, get, put };
})();
