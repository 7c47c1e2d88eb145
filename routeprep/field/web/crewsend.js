// How the crew page reaches the outbox and the office: no other of its parts names them.
"use strict";

const SEND = (() => {
  // A UUID of its own for a thing (RFC 9562, version 4), also where the page has no https.
  function newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  }

  // Durable on the phone when the promise is kept; its number, which a later item on the same
  // thing names as its parent.
  async function add(item) {
    const counter = await OUTBOX.add(item);
    LINK.push();
    return counter;
  }

  // How many items have not been acknowledged.
  const waiting = () => OUTBOX.waiting();

  // What the office hands out to this phone; null with no connection, or unpaired.
  const list = () => LINK.list();

  // What was left from before goes as soon as the page is there.
  LINK.push();

  return { add, list, newId, waiting };
})();
