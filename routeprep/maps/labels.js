// Signs and words on the map, thinned so that what is shown can be read.
"use strict";

const LABELS = (() => {
  const { make } = BOXES;
  const map = map_job;
  const signs = L.layerGroup().addTo(map);

  // Ticks stand at multiples of their step, whichever keeps them this far apart.
  const TICK_APART_PX = 110;
  const GROUP_X_PX = 54;
  const GROUP_Y_PX = 56;
  const LETTER_PX = 7.4;
  const LINE_PX = 15;
  // How far from the line words may stand: close by, or out past the signs that stand on it.
  const AWAY_PX = [14, 32, 46];
  // More things than this under one sign are counted instead of being named.
  const MANY = 6;
  // Names of passes stand on the map once a pixel is less than this [m], at one of so many places.
  const PASS_FROM = 0.3;
  const PASS_TRIED = 8;
  // Parts of the page that lie over the map.
  const OVER = ["#north", "#below", "#views", "#partly", ".leaflet-control-zoom"];

  function marker(at, content, [className, width, height], more) {
    const icon = L.divIcon({ html: content, className, iconSize: [width, height] });
    return L.marker(at, { icon, keyboard: false, ...more }).addTo(signs);
  }

  // Where the words of a place may stand: beside the line, first on its left looking up-station,
  // and the words of a limit also outside the cut.
  function besides(place) {
    const width = Math.max(...place.lines.map((words) => words.length)) * LETTER_PX + 10;
    const height = place.lines.length * LINE_PX + 4;
    return AWAY_PX.flatMap((gap) => [-90, 90, ...(place.outward || [])].map((turn) => {
      const angle = ((place.bearing + turn) * Math.PI) / 180;
      const [east, south] = [Math.sin(angle), -Math.cos(angle)];
      const away = gap + (Math.abs(east) * width + Math.abs(south) * height) / 2;
      return { gap, ...boxAt(place, L.point(east * away, south * away), [width, height]) };
    }));
  }

  function boxAt(place, { x, y }, [width, height]) {
    const at = map.latLngToLayerPoint(place.at);
    return {
      x, y, width, height, left: at.x + x - width / 2, right: at.x + x + width / 2,
      top: at.y + y - height / 2, bottom: at.y + y + height / 2,
    };
  }

  // How far a box must move to lie inside the map.
  function outside(box) {
    const edge = map.containerPointToLayerPoint([0, 0]);
    const { x: width, y: height } = map.getSize();
    return L.point(
      Math.max(0, edge.x - box.left) - Math.max(0, box.right - edge.x - width),
      Math.max(0, edge.y - box.top) - Math.max(0, box.bottom - edge.y - height),
    );
  }

  const apart = (a, b) =>
    a.right < b.left || b.right < a.left || a.bottom < b.top || b.bottom < a.top;

  // Of the boxes where the words would cover nothing, the first that lies inside the map, else
  // the first that does when it is moved in.
  function freeBox(place, taken) {
    const free = (box) => taken.every((other) => apart(box, other));
    const boxes = besides(place);
    const moved = boxes.map((box) => (
      { ...box, ...boxAt(place, outside(box).add([box.x, box.y]), [box.width, box.height]) }
    ));
    return boxes.find((box) => free(box) && outside(box).equals([0, 0])) || moved.find(free);
  }

  // A bar across the line, and its words where there is room for them; cross streets stand close
  // in a town, so that one without room for its name is left out.
  function across(place, className, taken) {
    const free = freeBox(place, taken);
    if (!free && className === "landmark") {
      return;
    }
    const box = make("div", "across");
    const bar = make("span", "bar");
    bar.style.transform = `rotate(${place.bearing}deg)`;
    box.append(bar);
    if (free) {
      // The bar reaches out to its words.
      const reach = free.gap - AWAY_PX[0];
      bar.style.padding = `0 ${reach}px`;
      bar.style.marginLeft = `${-reach}px`;
      const words = make("span", "words", place.lines.join("\n"));
      words.style.transform = `translate(-50%, -50%) translate(${free.x}px, ${free.y}px)`;
      box.append(words);
      taken.push(free);
    }
    marker(place.at, box, [className, 0, 0], { interactive: false, zIndexOffset: -2000 });
  }

  // The name of a leg beside it, at the first of a few places along where it covers nothing.
  const NAMED_AT = [0.5, 0.3, 0.7, 0.1, 0.9];

  function drawName(leg, taken) {
    const places = NAMED_AT.map((share) => JOB.signAt(leg, share));
    const boxes = places.flatMap((place) => (
      besides({ ...place, lines: [`${leg.code} ${leg.name}`] }).map((box) => ({ place, box }))
    ));
    const free = boxes.find(({ box }) => (
      outside(box).equals([0, 0]) && taken.every((other) => apart(box, other))
    ));
    if (free) {
      const words = make("span", "words", `${leg.code} ${leg.name}`);
      words.style.transform = `translate(-50%, -50%) translate(${free.box.x}px, ${free.box.y}px)`;
      const box = make("div", "across");
      box.append(words);
      marker(free.place.at, box, ["legname", 0, 0], { interactive: false, zIndexOffset: -2000 });
      taken.push(free.box);
    }
  }

  function drawStations(view, layers, taken) {
    const perPixel = LINES.metresPerPixel();
    const here = (one) => one.at.length && view.contains(one.at);
    const lines = (...words) => words.filter(Boolean);
    const coded = (leg) => (JOB.legs.length > 1 ? `${leg.code} ` : "");
    for (const leg of JOB.legs) {
      leg.limits.filter(here).forEach((limit) => (
        across({ ...limit, lines: lines(`${coded(leg)}${limit.text}`, leg.zero) }, "limit", taken)
      ));
    }
    JOB.legs.forEach((leg) => drawName(leg, taken));
    for (const leg of layers.landmarks ? JOB.legs : []) {
      leg.landmarks.filter(here).forEach((landmark) => (
        across({ ...landmark, lines: lines(landmark.text, landmark.side) }, "landmark", taken)
      ));
    }
    for (const leg of JOB.legs) {
      const { tick_every: steps, tick_m: tickM } = leg;
      const every = steps.find((n) => (n * tickM) / perPixel >= TICK_APART_PX) || steps.at(-1);
      leg.ticks.filter((tick) => tick.count % every === 0 && here(tick)).forEach((tick) => (
        across({ ...tick, lines: lines(tick.text, leg.zero) }, "tick", taken)
      ));
    }
  }

  // The name of a pass in its middle, as near to the middle of the map as it covers nothing.
  function drawPass(one, taken) {
    const against = one.against ? ", AGAINST TRAFFIC" : "";
    const text = `${one.words}, ${one.way}${against}`;
    const size = [text.length * LETTER_PX + 10, LINE_PX + 4];
    const middle = map.getCenter();
    const far = (at) => middle.distanceTo(L.latLng(at));
    const free = [...one.names].sort((a, b) => far(a) - far(b)).slice(0, PASS_TRIED)
      .map((at) => ({ at, box: boxAt({ at }, L.point(0, 0), size) }))
      .find(({ box }) => (
        outside(box).equals([0, 0]) && taken.every((other) => apart(box, other))
      ));
    if (free) {
      const words = make("span", "words", text);
      words.style.transform = "translate(-50%, -50%)";
      const box = make("div", "across");
      box.append(words);
      marker(free.at, box, ["passname", 0, 0], { interactive: false, zIndexOffset: -2000 });
      taken.push(free.box);
    }
  }

  const ringed = (thing) => thing.stop || thing.undecided;

  // Of things that would overlap, the chosen one is shown, else a decided stop, else one that
  // nobody decided: a stop is never hidden under something milder.
  const weight = (thing, chosen) =>
    (thing === chosen ? 4 : 0) + 2 * thing.stop + thing.undecided;

  const cell = (point, dx, dy) =>
    `${Math.floor(point.x / GROUP_X_PX) + dx} ${Math.floor(point.y / GROUP_Y_PX) + dy}`;

  function near(cells, point) {
    for (let dx = -1; dx <= 1; dx += 1) {
      for (let dy = -1; dy <= 1; dy += 1) {
        for (const group of cells.get(cell(point, dx, dy)) || []) {
          const apartX = Math.abs(group.point.x - point.x);
          const apartY = Math.abs(group.point.y - point.y);
          if (apartX < GROUP_X_PX && apartY < GROUP_Y_PX) {
            return group;
          }
        }
      }
    }
    return null;
  }

  // Things that would overlap on the screen stand under one sign.
  function grouped(things, view, chosen) {
    const shown = things
      .filter((thing) => view.contains(thing.at))
      .sort((a, b) => weight(b, chosen) - weight(a, chosen) || a.order - b.order);
    const cells = new Map();
    const groups = [];
    for (const thing of shown) {
      const point = map.latLngToLayerPoint(thing.at);
      const group = near(cells, point);
      if (group) {
        group.things.push(thing);
        continue;
      }
      const made = { point, things: [thing] };
      groups.push(made);
      const key = cell(point, 0, 0);
      cells.set(key, (cells.get(key) || []).concat(made));
    }
    return groups;
  }

  function plate(things) {
    const stops = things.filter(ringed).length;
    const box = make("div", "plate");
    box.append(make("span", "many", String(things.length)));
    if (stops) {
      box.append(make("span", "stops", `${stops} STOP`));
    }
    return box;
  }

  function named([first, ...rest], chosen) {
    const box = make("div", first === chosen ? "sign chosen" : "sign");
    box.append(SIGNS.sign({ ...first, ringed: ringed(first) }), make("span", "no", first.no));
    if (rest.length) {
      box.append(make("span", rest.some(ringed) ? "more stop" : "more", `+${rest.length}`));
    }
    return box;
  }

  function drawGroup({ things }, { chosen, onThing, onThings }) {
    const [first] = things;
    const counted = things.length > MANY && first !== chosen;
    const box = counted ? plate(things) : named(things, chosen);
    marker(first.at, box, ["", SIGNS.SIZE, SIGNS.SIZE], {
      riseOnHover: true, zIndexOffset: weight(first, chosen) * 500,
    }).on("click", () => (things.length > 1 ? onThings(things) : onThing(first)));
  }

  function small(at, className, words, action) {
    marker(at, make("div", className, words), ["", 44, 44], { zIndexOffset: -1000 })
      .on("click", action);
  }

  function over() {
    const { left: x, top: y } = map.getContainer().getBoundingClientRect();
    return OVER.map((one) => document.querySelector(one).getBoundingClientRect()).map((box) => {
      const first = map.containerPointToLayerPoint([box.left - x, box.top - y]);
      const last = map.containerPointToLayerPoint([box.right - x, box.bottom - y]);
      return { left: first.x, top: first.y, right: last.x, bottom: last.y };
    });
  }

  // What is asked for: the things to show, the chosen one, a place looked for, and the layers.
  function draw(asked) {
    const { layers, place, things, chosen } = asked;
    const view = map.getBounds().pad(0.1);
    signs.clearLayers();
    const groups = grouped([...things], view, chosen);
    const taken = over().concat(groups.map(({ point: { x, y } }) => (
      { left: x - 26, right: x + 26, top: y - 26, bottom: y + 40 }
    )));
    groups.forEach((group) => group.things.slice(1).forEach((thing) => LINES.dot(thing.at)));
    drawStations(view, layers, taken);
    if (layers.passes && LINES.metresPerPixel() < PASS_FROM) {
      JOB.passes.forEach((one) => drawPass(one, taken));
    }
    const here = (one) => one.at.length && view.contains(one.at);
    for (const mark of layers.unsorted ? JOB.unsorted.filter(here) : []) {
      small(mark.at, "unsorted", "?", () => asked.onUnsorted(mark));
    }
    for (const one of layers.look ? JOB.look.filter(here) : []) {
      small(one.at, "look", "LOOK", () => asked.onLook(one));
    }
    groups.forEach((group) => drawGroup(group, asked));
    if (place) {
      marker(place.at, make("div", "place"), ["", 44, 44], {
        interactive: false, zIndexOffset: 4000,
      });
    }
  }

  return { MANY, draw };
})();
