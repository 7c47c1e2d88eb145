// Draws the layers, the list and the popups from the page's data.  Every text goes in as
// textContent: nothing that a person typed is ever read as markup.
"use strict";

(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const map = map_job;
  const byId = (id) => document.getElementById(id);

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

  // --- head -------------------------------------------------------------------------------

  const { job } = data;
  byId("job").textContent = job.name;
  byId("issue").textContent = [
    job.number, `revision ${job.revision}`, job.date, `${data.things.length} things`,
  ].filter(Boolean).join(" \u00b7 ");
  if (!data.draft.length) {
    document.body.classList.remove("draft");
    byId("banner").remove();
  }

  // --- lines ------------------------------------------------------------------------------

  function unpacked(steps) {
    const points = [];
    let lat = 0;
    let lon = 0;
    for (let i = 0; i < steps.length; i += 2) {
      lat += steps[i];
      lon += steps[i + 1];
      points.push([lat / 1e6, lon / 1e6]);
    }
    return points;
  }

  function line(points, style) {
    L.polyline(points, { interactive: false, ...style }).addTo(map);
  }

  line(data.drives.map(unpacked), { color: "#8a8a8a", weight: 1, opacity: 0.6 });
  for (const leg of data.legs) {
    line(unpacked(leg.line), { color: "#000000", weight: 2, dashArray: leg.path_driven ? "8 5" : null });
    line(unpacked(leg.cut), { color: "#000000", weight: 9, opacity: 0.25, lineCap: "butt" });
  }
  for (const thing of data.things.filter((item) => item.span.length)) {
    line(unpacked(thing.span), { color: "#000000", weight: 5, lineCap: "butt" });
  }

  // --- what was poorly looked at: a striped band beside the line, whatever the scale ------------

  const bands = L.layerGroup().addTo(map);
  const BESIDE_PX = 11;
  const BAND_STEP_PX = 8;
  const TOUCH_PX = 44;

  // Points of the screen, no two nearer than a step but for the ends.
  function thinned(points) {
    const [first, ...rest] = points;
    const kept = [first];
    rest.forEach((point, i) => {
      if (i === rest.length - 1 || point.distanceTo(kept[kept.length - 1]) >= BAND_STEP_PX) {
        kept.push(point);
      }
    });
    return kept;
  }

  // The line moved to its right by a width on the screen.
  function beside(latLngs) {
    const points = thinned(latLngs.map((at) => map.project(at)));
    return points.map((point, i) => {
      const ahead = points[Math.min(i + 1, points.length - 1)];
      const way = ahead.subtract(points[Math.max(i - 1, 0)]);
      const size = Math.hypot(way.x, way.y) || 1;
      const right = L.point(-way.y, way.x).multiplyBy(BESIDE_PX / size);
      return map.unproject(point.add(right));
    });
  }

  function poorSaid(stretch) {
    const box = make("div", "said");
    box.append(make("h3", "", "Poorly looked at"), make("p", "station", stretch.stretch));
    box.append(make("p", "", stretch.why));
    return box;
  }

  function drawBands() {
    bands.clearLayers();
    for (const stretch of data.poor) {
      const path = beside(unpacked(stretch.span));
      const style = { color: "#000000", weight: 9, dashArray: "3 5", lineCap: "butt" };
      L.polyline(path, { interactive: false, ...style }).addTo(bands);
      L.polyline(path, { weight: TOUCH_PX, opacity: 0 })
        .on("click", (event) => popup(event.latlng, poorSaid(stretch)))
        .addTo(bands);
    }
  }

  // --- signs on the map, thinned so that letters stay readable ------------------------------

  const signs = L.layerGroup().addTo(map);
  const marks = data.unsorted.filter((mark) => mark.at.length);
  let chosen = null;

  // Ticks at 1, 2, 4, 10, ... times the step, whichever keeps them this far apart.
  const TICK_APART_PX = 110;
  const TICK_EVERY = [1, 2, 4, 10, 20, 40, 100, 200, 400, 1000];
  const GROUP_X_PX = 44;
  const GROUP_Y_PX = 52;

  function metresPerPixel() {
    const size = map.getSize();
    const left = map.containerPointToLatLng([0, size.y / 2]);
    const right = map.containerPointToLatLng([100, size.y / 2]);
    return map.distance(left, right) / 100;
  }

  function icon(content, className, width, height) {
    return L.divIcon({ html: content, className, iconSize: [width, height] });
  }

  // Where the words of a place may stand: beside the line, first on its left looking up-station,
  // and the words of a limit also outside the cut.
  function besides(place) {
    const lines = [place.text, place.zero].filter(Boolean);
    const width = Math.max(...lines.map((words) => words.length)) * 6.8 + 10;
    const height = lines.length * 15 + 4;
    const at = map.latLngToLayerPoint(place.at);
    return [-90, 90, ...place.outward].map((turn) => {
      const angle = ((place.bearing + turn) * Math.PI) / 180;
      const [east, south] = [Math.sin(angle), -Math.cos(angle)];
      const away = 14 + (Math.abs(east) * width + Math.abs(south) * height) / 2;
      const [x, y] = [east * away, south * away];
      return {
        x, y, left: at.x + x - width / 2, right: at.x + x + width / 2,
        top: at.y + y - height / 2, bottom: at.y + y + height / 2,
      };
    });
  }

  const apart = (a, b) =>
    a.right < b.left || b.right < a.left || a.bottom < b.top || b.bottom < a.top;

  function station(place, className, taken) {
    const edge = map.containerPointToLayerPoint([0, 0]);
    const { x: width, y: height } = map.getSize();
    const inside = (box) => box.left > edge.x && box.right < edge.x + width
      && box.top > edge.y && box.bottom < edge.y + height;
    const free = besides(place)
      .find((box) => inside(box) && taken.every((other) => apart(box, other)));
    const box = make("div", "across");
    const bar = make("span", "bar");
    bar.style.transform = `rotate(${place.bearing}deg)`;
    box.append(bar);
    if (free) {
      const words = make("span", "words", [place.text, place.zero].filter(Boolean).join("\n"));
      words.style.transform = `translate(-50%, -50%) translate(${free.x}px, ${free.y}px)`;
      box.append(words);
      taken.push(free);
    }
    L.marker(place.at, {
      icon: icon(box, className, 0, 0), interactive: false, keyboard: false, zIndexOffset: -2000,
    }).addTo(signs);
  }

  function drawStations(view, taken) {
    const perPixel = metresPerPixel();
    data.legs.flatMap((leg) => leg.limits)
      .forEach((limit) => station(limit, "limit", taken));
    for (const leg of data.legs) {
      const every = TICK_EVERY.find((n) => (n * leg.tick_m) / perPixel >= TICK_APART_PX) || 1000;
      leg.ticks
        .filter((tick) => tick.count % every === 0 && view.contains(tick.at))
        .forEach((tick) => station(tick, "tick", taken));
    }
  }

  // Things that would overlap on the screen stand under one sign; the first of them by weight is
  // shown, so that a stop is never hidden under something milder.
  function grouped(view) {
    const shown = data.things
      .map((thing, order) => ({ thing, order }))
      .filter(({ thing }) => view.contains(thing.at))
      .sort((a, b) => weight(b.thing) - weight(a.thing) || a.order - b.order);
    const cells = new Map();
    const groups = [];
    for (const { thing } of shown) {
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

  function weight(thing) {
    return (thing === chosen ? 2 : 0) + (thing.ringed ? 1 : 0);
  }

  function cell(point, dx, dy) {
    return `${Math.floor(point.x / GROUP_X_PX) + dx} ${Math.floor(point.y / GROUP_Y_PX) + dy}`;
  }

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

  function drawGroup({ things }) {
    const [first] = things;
    const box = make("div", first === chosen ? "sign chosen" : "sign");
    box.append(SIGNS.sign(first), make("span", "no", first.no));
    if (things.length > 1) {
      const stop = things.slice(1).some((thing) => thing.ringed);
      box.append(make("span", stop ? "more stop" : "more", `+${things.length - 1}`));
    }
    const marker = L.marker(first.at, {
      icon: icon(box, "", SIGNS.SIZE, SIGNS.SIZE), keyboard: false, riseOnHover: true,
      zIndexOffset: weight(first) * 500,
    });
    marker.on("click", () => (things.length > 1 ? open(things) : choose(first, "map")));
    marker.addTo(signs);
  }

  // A few things under one sign are offered by name; many are spread out by going nearer.
  function open(things) {
    const bounds = L.latLngBounds(things.map((thing) => thing.at));
    if (things.length > 6 && map.getBoundsZoom(bounds) > map.getZoom()) {
      map.fitBounds(bounds, { padding: [40, 60], maxZoom: 20 });
      return;
    }
    const box = make("div", "said");
    box.append(make("h3", "", `${things.length} things here`));
    for (const thing of [...things].sort((a, b) => data.things.indexOf(a) - data.things.indexOf(b))) {
      const button = make("button", "pick", `${thing.no} ${thing.what}`);
      button.type = "button";
      button.addEventListener("click", () => choose(thing, "map"));
      box.append(button);
    }
    popup(things[0].at, box);
  }

  function drawUnsorted(view) {
    for (const mark of marks.filter((item) => view.contains(item.at))) {
      const marker = L.marker(mark.at, {
        icon: icon(make("div", "unsorted", "?"), "", 44, 44), keyboard: false, zIndexOffset: -1000,
      });
      marker.on("click", () => popup(mark.at, unsortedSaid(mark)));
      marker.addTo(signs);
    }
  }

  function draw() {
    const view = map.getBounds().pad(0.1);
    signs.clearLayers();
    drawBands();
    const groups = grouped(view);
    const taken = groups.map(({ point: { x, y } }) => (
      { left: x - 26, right: x + 26, top: y - 26, bottom: y + 40 }
    ));
    drawStations(view, taken);
    drawUnsorted(view);
    groups.forEach(drawGroup);
  }

  // --- what the sheet says about a thing ----------------------------------------------------

  function count(n, word, words = `${word}s`) {
    return `${n} ${n === 1 ? word : words}`;
  }

  function evidence(thing) {
    return [
      thing.seen ? `seen ${count(thing.seen, "time")}` : "",
      count(thing.marks, "mark"),
      count(thing.records, "record"),
    ].filter(Boolean).join(", ");
  }

  function terms(box, pairs) {
    const list = make("dl");
    for (const [term, text] of pairs.filter((pair) => pair[1])) {
      list.append(make("dt", "", term), make("dd", "", text));
    }
    box.append(list);
  }

  function said(thing) {
    const box = make("div", thing.struck ? "said struck" : "said");
    box.append(make("h3", "", `${thing.no} ${thing.what}`));
    box.append(make("p", "station", [thing.station, thing.zero, thing.pm].filter(Boolean).join(" ")));
    box.append(make("p", "do", thing.do));
    terms(box, [
      ["who", thing.who],
      ["proposed", thing.proposed],
      ["decided by", thing.decided_by],
      ["where", thing.where],
      ["reference", thing.reference],
      ["stretch", thing.stretch],
      ["height", thing.height],
      ["doubt", thing.doubt],
      ["status", thing.status],
      ["note", thing.note],
      ["evidence", evidence(thing)],
    ]);
    return box;
  }

  function unsortedSaid(mark) {
    const box = make("div", "said");
    box.append(make("h3", "", mark.words || "(no words)"), make("p", "do", "SORT BEFORE ISSUE"));
    terms(box, [["why", mark.why], ["looks like", mark.looks_like], ["from", mark.source]]);
    return box;
  }

  function popup(at, content) {
    const size = map.getSize();
    map.openPopup(content, at, {
      offset: [0, -16], maxWidth: Math.min(300, size.x - 60), minWidth: 180,
      maxHeight: Math.max(140, size.y - 90), autoPanPadding: [12, 12],
    });
  }

  // --- list ---------------------------------------------------------------------------------

  const buttons = new Map();
  const things = new Map();

  const joined = (...parts) => parts.filter(Boolean).join("; ");

  function column(parts) {
    const box = make("span", "column");
    box.append(...parts.filter(Boolean));
    return box;
  }

  function row(thing) {
    const button = make("button", thing.struck ? "row struck" : "row");
    button.type = "button";
    button.tabIndex = -1;
    button.dataset.id = thing.id;
    const head = make("span", "line");
    head.append(make("span", "no", thing.no), make("span", "station", thing.station));
    head.append(make("span", "pm", thing.pm), make("span", "doubt", thing.doubt ? "?" : ""));
    button.append(
      column([head, thing.zero && make("span", "small", thing.zero)]),
      column([
        make("span", "what", thing.what),
        make("span", "small", joined(
          thing.where, thing.stretch, thing.height && `height ${thing.height}`,
        )),
      ]),
      column([
        make("span", thing.ringed ? "do boxed" : "do", thing.do),
        thing.who && make("span", "small", thing.who),
      ]),
      column([
        make("span", "small", joined(thing.status, thing.doubt && `doubt: ${thing.doubt}`)),
        thing.note && make("span", "note", thing.note),
      ]),
    );
    button.addEventListener("click", () => choose(thing, "list"));
    buttons.set(thing, button);
    things.set(button, thing);
    return button;
  }

  for (const leg of data.legs) {
    const section = make("section", "leg");
    section.append(make("h2", "", `${leg.code}  ${leg.name}`));
    section.append(
      make("p", "small", `Cut from ${leg.cut_from} to ${leg.cut_to}. `
        + `Line ${leg.length}, looking ahead on stationing.`),
    );
    if (leg.path_driven) {
      section.append(make("p", "small strong", "Path driven, not plan centerline."));
    }
    if (leg.designed) {
      section.append(make("p", "small", "Designed alignment: stations keep the plan's lengths."));
    }
    const poor = data.poor.filter((stretch) => stretch.leg === leg.code).length;
    if (poor) {
      const many = count(poor, "stretch", "stretches");
      section.append(make("p", "small strong", `Poorly looked at: ${many}, after the list.`));
    }
    const list = make("ol");
    for (const thing of data.things.filter((item) => item.leg === leg.code)) {
      const item = make("li");
      item.append(row(thing));
      list.append(item);
    }
    section.append(list);
    byId("list").append(section);
  }

  const order = data.things.map((thing) => buttons.get(thing));
  const visible = () => order.filter((button) => !button.parentElement.hidden);

  function stay(button) {
    order.forEach((other) => { other.tabIndex = -1; });
    if (button) {
      button.tabIndex = 0;
    }
  }

  function choose(thing, from) {
    if (chosen) {
      buttons.get(chosen).removeAttribute("aria-current");
    }
    chosen = thing;
    const button = buttons.get(thing);
    if (button.parentElement.hidden) {
      clearSearch();
    }
    button.setAttribute("aria-current", "true");
    stay(button);
    if (from === "list") {
      map.setView(thing.at, Math.max(map.getZoom(), 18), { animate: false });
    } else {
      button.scrollIntoView({ block: "nearest" });
    }
    draw();
    popup(thing.at, said(thing));
  }

  byId("list").addEventListener("keydown", (event) => {
    const rows = visible();
    const at = rows.indexOf(document.activeElement);
    const to = { ArrowDown: at + 1, ArrowUp: at - 1, Home: 0, End: rows.length - 1 }[event.key];
    if (at < 0 || to === undefined) {
      return;
    }
    event.preventDefault();
    const button = rows[Math.min(Math.max(to, 0), rows.length - 1)];
    stay(button);
    button.focus();
  });

  // --- search by number or station ----------------------------------------------------------

  const plain = (text) => text.toLowerCase().replace(/[\s-]/g, "");

  function stationNumber(text) {
    const match = /^(-?\d+)\+(\d+(?:\.\d+)?)$/.exec(text.trim());
    return match ? Number(match[1] + match[2]) : NaN;
  }

  function nearest(wanted) {
    return data.legs.flatMap((leg) => {
      const here = data.things.filter((thing) => thing.leg === leg.code);
      const far = (thing) => Math.abs(stationNumber(thing.station) - wanted);
      return here.sort((a, b) => far(a) - far(b)).slice(0, 1);
    });
  }

  function found(text) {
    const asked = plain(text);
    const hits = data.things.filter(
      (thing) => plain(thing.no).startsWith(asked) || plain(thing.station).startsWith(asked),
    );
    const wanted = stationNumber(text);
    if (hits.length || Number.isNaN(wanted)) {
      return [hits, `${hits.length} of ${data.things.length} shown`];
    }
    return [nearest(wanted), `nothing listed at ${text.trim()}; the nearest of each leg is shown`];
  }

  function search() {
    const text = byId("find").value;
    const [hits, message] = text.trim() ? found(text) : [data.things, ""];
    const kept = new Set(hits);
    data.things.forEach((thing) => { buttons.get(thing).parentElement.hidden = !kept.has(thing); });
    byId("found").textContent = message;
    stay(visible()[0]);
  }

  function clearSearch() {
    byId("find").value = "";
    search();
  }

  byId("find").addEventListener("input", search);
  byId("find").addEventListener("keydown", (event) => {
    const [first] = visible();
    if (first && event.key === "Enter") {
      choose(things.get(first), "list");
    } else if (first && event.key === "ArrowDown") {
      event.preventDefault();
      first.focus();
    }
  });

  // --- what is left, legend, print ------------------------------------------------------------

  function end(title, items) {
    if (!items.length) {
      return;
    }
    const section = make("section", "end");
    const list = make("ul");
    section.append(make("h2", "", `${title} (${items.length})`), list);
    for (const item of items) {
      const entry = make("li");
      entry.append(item);
      list.append(entry);
    }
    byId("rest").append(section);
  }

  function unsortedEntry(mark) {
    const entry = make(mark.at.length ? "button" : "div", "row");
    entry.append(make("span", "what", mark.words || "(no words)"), make("span", "small", mark.why));
    if (mark.looks_like) {
      entry.append(make("span", "small", `looks like ${mark.looks_like}`));
    }
    entry.append(make("span", "small", mark.source));
    if (mark.at.length) {
      entry.type = "button";
      entry.addEventListener("click", () => {
        map.setView(mark.at, Math.max(map.getZoom(), 18), { animate: false });
        popup(mark.at, unsortedSaid(mark));
      });
    }
    return entry;
  }

  function poorEntry(stretch) {
    const entry = make("button", "row");
    entry.type = "button";
    entry.append(
      make("span", "what", `${stretch.leg} ${stretch.stretch}`), make("span", "small", stretch.why),
    );
    entry.addEventListener("click", () => {
      const bounds = L.latLngBounds(unpacked(stretch.span));
      map.fitBounds(bounds, { padding: [64, 44], maxZoom: 18, animate: false });
      popup(stretch.at, poorSaid(stretch));
    });
    return entry;
  }

  const text = (parts) => make("p", "", parts.filter(Boolean).join(": "));
  end("Poorly looked at", data.poor.map(poorEntry));
  end("Sort before issue", data.unsorted.map(unsortedEntry));
  end("Not on the list", data.elsewhere.map((item) => text([item.name, item.why, item.source])));
  end("Numbers no longer alone", data.withdrawn.map((item) => text([item.no, item.why])));
  end("Why this is a draft", data.draft.map((reason) => text([reason])));

  function legendRow(thing, words) {
    const entry = make("div", "legend");
    entry.append(SIGNS.sign({ group: 0, code: "", colour: "", ...thing }), make("span", "", words));
    byId("signs").append(entry);
  }

  data.groups.forEach((group, i) => legendRow({ group: i }, group));
  legendRow({ ringed: true }, "ringed: STOP, or NOT DECIDED");
  legendRow({ hollow: true }, "hollow: in a file, not seen");
  legendRow({ broken: true }, "broken outline: lane not sure");
  legendRow({ struck: true }, "struck through: gone");
  for (const colour of Object.keys(SIGNS.COLOURS)) {
    if (data.things.some((thing) => thing.colour === colour)) {
      legendRow({ colour }, `${colour} band: ${SIGNS.OWNERS[colour]}`);
    }
  }
  byId("signs").append(
    make("p", "small", "+3 beside a sign: three more things under it; white on black: a STOP or NOT DECIDED "
      + "among them. Dotted ?: sort before issue. "
      + "Grey band: the cut. Thin grey lines: drives. Dashed line: path driven, not plan centerline. "
      + "Striped band beside the line: poorly looked at."),
  );

  function whole() {
    map.fitBounds(data.bounds, { padding: [64, 44], maxZoom: 18, animate: false });
  }

  byId("whole").addEventListener("click", () => {
    map.closePopup();
    whole();
  });

  let kept = null;
  window.addEventListener("beforeprint", () => {
    kept = { at: map.getCenter(), zoom: map.getZoom(), legend: byId("legend").open };
    map.closePopup();
    clearSearch();
    document.body.classList.add("printing");
    byId("legend").open = true;
    map.invalidateSize({ animate: false });
    whole();
    draw();
  });
  window.addEventListener("afterprint", () => {
    document.body.classList.remove("printing");
    byId("legend").open = kept.legend;
    map.invalidateSize({ animate: false });
    map.setView(kept.at, kept.zoom, { animate: false });
  });

  map.on("moveend", draw);
  stay(order[0]);
  whole();
  draw();
})();
