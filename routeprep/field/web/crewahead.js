// What is ahead of a place in the direction that was picked, and what may still be.
"use strict";

const AHEAD = (() => {
  const CARDS = 3;

  // A distance for people, to 25 ft or 10 m.
  function far(list, metres) {
    const steps = Math.round(metres / list.unit_m / list.step);
    return `${(steps * list.step).toLocaleString("en-US")} ${list.unit}`;
  }

  const slack = (list) => (list.step * list.unit_m) / 2;

  // A way's things in the order met, each as this way words it.
  function met(leg, way) {
    return way.items
      .filter((item) => item.type === "thing")
      .map((item) => ({ ...leg.things[item.thing], ...item }));
  }

  // How far it is to where a thing begins and to where it ends, for who goes that way.
  function apart(thing, at, travel) {
    const [near, end] = travel > 0 ? [thing.from_m, thing.to_m] : [thing.to_m, thing.from_m];
    return { near: travel * (near - at), end: travel * (end - at) };
  }

  // The next band with how far it is: where the cut ends, a depth changes, or one lift begins.
  function nextBand(list, way, at) {
    const bands = way.items
      .filter((item) => item.type === "band" || item.type === "lift")
      .map((item) => ({ ...item, near: way.travel * (item.along_m - at) }));
    return bands.find((item) => item.near > -slack(list)) || null;
  }

  // Cards are the next three that stand; whatever is ticked stays among them.  Struck are those
  // passed over on the way to the third, inside are long things that the place lies in, behind
  // are those that were just passed if the ± of both places does not deceive.
  function ahead({ list, leg, way, place, done }) {
    const edge = slack(list);
    const all = met(leg, way)
      .map((thing) => ({ ...thing, ...apart(thing, place.along, way.travel) }));
    const standing = all.filter((thing) => !thing.struck);
    const coming = standing.filter((thing) => thing.near > -edge).sort((a, b) => a.near - b.near);
    const cards = coming.slice(0, CARDS);
    const reach = cards.length < CARDS ? Infinity : cards[CARDS - 1].near;
    const maybe = (thing) => thing.end > -Math.hypot(place.half, thing.half_m);
    return {
      cards,
      more: coming.length - cards.length,
      open: cards.some((thing) => done.has(thing.anchor))
        ? coming.slice(CARDS).find((thing) => !done.has(thing.anchor)) || null
        : null,
      struck: all.filter((thing) => thing.struck && thing.near > -edge && thing.near <= reach),
      inside: standing.filter((thing) => thing.near <= -edge && thing.end > -edge),
      behind: standing.filter((thing) => thing.end <= -edge && maybe(thing)),
      band: nextBand(list, way, place.along),
    };
  }

  // "HERE", "125 ft".
  const farTo = (list, thing) => (thing.near <= slack(list) ? "HERE" : far(list, thing.near));

  return { ahead, far, farTo, met };
})();
