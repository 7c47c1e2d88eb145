// Wires the page: what is chosen, what is shown, day and night, tiles, printing.
"use strict";

const MAP = (() => {
  const { button, count, joined, make } = BOXES;
  const map = map_job;
  const byId = (id) => document.getElementById(id);
  const root = document.documentElement;

  const NEAR_ZOOM = 18;
  const FIT = {
    paddingTopLeft: [64, 48], paddingBottomRight: [64, 68], maxZoom: NEAR_ZOOM, animate: false,
  };
  let ALL = new Set();

  const layers = {
    drives: true, lanes: true, passes: true, landmarks: true, poor: true, unsorted: true, look: false,
  };
  let chosen = null;
  let place = null;
  // A leg or a sort narrows map and list; a search narrows the list alone, so that nothing beside
  // what was looked for is hidden on the map.
  let drawn = ALL;
  let listed = ALL;
  let answer = null;
  let printing = false;

  // --- head -------------------------------------------------------------------------------

  function head() {
    const { credits, draft, job } = JOB;
    byId("job").textContent = job.name;
    byId("issue").textContent = joined(
      " \u00b7 ", job.number, `revision ${job.revision}`, job.shift,
      count(JOB.things.length, "thing"),
    );
    byId("credits").textContent = credits.length ? `Street names: ${credits.join("; ")}` : "";
    document.body.classList.toggle("draft", draft.length > 0);
    byId("banner").hidden = !draft.length;
  }

  // --- drawing ----------------------------------------------------------------------------

  function popup(at, content) {
    const size = map.getSize();
    map.openPopup(content, at, {
      offset: [0, -16], maxWidth: Math.min(320, size.x - 142), minWidth: 180,
      maxHeight: Math.max(140, size.y - 140), autoPanPaddingTopLeft: [66, byId("partly").hidden ? 12 : 44],
      autoPanPaddingBottomRight: [54, 84],
    });
  }

  // Whatever moves the map has it drawn again.
  function near(at) {
    openMap();
    map.setView(at, Math.max(map.getZoom(), NEAR_ZOOM), { animate: false });
  }

  const onPoor = (stretch, at) => popup(at, BOXES.poor(stretch));
  const onUnsorted = (mark) => popup(mark.at, BOXES.unsorted(mark));
  const onLook = (one) => popup(one.at, BOXES.look(one));

  // A round length that fits, in feet or metres.
  function drawScale() {
    const us = JOB.job.units === "us";
    const perPixel = LINES.metresPerPixel() / (us ? 0.3048 : 1);
    const most = perPixel * 110;
    const power = 10 ** Math.floor(Math.log10(most));
    const length = [5, 2, 1].map((n) => n * power).find((n) => n <= most);
    byId("scale").style.width = `${length / perPixel}px`;
    byId("scale").textContent = `${length.toLocaleString("en-US")} ${us ? "ft" : "m"}`;
  }

  function draw() {
    LINES.drawScaled(layers, onPoor);
    LABELS.draw({
      things: printing ? ALL : drawn, chosen, place, layers, onLook, onUnsorted, onThings: open,
      onThing: (thing) => choose(thing, "map"),
    });
    drawScale();
  }

  function redraw() {
    LINES.drawFixed(layers);
    draw();
  }

  // A few things under one sign are offered by name; many are spread out by going nearer.
  function open(things) {
    const bounds = L.latLngBounds(things.map((thing) => thing.at));
    if (things.length > LABELS.MANY && map.getBoundsZoom(bounds) > map.getZoom()) {
      map.fitBounds(bounds, { padding: [40, 60], maxZoom: 20, animate: false });
      return;
    }
    const box = make("div", "said");
    box.append(make("h3", "", `${things.length} things here`));
    for (const thing of [...things].sort((a, b) => a.order - b.order)) {
      box.append(button("pick", `${thing.no} ${thing.what}`, () => choose(thing, "map")));
    }
    popup(things[0].at, box);
  }

  // --- choosing ---------------------------------------------------------------------------

  function choose(thing, from) {
    if (!drawn.has(thing)) {
      showAll();
    } else if (!listed.has(thing)) {
      byId("find").value = "";
      show();
    }
    LIST.choose(thing, chosen, from !== "list");
    chosen = thing;
    if (from === "map") {
      draw();
    } else {
      near(thing.at);
    }
    popup(thing.at, BOXES.thing(thing));
    document.dispatchEvent(new CustomEvent("chosen", { detail: thing.id }));
  }

  function goTo(one) {
    place = one;
    near(one.at);
    popup(one.at, BOXES.place(one, (thing) => choose(thing, "place")));
  }

  // --- what is shown: search, leg, and what it is ---------------------------------------------

  const ONLY = [
    ["", "everything"],
    ["stop undecided", "every STOP"],
    ["undecided", "not decided"],
    ["doubt", "in doubt"],
    ["hollow", "in a file, not seen"],
    ["lowered", "lowered"],
    ["struck", "gone"],
  ];

  const isOf = (thing, keys) => !keys || keys.split(" ").some((key) => thing[key]);

  function option(value, words) {
    const element = make("option", "", words);
    element.value = value;
    return element;
  }

  // What was picked stays picked, if it is still offered.
  function offer(id, options) {
    const { value } = byId(id);
    byId(id).replaceChildren(...options);
    byId(id).value = options.some((one) => one.value === value) ? value : "";
  }

  function options() {
    offer("leg", [
      option("", "all legs"),
      ...JOB.legs.map((leg) => option(leg.code, `${leg.code} ${leg.name}`)),
    ]);
    byId("leg").hidden = JOB.legs.length < 2;
    offer("only", ONLY.map(([key, words]) => {
      const many = JOB.things.filter((thing) => isOf(thing, key)).length;
      return option(key, `${words} (${many})`);
    }));
  }

  function said() {
    if (answer && answer.places.length) {
      return `${count(answer.places.length, "place")} on the line; the list goes to the nearest thing`;
    }
    return (answer && answer.nothing) || `${listed.size} of ${JOB.things.length} in the list`;
  }

  function offered() {
    const places = answer ? answer.places : [];
    byId("places").replaceChildren(...places.map((one) => {
      const thing = JOB.nearest(one.leg, one.along);
      const words = thing ? `nearest: ${thing.no}, ${BOXES.apart(thing.along, one.along)}` : "";
      return button("pick", joined(" \u2013 ", one.label, words), () => goTo(one));
    }));
  }

  // What is scrolled to must not lie under the search, which stays at the top.
  function clear() {
    byId("side").style.scrollPaddingTop = `${byId("finder").offsetHeight}px`;
  }

  function show() {
    const text = byId("find").value.trim();
    const [leg, only] = [byId("leg").value, byId("only").value];
    answer = text ? FINDER.ask(text) : null;
    place = null;
    drawn = new Set(JOB.things.filter((thing) => (
      (!leg || thing.leg === leg) && isOf(thing, only)
    )));
    const asked = answer && !answer.places.length ? answer.things : JOB.things;
    listed = new Set(asked.filter((thing) => drawn.has(thing)));
    byId("found").textContent = text || leg || only ? said() : "";
    byId("all").hidden = !(text || leg || only);
    byId("partly").hidden = !(leg || only);
    byId("partly").textContent = `Only ${drawn.size} of ${JOB.things.length} drawn`;
    map.closePopup();
    offered();
    clear();
    LIST.show(listed);
    if (answer && answer.places.length) {
      LIST.goTo(answer.things.find((thing) => listed.has(thing)));
    }
    draw();
  }

  function showAll() {
    ["find", "leg", "only"].forEach((id) => { byId(id).value = ""; });
    show();
  }

  byId("find").addEventListener("input", show);
  byId("find").addEventListener("keydown", (event) => {
    if (event.key === "ArrowDown" && LIST.first()) {
      event.preventDefault();
      LIST.focus(LIST.first());
    } else if (event.key === "Enter" && answer && answer.places.length) {
      goTo(answer.places[0]);
    } else if (event.key === "Enter" && LIST.first()) {
      choose(answer && listed.has(answer.exact) ? answer.exact : LIST.first(), "find");
    }
  });
  byId("leg").addEventListener("change", show);
  byId("only").addEventListener("change", show);
  byId("all").addEventListener("click", () => {
    showAll();
    byId("find").focus();
  });

  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && byId("map_job").querySelector(".leaflet-popup")) {
      const inside = byId("map_job").contains(document.activeElement);
      map.closePopup();
      if (inside) {
        LIST.focus(chosen);
      }
    }
  });

  // --- layers and legend ------------------------------------------------------------------

  function layer(key, words, known) {
    if (!known) {
      return;
    }
    const label = make("label");
    const box = make("input");
    box.type = "checkbox";
    box.checked = layers[key];
    box.addEventListener("change", () => {
      layers[key] = box.checked;
      byId("lookend")?.toggleAttribute("hidden", !layers.look);
      redraw();
    });
    label.append(box, make("span", "", words));
    byId("layers").append(label);
  }

  function sample(thing, words) {
    const entry = make("div", "sample");
    const sign = SIGNS.sign({ group: 0, code: "", colour: "", ...thing });
    entry.append(sign, make("span", "", words));
    byId("signs").append(entry);
  }

  function stroke(className, words) {
    const entry = make("div", "sample");
    entry.append(make("i", className), make("span", "", words));
    byId("signs").append(entry);
  }

  function buildLegend() {
    byId("layers").replaceChildren();
    byId("signs").replaceChildren();
    layer("drives", "drives, thin grey lines", JOB.drives.length);
    layer("lanes", "lanes, when near", true);
    layer("passes", "passes, thin outlines; names when near", JOB.passes.length);
    layer("landmarks", "cross streets", JOB.legs.some((leg) => leg.landmarks.length));
    layer("poor", "poorly looked at", JOB.poor.length);
    layer("unsorted", "sort before issue", JOB.unsorted.length);
    layer("look", "look here again, for who goes out", JOB.look.length);
    JOB.groups.forEach((group, i) => sample({ group: i }, group));
    sample({ ringed: true }, "ringed: STOP, or NOT DECIDED");
    sample({ hollow: true }, "hollow: in a file, not seen");
    sample({ broken: true }, "broken outline: lane not sure");
    sample({ lowered: true }, "arrow down: lowered, still there");
    sample({ struck: true }, "struck through: gone");
    for (const colour of Object.keys(SIGNS.COLOURS)) {
      if (JOB.things.some((thing) => thing.colour === colour)) {
        sample({ colour }, `${colour} band: ${SIGNS.OWNERS[colour]}`);
      }
    }
    stroke("cut", "grey band: the cut, from its begin to its end");
    if (JOB.legs.some((leg) => leg.path_driven)) {
      stroke("dashed", "dashed line: path driven, not plan centerline");
    }
    stroke("striped", "striped band beside the line: poorly looked at");
    byId("signs").append(make(
      "p", "small", "+3 beside a sign: three more things under it, dots where they are. A plate counts the "
      + "things under it, and the STOP and NOT DECIDED among them. White on black: one is. Dotted ?: "
      + "sort before issue. Lanes are drawn as the job gives their width and number; nobody measured "
      + "them.",
    ));
  }

  // --- the whole job, more list, day and night, tiles ---------------------------------------------

  function whole() {
    map.fitBounds(JOB.bounds, FIT);
  }

  byId("whole").addEventListener("click", () => {
    map.closePopup();
    whole();
  });

  function split(listy) {
    document.body.classList.toggle("listy", listy);
    byId("split").textContent = listy ? "More map" : "More list";
    map.invalidateSize({ animate: false });
    draw();
  }

  function openMap() {
    if (document.body.classList.contains("listy")) {
      split(false);
    }
  }

  byId("split").addEventListener("click", () => (
    split(!document.body.classList.contains("listy"))
  ));

  const dark = matchMedia("(prefers-color-scheme: dark)");

  function light(which) {
    root.dataset.light = which;
    byId("light").textContent = which === "night" ? "Day" : "Night";
  }

  const byDevice = () => {
    light(dark.matches ? "night" : "day");
    redraw();
  };
  byId("light").addEventListener("click", () => {
    dark.removeEventListener("change", byDevice);
    light(root.dataset.light === "night" ? "day" : "night");
    redraw();
  });
  dark.addEventListener("change", byDevice);

  // Tiles are asked for only where there is a network; nothing waits for them.
  function addTiles({ address, credit }) {
    // Most sources have tiles down to zoom 18; nearer than that they are enlarged.
    const tiles = L.tileLayer(address, { maxNativeZoom: 18, maxZoom: map.getMaxZoom() });
    const add = () => {
      tiles.addTo(map);
      byId("credit").textContent = credit;
    };
    if (navigator.onLine) {
      add();
    }
    window.addEventListener("online", add);
    window.addEventListener("offline", () => {
      tiles.remove();
      byId("credit").textContent = "";
    });
  }

  // --- print: the whole job on white, whatever was shown ------------------------------------------

  let before = null;
  function print(on) {
    printing = on;
    document.body.classList.toggle("printing", on);
    root.dataset.light = on ? "day" : before.light;
    byId("legend").open = on || before.legend;
    LINES.draftFor(on);
    LIST.show(on ? ALL : listed);
    map.invalidateSize({ animate: false });
  }

  window.addEventListener("beforeprint", () => {
    before = {
      at: map.getCenter(), zoom: map.getZoom(), legend: byId("legend").open,
      light: root.dataset.light,
    };
    map.closePopup();
    print(true);
    LINES.drawFixed(layers);
    whole();
  });
  window.addEventListener("afterprint", () => {
    print(false);
    LINES.drawFixed(layers);
    map.setView(before.at, before.zoom, { animate: false });
  });

  const rest = {
    onPoor: (stretch) => {
      openMap();
      map.fitBounds(L.latLngBounds(stretch.span), FIT);
      onPoor(stretch, stretch.at);
    },
    onLook: (one) => { near(one.at); onLook(one); },
    onUnsorted: (mark) => { near(mark.at); onUnsorted(mark); },
  };

  // Everything that hangs on the data: at the start, and again for other data of the same job.
  function take(data) {
    const id = chosen && chosen.id;
    JOB = unpackedJob(data);
    ALL = new Set(JOB.things);
    chosen = JOB.things.find((thing) => thing.id === id) || null;
    head();
    options();
    LIST.build((thing) => choose(thing, "list"));
    LIST.buildRest(rest);
    byId("lookend")?.toggleAttribute("hidden", !layers.look);
    buildLegend();
    LINES.drawFixed(layers);
  }

  // Other data under the same view: what was chosen, picked and looked for stays.
  function renew(data) {
    take(data);
    show();
    if (chosen) {
      LIST.choose(chosen, null, false);
      popup(chosen.at, BOXES.thing(chosen));
    }
  }

  function start(data) {
    take(data);
    drawn = ALL;
    listed = ALL;
    light(dark.matches ? "night" : "day");
    if (JOB.tiles) {
      addTiles(JOB.tiles);
    }
    map.on("moveend", draw);
    whole();
    clear();
    performance.mark("drawn");
  }

  return { choose, map, renew, start };
})();

// A page that is given its data later has none here.
{
  const text = document.getElementById("data").textContent.trim();
  if (text) {
    MAP.start(JSON.parse(text));
  }
}
