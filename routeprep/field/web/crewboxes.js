// Things of the list as elements.  Every text goes in as textContent: nothing that a person typed
// is ever read as markup.
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

  const lines = (className, texts) => texts.filter(Boolean).map(
    (text) => make("p", className, text),
  );

  function tick(thing, isDone, onTick) {
    const element = button("tick", "", () => onTick(thing));
    element.setAttribute("aria-pressed", String(isDone));
    element.setAttribute("aria-label", `${thing.no} ticked`);
    element.append(make("span", "box", isDone ? "✓" : ""));
    return element;
  }

  const classes = (base, thing, isDone) => [
    base, thing.struck ? "struck" : "", isDone ? "done" : "", thing.boxed ? "stop" : "",
  ].filter(Boolean).join(" ");

  // What the thing is, where across and what to do: the same words in cards and list.
  function said(thing) {
    return [
      make("p", "what", thing.what),
      make("p", "where", thing.where),
      make("p", thing.boxed ? "do boxed" : "do", thing.do),
      ...lines("small", [thing.lift, thing.sub.join(" · ")]),
    ];
  }

  // A station of a named zero never stands without it; ± beside it.
  const station = (thing, zero) => make(
    "span", "station", [thing.station, zero, thing.plus_minus].filter(Boolean).join(" "),
  );

  const under = (thing, zero) => lines(
    "small", [thing.under.filter((one) => one !== zero).join(", ")],
  );

  function card(thing, far, { zero, isDone, onTick }) {
    const element = make("li", classes("card", thing, isDone));
    const head = make("p", "head");
    head.append(make("span", "far", far), make("span", "no", thing.no), station(thing, zero));
    element.append(
      head, tick(thing, isDone, onTick), ...said(thing), ...under(thing, zero),
      ...lines("note", thing.remarks),
    );
    return element;
  }

  function row(thing, { zero, isDone, onTick, onHere }) {
    const element = make("li", classes("row", thing, isDone));
    const here = button("here", "", () => onHere(thing));
    const head = make("p", "head");
    head.append(make("span", "no", thing.no), station(thing, zero));
    here.append(
      head, ...said(thing), ...under(thing, zero),
      ...lines("note", [thing.reference, ...thing.remarks]),
    );
    element.append(here, tick(thing, isDone, onTick));
    return element;
  }

  // What stands in the list between the things.
  function between(item) {
    const element = make("li", item.type);
    if (item.type === "withdrawn") {
      element.append(make("s", "no", item.no), make("span", "small", item.why));
    } else {
      element.append(make("p", "", item.text), ...lines("small", [item.under]));
    }
    return element;
  }

  return { between, button, card, lines, make, row };
})();
