// The signs of the map: shape and letters carry the meaning, colour is a second cue.
"use strict";

const SIGNS = (() => {
  const NS = "http://www.w3.org/2000/svg";
  const SIZE = 52;
  const MID = SIZE / 2;
  // Black and white by day, turned round by night.
  const INK = "var(--ink)";
  const PAPER = "var(--paper)";
  const BODY = "var(--body)";

  // A shape for each group of kinds, in the order of the groups; corners in units of the radius.
  const SHAPES = [
    { circle: 1.05, drop: 0 },
    { corners: [[-0.95, -0.95], [0.95, -0.95], [0.95, 0.95], [-0.95, 0.95]], drop: 0 },
    { corners: [[0, -1.25], [1.25, 0], [0, 1.25], [-1.25, 0]], drop: 0 },
    { corners: [[-0.6, -0.95], [0.6, -0.95], [1.2, 0], [0.6, 0.95], [-0.6, 0.95], [-1.2, 0]], drop: 0 },
    { corners: [[0, -1.25], [1.3, 0.9], [-1.3, 0.9]], drop: 0.32 },
    { corners: [[0, -1.15], [1.05, -0.35], [1.05, 0.95], [-1.05, 0.95], [-1.05, -0.35]], drop: 0.2 },
    { corners: [[-1.05, -0.95], [1.05, -0.95], [1.05, 0.3], [0, 1.2], [-1.05, 0.3]], drop: -0.2 },
    {
      corners: [
        [-0.5, -1.15], [0.5, -1.15], [0.5, -0.55], [1.2, -0.55], [1.2, 0.55], [0.5, 0.55],
        [0.5, 1.15], [-0.5, 1.15], [-0.5, 0.55], [-1.2, 0.55], [-1.2, -0.55], [-0.5, -0.55],
      ],
      drop: 0,
    },
    { corners: [[-1.3, -0.9], [1.3, -0.9], [0, 1.25]], drop: -0.32 },
  ];

  // Screen colours for the APWA uniform colour code (ANSI Z535.1); approximations, from memory.
  const COLOURS = {
    red: "#c8102e",
    yellow: "#ffd100",
    orange: "#ff8200",
    blue: "#0057b8",
    purple: "#7b2d8b",
    green: "#00843d",
    pink: "#ff5fa2",
    white: "#ffffff",
  };

  const OWNERS = {
    red: "electric",
    yellow: "gas, oil, steam",
    orange: "communications",
    blue: "potable water",
    purple: "reclaimed water, irrigation",
    green: "sewer, drain",
    pink: "survey",
    white: "proposed excavation",
  };

  // Letters shrink so that longer codes stay inside; from five on they stand in two lines.
  const LETTERS_PX = { 1: 16, 2: 14, 3: 12, 4: 10 };
  const TWO_LINES_FROM = 5;
  const TWO_LINES_PX = 10;

  function draw(name, attributes) {
    const element = document.createElementNS(NS, name);
    for (const [key, value] of Object.entries(attributes)) {
      element.setAttribute(key, String(value));
    }
    return element;
  }

  function outline(shape, radius, attributes) {
    if (shape.circle) {
      return draw("circle", { cx: MID, cy: MID, r: shape.circle * radius, ...attributes });
    }
    const points = shape.corners
      .map(([x, y]) => `${MID + x * radius},${MID + y * radius}`)
      .join(" ");
    return draw("polygon", { points, "stroke-linejoin": "round", ...attributes });
  }

  // Their rim in the colour of the body keeps them readable where they reach over the band.
  function letters(code, drop, [body, ink]) {
    const half = Math.ceil(code.length / 2);
    const lines = code.length < TWO_LINES_FROM ? [code] : [code.slice(0, half), code.slice(half)];
    const size = lines.length > 1 ? TWO_LINES_PX : LETTERS_PX[code.length];
    return lines.filter(Boolean).map((words, i) => {
      const text = draw("text", {
        x: MID,
        y: MID + drop + (i - (lines.length - 1) / 2) * TWO_LINES_PX,
        "text-anchor": "middle",
        "dominant-baseline": "central",
        "font-family": "Arial, Helvetica, sans-serif",
        "font-weight": 700,
        "font-size": size,
        fill: ink,
        stroke: body,
        "stroke-width": 2.5,
        "paint-order": "stroke",
      });
      text.textContent = words;
      return text;
    });
  }

  // A stroke through what is gone, wide enough to be seen over the letters.
  function through() {
    return [[PAPER, 6], [INK, 3]].map(([stroke, width]) => (
      draw("line", { x1: 6, y1: 46, x2: 46, y2: 6, stroke, "stroke-width": width })
    ));
  }

  // An arrow down at the lower right: the casting is still there, below the surface.
  function lowered() {
    return draw("path", {
      d: "M40 28 v10 h-5 l8 10 8 -10 h-5 v-10 z", fill: INK, stroke: PAPER, "stroke-width": 1.5,
    });
  }

  // From outside in: ring (stop or not decided), edge (broken: lane not sure), band in the owner's
  // colour, body (as the paper: in a file, not seen), letters; arrow (lowered), stroke (gone).
  function sign(thing) {
    const svg = draw("svg", {
      viewBox: `0 0 ${SIZE} ${SIZE}`, width: SIZE, height: SIZE, "aria-hidden": "true",
    });
    const shape = SHAPES[thing.group];
    const band = COLOURS[thing.colour] || PAPER;
    if (thing.ringed) {
      const ring = { r: 24, fill: PAPER, stroke: INK, "stroke-width": 3 };
      svg.append(draw("circle", { cx: MID, cy: MID, ...ring }));
    }
    svg.append(outline(shape, 16.5, { fill: PAPER, stroke: PAPER, "stroke-width": 4 }));
    const edge = { fill: band, stroke: INK, "stroke-width": 1.8 };
    if (thing.broken) {
      edge["stroke-dasharray"] = "4 4";
    }
    svg.append(outline(shape, 16.5, edge));
    const [body, ink] = thing.hollow ? [PAPER, INK] : [BODY, PAPER];
    svg.append(outline(shape, 12.5, { fill: body, stroke: body, "stroke-width": 1 }));
    svg.append(...letters(thing.code, shape.drop * 14, [body, ink]));
    if (thing.lowered) {
      svg.append(lowered());
    }
    if (thing.struck) {
      svg.append(...through());
    }
    return svg;
  }

  return { COLOURS, OWNERS, SIZE, sign };
})();
