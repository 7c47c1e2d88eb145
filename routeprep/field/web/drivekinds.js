// The words that a mark can hold: kinds as the office handed them out, or the usual ones where it
// never has; where across, as the person sees it.
"use strict";

const KINDS = (() => {
  // So many have a button of their own on the first screen.
  const FIRST = 6;
  // Before anything came from the office.  Common practice, no source.
  const USUAL = [
    ["manhole", "iron in the road"], ["WATER VALVE", "iron in the road"],
    ["GAS VALVE", "iron in the road"], ["catch basin", "iron in the road"],
    ["unknown valve", "iron in the road"], ["utility cover of unknown owner", "iron in the road"],
    ["storm inlet", "iron in the road"], ["vault", "iron in the road"],
    ["raised marker", "iron in the road"], ["iron under a patch", "iron in the road"],
    ["survey monument", "do not cut without the owner"],
    ["railroad crossing", "do not cut without the owner"],
    ["bridge joint", "do not cut without the owner"],
    ["steel plate", "do not cut without the owner"],
    ["traffic loop", "do not cut without the owner"],
    ["patch", "in the surface"], ["thin or soft spot", "in the surface"],
    ["concrete or brick below", "in the surface"], ["speed hump", "in the surface"],
    ["curb and gutter", "edges"], ["drop-off", "edges"], ["hydrant near the edge", "edges"],
    ["overhead wire", "overhead"], ["limb", "overhead"], ["bridge overhead", "overhead"],
    ["side street", "traffic and access"], ["school", "traffic and access"],
    ["bus stop", "traffic and access"], ["turnaround", "site"], ["sketchy spot", "sketchy spot"],
  ].map(([name, group]) => ({ name, group }));
  // As stored, and as the button says it.
  const ACROSS = [
    ["left wheel path", "left wheel path"], ["between wheel paths", "between wheel paths"],
    ["right wheel path", "right wheel path"],
    ["on the line", "on the line"], ["inner wheel path", "inner wheel path"],
    ["outer wheel path", "outer wheel path"],
    ["left side", "left side"], ["curb or edge", "curb or edge"], ["right side", "right side"],
    ["other side", "OTHER SIDE of the road"], ["whole road", "WHOLE ROAD"],
  ];

  function make(tag, className, text) {
    const element = document.createElement(tag);
    element.className = className || "";
    if (text !== undefined) {
      element.textContent = text;
    }
    return element;
  }

  function button(text, onClick, className) {
    const element = make("button", className, text);
    element.type = "button";
    element.addEventListener("click", onClick);
    return element;
  }

  const labelled = ({ name }) => name.charAt(0).toUpperCase() + name.slice(1);

  const buttons = (kinds, onKind) => kinds.map((kind) => (
    button(labelled(kind), () => onKind(kind))
  ));

  function show(first, rest, { kinds, onKind }) {
    const all = kinds?.length ? kinds : USUAL;
    first.replaceChildren(...buttons(all.slice(0, FIRST), onKind));
    const groups = [...new Set(all.map((kind) => kind.group))];
    rest.replaceChildren(...groups.flatMap((group) => [
      make("h2", "", group),
      ...buttons(all.filter((kind) => kind.group === group), onKind),
    ]));
  }

  function showAcross(box, onAcross) {
    box.replaceChildren(...ACROSS.map(([stored, text]) => {
      const element = button(text, () => onAcross(stored));
      element.dataset.across = stored;
      element.setAttribute("aria-pressed", "false");
      return element;
    }));
  }

  return { button, make, show, showAcross };
})();
