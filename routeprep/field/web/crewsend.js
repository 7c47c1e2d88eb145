// How the crew page reaches the outbox and the office: no other of its parts names them.
"use strict";

const SEND = (() => {
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

  // Whether the office has said that the pairing has ended.
  const ended = () => LINK.state.ended;

  // What was left from before goes as soon as the page is there.
  LINK.push();

  return { add, ended, list, newId: OUTBOX.newId, waiting };
})();
