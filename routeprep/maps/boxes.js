// What is said of a thing or a place, as elements.  Every text goes in as textContent: nothing
// that a person typed is ever read as markup.
"use strict";

const BOXES = (() => {
  function make(name, className, text) {
    const element = document.createElement(name);
    if (className) {
      element.className = className;
    }
    if (text !== undefined) {
      element.textContent = text;
    }
    return element;
  }

  function button(className, text, action) {
    const element = make("button", className, text);
    element.type = "button";
    element.addEventListener("click", action);
    return element;
  }

  const count = (n, word, words = `${word}s`) => `${n} ${n === 1 ? word : words}`;
  const joined = (glue, ...parts) => parts.filter(Boolean).join(glue);

  function box(title, className, ...parts) {
    const element = make("div", className ? `said ${className}` : "said");
    element.append(make("h3", "", title), ...parts.filter(Boolean));
    return element;
  }

  function terms(pairs) {
    const list = make("dl");
    for (const [term, text] of pairs.filter((pair) => pair[1])) {
      const line = make("div");
      line.append(make("dt", "", term), make("dd", "", text));
      list.append(line);
    }
    return list;
  }

  function evidence(thing) {
    return joined(
      ", ",
      thing.seen ? `seen ${count(thing.seen, "time")}` : "",
      thing.marks ? count(thing.marks, "mark") : "",
      thing.records ? count(thing.records, "record") : "",
    );
  }

  // What reviewers said, a line each, as typed.
  function reviews(texts) {
    const list = make("ul", "reviews");
    list.append(...texts.map((text) => make("li", "", text)));
    return texts.length ? list : null;
  }

  function thing(one) {
    return box(
      `${one.no} ${one.what}`,
      one.struck ? "struck" : "",
      make("p", "station", joined(" ", one.station, one.zero, one.pm)),
      one.landmark && make("p", "", one.landmark),
      make("p", "do", one.do),
      terms([
        ["lift", one.lift],
        ["who", one.who],
        ["proposed", one.proposed],
        ["where", one.where],
        ["from, to", one.stretch],
        ["height", one.height],
        ["doubt", one.doubt],
        ["status", one.status],
        ["note", one.note],
        ["decided by", one.decided_by],
        ["evidence", evidence(one)],
        ["reference", one.reference],
        ["on the day", one.check],
      ]),
      one.reviews.length && make("p", "strong", count(one.reviews.length, "review")),
      reviews(one.reviews),
    );
  }

  function poor(stretch) {
    return box(
      "Poorly looked at", "", make("p", "station", `${stretch.leg} ${stretch.stretch}`),
      make("p", "", stretch.why),
    );
  }

  function look(place) {
    return box(
      "Look here again", "", make("p", "station", `${place.leg} ${place.station}`),
      make("p", "", joined(" ", place.no, place.what)),
      terms([["side", place.side], ["why", place.why], ["owner", place.owner]]),
    );
  }

  function unsorted(mark) {
    return box(
      mark.words || "(no words)", "", make("p", "do", "SORT BEFORE ISSUE"),
      terms([["why", mark.why], ["looks like", mark.looks_like], ["from", mark.source]]),
    );
  }

  // "35 ft before it" and the like, looking up-station.
  function apart(thingAlong, along) {
    const words = JOB.far(Math.abs(thingAlong - along));
    if (words.startsWith("0 ")) {
      return "at it";
    }
    return `${words} ${thingAlong < along ? "before" : "past"} it`;
  }

  function place(one, onThing) {
    const near = JOB.nearest(one.leg, one.along);
    return box(
      one.label, "", make("p", "", one.leg.name), make("p", "do", "a place on the line"),
      near && button(
        "pick", `nearest: ${near.no} ${near.what}, ${apart(near.along, one.along)}`,
        () => onThing(near),
      ),
    );
  }

  return { apart, button, count, joined, look, make, place, poor, thing, unsorted };
})();
