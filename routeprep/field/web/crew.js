// The crew page: the list that this phone keeps, what is ahead, ticks and finds.
"use strict";

(() => {
  const { between, button, card, lines, make, row } = BOXES;
  const { byId, clock, keep, since, state, trouble, when } = CREW;
  // The office is asked for a newer list this often while the page is looked at [ms].
  const ASK_EACH_MS = 120000;
  // How old list and position are is said anew this often [ms]; positions come each second.
  const TELL_EACH_MS = 5000;
  const TICK = "tick ";

  const isDone = (thing) => Boolean(state.done.get(thing.anchor)?.done);
  const doneNow = () => new Set([...state.done].filter(([, one]) => one.done).map(([id]) => id));

  // --- the list and how old it is ---------------------------------------------------------------

  function ageText() {
    if (!state.list) {
      return "No list on this phone yet. It comes when the phone is paired and has a connection.";
    }
    const kept = `Revision ${state.list.revision}, fetched ${clock(state.fetchedMs)}, `
      + `${since(state.fetchedMs)}`;
    if (SEND.ended()) {
      return `${kept}. THE PAIRING HAS ENDED: no newer list comes and nothing is sent. All ticks and `
        + "finds stay on this phone; pair it again on the drive page.";
    }
    if (state.newer) {
      return `${kept}. THE OFFICE HAS A NEWER LIST.`;
    }
    if (state.reached) {
      return `${kept}; none newer at ${clock(state.askedMs)}.`;
    }
    return `${kept}. No word from the office ${state.askedMs ? `since ${clock(state.askedMs)}` : "yet"}: `
      + "whether it has a newer list is not known.";
  }

  function showAge() {
    byId("age").textContent = ageText();
    byId("age").classList.toggle("loud", Boolean(state.list && (state.newer || SEND.ended())));
    byId("newer").hidden = !state.newer;
    const draft = state.list?.draft.length;
    byId("draft").hidden = !draft;
    byId("draft").textContent = draft ? "DRAFT, NOT FOR CUTTING" : "";
  }

  // In another list the line may be another one, so that the person says anew where they are.
  async function take(handed, fetchedMs) {
    const kept = { list: handed.crew, names: handed.kinds.map((one) => one.name), fetchedMs };
    await keep("list", kept);
    Object.assign(state, kept, { newer: null, place: null });
    pickAgain();
    byId("which").replaceChildren();
    if (state.fix) {
      PLACE.byFix();
    }
    go(state.view);
  }

  // What the office has now: taken at once by a page that has just been opened, else offered.
  async function ask({ atOnce }) {
    const handed = await SEND.list();
    state.reached = Boolean(handed);
    if (!handed) {
      showAge();
      return;
    }
    state.askedMs = Date.now();
    await keep("asked", state.askedMs);
    const same = state.list?.seal === handed.crew.seal;
    if (!state.list || (atOnce && !same)) {
      await take(handed, state.askedMs);
      return;
    }
    state.newer = same ? null : handed;
    showAge();
  }

  // --- what was picked --------------------------------------------------------------------------

  // The same leg and way in a list that may be another one.
  function pickAgain() {
    const { picked } = state;
    const { legs } = state.list;
    state.leg = legs.find((leg) => leg.code === picked.leg) || legs[0];
    const same = (way) => way.pass === picked.pass && way.travel === picked.travel;
    const whole = (way) => !way.pass && way.travel === picked.travel;
    const { ways } = state.leg;
    state.way = ways.find(same) || ways.find(whole) || ways[0];
    if (picked.pass && state.way.pass !== picked.pass) {
      trouble(`Pass ${picked.pass} is not in this list any more: the whole street is shown.`);
    }
  }

  async function pick(leg, way) {
    if (state.leg !== leg) {
      state.place = null;
      byId("which").replaceChildren();
    }
    const picked = { leg: leg.code, pass: way.pass, travel: way.travel };
    Object.assign(state, { leg, way, picked });
    await keep("pick", picked);
    if (state.fix) {
      PLACE.byFix();
    }
    go("ahead");
  }

  function showPick() {
    const box = byId("pick");
    box.replaceChildren(make("h2", "", "Which street, pass and direction?"));
    for (const leg of state.list.legs) {
      box.append(make("h3", "", `${leg.code}  ${leg.name}`));
      for (const way of leg.ways) {
        const one = button("way", "", () => pick(leg, way));
        one.append(make("span", "strong", way.title), make("span", "small", way.from_to));
        one.setAttribute("aria-pressed", String(way === state.way));
        box.append(one);
      }
    }
    box.append(make("p", "small", "A pass runs the way the plan of work has it. "
      + "YOUR LEFT and YOUR RIGHT are those of who looks that way."));
  }

  function onHere(thing) {
    PLACE.tapped(thing);
    go("ahead");
  }

  // --- what is ahead ----------------------------------------------------------------------------

  const named = (things) => things.map((thing) => `${thing.no} ${thing.what}: ${thing.do}`);

  function closeLines(found) {
    const inside = named(found.inside).map((text) => `YOU ARE IN IT: ${text}`);
    const behind = named(found.behind).map((text) => `MAY STILL BE AHEAD (±): ${text}`);
    return lines("strong", [...inside, ...behind]);
  }

  function afterLines(found) {
    const { list } = state;
    const words = [];
    if (found.band) {
      words.push(`${AHEAD.farTo(list, found.band)}: ${found.band.text}`);
    }
    if (found.open) {
      words.push(`Next not ticked: ${found.open.no} in ${AHEAD.farTo(list, found.open)}`);
    }
    words.push(found.cards.length
      ? `${found.more} more after these.`
      : "Nothing of this list is ahead. Expect iron that is not on this list.");
    const struck = found.struck.map((thing) => make("s", "", `${thing.no} ${thing.what}`));
    return [...lines("small", words), ...struck];
  }

  // Cards that stay are not made anew: a finger may be on one while the next position comes.
  const shownCards = new Map();

  function cardOf(thing) {
    const { list, leg, way } = state;
    const key = JSON.stringify([list.seal, leg.code, way.pass, way.travel, thing.no, isDone(thing)]);
    const more = { zero: leg.zero, isDone: isDone(thing), onTick };
    const element = shownCards.get(key) || card(thing, "", more);
    element.querySelector(".far").textContent = AHEAD.farTo(list, thing);
    return [key, element];
  }

  function showCards(things) {
    const made = things.map(cardOf);
    const [box, elements] = [byId("cards"), made.map(([, element]) => element)];
    if (elements.length !== box.children.length
      || elements.some((element, i) => element !== box.children[i])) {
      box.replaceChildren(...elements);
    }
    shownCards.clear();
    made.forEach(([key, element]) => shownCards.set(key, element));
  }

  function showAhead() {
    const { list, leg, way, place } = state;
    byId("picked").textContent = leg
      ? `${leg.code} ${leg.name}: ${way.title}` : "No street is picked";
    const found = list && place
      ? AHEAD.ahead({ list, leg, way, place, done: doneNow() }) : null;
    byId("close").replaceChildren(...(found ? closeLines(found) : []));
    showCards(found ? found.cards : []);
    byId("after").replaceChildren(...(found ? afterLines(found) : []));
  }

  function showWhole() {
    const { leg, way } = state;
    const things = AHEAD.met(leg, way);
    const listed = (thing) => row(thing, { zero: leg.zero, isDone: isDone(thing), onTick, onHere });
    const items = way.items.map((item) => (
      item.type === "thing" ? listed(things.shift()) : between(item)
    ));
    const list = make("ol", "list");
    list.append(...items);
    byId("whole").replaceChildren(
      make("h2", "", `${leg.code} ${leg.name}: ${way.title}`),
      make("p", "strong", way.from_to),
      ...lines("", way.head),
      ...lines("small", [
        way.pass && "What this pass does not meet stands in the list of the whole street alone.",
        "Tap a thing to say that you stand at it.",
      ]),
      list,
      ...(leg.poor.length ? [make("h3", "", "Poorly looked at")] : []),
      ...lines("", leg.poor),
    );
  }

  // --- ticks ------------------------------------------------------------------------------------

  // One act after the other: each names the one before it on the same thing.
  let acting = Promise.resolve();

  function inTurn(act) {
    acting = acting.then(act);
    return acting;
  }

  async function ticked(thing) {
    const before = state.done.get(thing.anchor);
    const done = !isDone(thing);
    try {
      const counter = await SEND.add({
        kind: "tick",
        thing: thing.anchor,
        body: { anchor_id: thing.anchor, done, by: "", when: when() },
        parents: before ? [before.counter] : [],
      });
      const kept = { anchor: thing.anchor, done, counter };
      await KEPT.put(`${TICK}${thing.anchor}`, kept);
      state.done.set(thing.anchor, kept);
    } catch (error) {
      trouble(`The tick of ${thing.no} could not be kept (${error.message}). Write it on paper.`);
    }
    VIEWS[state.view]();
  }

  const onTick = (thing) => inTurn(() => ticked(thing));

  // --- found tonight ----------------------------------------------------------------------------

  const own = () => state.found.filter((one) => one.job === state.list.job);

  function faultOf(find) {
    if (!state.place) {
      return "Say where you are first: a station, a tap in the list, or GPS.";
    }
    if (!find.words) {
      return "Say what it is.";
    }
    if (!/^T\d+$/.test(find.no)) {
      return "The number is T and digits, as painted: T1.";
    }
    return own().some((one) => one.no === find.no && !one.back)
      ? `${find.no} is taken on this phone; take the next number.` : "";
  }

  async function found(find) {
    const fault = faultOf(find);
    trouble(fault);
    if (fault) {
      return;
    }
    const { leg, list, place } = state;
    const thing = SEND.newId();
    const body = {
      no: find.no, leg: leg.code, words: find.words, across: find.across, note: find.note,
      by: "", when: when(), along_m: Math.round(place.along * 100) / 100,
      lon_deg: place.lon ?? null, lat_deg: place.lat ?? null,
    };
    try {
      const counter = await SEND.add({ kind: "found", thing, body, parents: [] });
      const kept = { ...find, thing, counter, job: list.job, place: PLACE.text(), back: false };
      await KEPT.put(`found ${String(counter).padStart(12, "0")}`, kept);
      state.found.push(kept);
    } catch (error) {
      trouble(`${find.no} could not be kept (${error.message}). Write it on paper.`);
      return;
    }
    showFind();
  }

  async function takenBack(one) {
    if (one.back) {
      return;
    }
    try {
      const counter = await SEND.add({
        kind: "found", thing: one.thing, body: { removed: true }, parents: [one.counter],
      });
      one.back = true;
      await KEPT.put(`found ${String(one.counter).padStart(12, "0")}`, { ...one, backBy: counter });
    } catch (error) {
      trouble(`${one.no} could not be taken back (${error.message}). Write it on paper.`);
    }
    showFind();
  }

  function showFind() {
    byId("find").replaceChildren(...FIND.view({
      found: own(), names: state.names, place: state.place ? PLACE.text() : "", way: state.way,
      onSave: (find) => inTurn(() => found(find)), onBack: (one) => inTurn(() => takenBack(one)),
    }));
  }

  // --- the rest ---------------------------------------------------------------------------------

  async function tellWaiting(element) {
    const count = await SEND.waiting();
    element.textContent = count
      ? `${count} not sent yet; all of it is kept on this phone.` : "All ticks and finds are sent.";
  }

  function showAbout() {
    const { list, light } = state;
    const sent = make("p", "strong", "");
    const night = button("wide", light === "night" ? "Day colours" : "Night colours", async () => {
      // The button turns over once it is kept: it holds when the page is opened anew.
      await setLight(light === "night" ? "day" : "night");
      showAbout();
    });
    const told = list ? [
      make("h2", "", list.job),
      ...lines("", [list.number, list.shift, `Revision ${list.revision}`]),
      ...(list.draft.length
        ? [make("h3", "", "Draft, not for cutting, because"), ...lines("", list.draft)] : []),
      make("h3", "", "Beware"),
      ...lines("strong", ["EXPECT IRON THAT IS NOT ON THIS LIST."]),
      ...lines("", list.cautions),
      ...list.withdrawn.map(({ no, why }) => between({ type: "withdrawn", no, why })),
      make("p", "small", `Seal ${list.seal}`),
    ] : [];
    byId("about").replaceChildren(night, sent, ...told);
    tellWaiting(sent);
  }

  async function setLight(light) {
    state.light = light;
    document.documentElement.dataset.light = light;
    await keep("light", light);
  }

  const VIEWS = { ahead: showAhead, whole: showWhole, find: showFind, pick: showPick, about: showAbout };

  // Only what does not disturb a hand or a form is shown anew by a position.
  function show() {
    showAge();
    PLACE.tell();
    if (state.view === "find") {
      byId("findplace").textContent = FIND.placeWords(state.place ? PLACE.text() : "");
    } else if (state.view === "ahead") {
      showAhead();
    }
  }

  function go(view) {
    state.view = view;
    Object.keys(VIEWS).forEach((one) => { byId(one).hidden = one !== view; });
    document.querySelectorAll("nav button").forEach((one) => {
      one.setAttribute("aria-pressed", String(one.dataset.view === view));
    });
    if (state.list || view === "about") {
      VIEWS[view]();
    }
    showAge();
    PLACE.tell();
    window.scrollTo(0, 0);
  }

  // --- begin ------------------------------------------------------------------------------------

  async function recall() {
    const [kept, askedMs, picked, light, ticks, finds] = await Promise.all([
      KEPT.get("list"), KEPT.get("asked"), KEPT.get("pick"), KEPT.get("light"), KEPT.all(TICK),
      KEPT.all("found "),
    ]);
    Object.assign(state, {
      ...(kept || {}), askedMs: askedMs || 0, picked: picked || {}, found: finds,
    });
    state.done = new Map(ticks.map((one) => [one.anchor, one]));
    setLight(light || "night");
    if (state.list) {
      pickAgain();
    }
  }

  async function begin() {
    PLACE.begin(show);
    byId("newer").addEventListener("click", () => take(state.newer, Date.now()));
    byId("picked").addEventListener("click", () => state.list && go("pick"));
    document.querySelectorAll("nav button").forEach((one) => {
      one.addEventListener("click", () => go(one.dataset.view));
    });
    try {
      await recall();
    } catch (error) {
      trouble(`This browser keeps nothing (${error.message}): the list comes from the office alone.`);
    }
    go("ahead");
    await ask({ atOnce: true });
    window.addEventListener("online", () => ask({ atOnce: false }));
    setInterval(() => {
      if (document.visibilityState === "visible") {
        ask({ atOnce: false });
      }
    }, ASK_EACH_MS);
    setInterval(show, TELL_EACH_MS);
  }

  begin();
})();
