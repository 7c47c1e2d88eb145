// The drive page: what goes on, said plainly, and the taps.
"use strict";

(() => {
  const { button, make } = KINDS;
  const { now, counts } = RECORD;
  const byId = (id) => document.getElementById(id);
  // Fixes come each second; what is said of them is said anew this often [ms].
  const TELL_EACH_MS = 2000;
  const NO_FIX_S = 10;
  const SEND_EACH_MS = 10000;
  const LOW_BYTES = 100e6;
  const [MPH, FT] = [2.2369362920544, 0.3048];
  const page = { watch: null, lock: null, handed: null, troubles: new Map(), sentAt: 0, begun: 0 };
  const work = { fixes: 0, ms: 0, most: 0 };

  // --- what is wrong ------------------------------------------------------------------------------

  function trouble(about, text) {
    if ((page.troubles.get(about) || "") === text) {
      return;
    }
    if (text) {
      page.troubles.set(about, text);
    } else {
      page.troubles.delete(about);
    }
    byId("trouble").textContent = [...page.troubles.values()].join("\n");
    byId("trouble").hidden = !page.troubles.size;
  }

  const SECURE = "This address is not safe enough for the browser: location, camera and microphone "
    + "work only with https, or on the machine itself as localhost. Open the page by its https "
    + "address; how a truck's laptop gets one is in the README.";

  function refused(error) {
    if (!window.isSecureContext) {
      trouble("place", SECURE);
    } else if (error.code === error.PERMISSION_DENIED) {
      trouble("place", "LOCATION IS REFUSED. Marks are kept with their time alone. Allow location "
        + "for this page in the browser's settings; nothing recorded so far is lost.");
    } else {
      trouble("place", "NO FIX: the phone does not know where it is. Marks are kept with their time.");
    }
  }

  async function room() {
    const told = await navigator.storage?.estimate?.().catch(() => null);
    const left = told?.quota ? told.quota - told.usage : Infinity;
    trouble("room", left < LOW_BYTES
      ? `The phone's storage is nearly full: ${Math.round(left / 1e6)} MB left. Send what is `
        + "recorded, or save it as GPX; nothing is lost so far."
      : "");
  }

  // --- what goes on -------------------------------------------------------------------------------

  function told() {
    const since = now.fix ? Math.floor((performance.now() - now.at) / 1000) : null;
    const [, , , , accuracy, speed] = now.fix || [];
    const us = (page.handed?.units || "us") !== "metric";
    const far = (m) => (us ? `${Math.ceil(m / FT)} ft` : `${Math.ceil(m)} m`);
    const fast = (mps) => (us ? `${Math.round(mps * MPH)} mph` : `${Math.round(mps * 3.6)} km/h`);
    return [
      now.fix ? `fix ${since} s ago` : "no fix yet",
      Number.isFinite(accuracy) ? `within ${far(accuracy)}` : "",
      Number.isFinite(speed) ? fast(speed) : "",
      `fixes ${counts.fixes}, marks ${counts.marks}`,
    ].filter(Boolean).join(" · ");
  }

  async function sentText() {
    const waiting = await OUTBOX.waiting() + now.waiting;
    const { reached, token, ended, said } = LINK.state;
    if (!token) {
      return [waiting, `${waiting} not sent: this phone is not paired.`];
    }
    if (ended) {
      return [waiting, `${waiting} not sent: the pairing has ended. All is still on this phone; pair `
        + "it again."];
    }
    if (!waiting) {
      return [0, "All is sent."];
    }
    const why = said || (reached === false ? "The office cannot be reached; the phone keeps it." : "");
    return [waiting, `${waiting} not sent yet. ${why}`];
  }

  async function tell() {
    const [waiting, text] = await sentText();
    byId("sent").textContent = text;
    if (now.drive) {
      byId("now").textContent = `${told()} · ${waiting} not sent`;
      const quiet = (performance.now() - (now.fix ? now.at : page.begun)) / 1000;
      if (quiet >= NO_FIX_S && !page.troubles.has("place")) {
        trouble("quiet", `NO FIX FOR ${Math.floor(quiet / 10) * 10} SECONDS. Marks are kept with `
          + "their time; nothing is lost.");
      } else {
        trouble("quiet", "");
      }
    } else {
      byId("now").textContent = text;
    }
  }

  // What the office refused, or what is for another job: kept, and said.
  async function tellHeld() {
    const held = await OUTBOX.held(LINK.state.job);
    byId("held").hidden = !held.refused && !held.other;
    byId("again").hidden = !held.refused;
    byId("heldwhat").textContent = [
      held.refused ? `The office did not take ${held.refused}: ${held.why} They stay on this phone.` : "",
      held.other ? `${held.other} were recorded for ${held.otherJob} and stay on this phone until it `
        + "is paired with that job again." : "",
    ].filter(Boolean).join(" ");
  }

  // --- fixes --------------------------------------------------------------------------------------

  let written = Promise.resolve();

  // All that is done for one position.
  async function position(found) {
    const began = performance.now();
    trouble("place", "");
    const before = now.fix;
    const keeping = RECORD.fix(found);
    if (now.fix === before) {
      await keeping;
      return;
    }
    try {
      await keeping;
      trouble("write", "");
    } catch (error) {
      trouble("write", `THE PHONE CANNOT WRITE (${error.name}): ${now.unwritten.length} fixes are in `
        + "memory only. Free storage, leave this page open.");
    }
    if (performance.now() - page.sentAt > SEND_EACH_MS) {
      page.sentAt = performance.now();
      await RECORD.bundle().catch(() => {});
      LINK.push();
      room();
    }
    const took = performance.now() - began;
    Object.assign(work, { fixes: work.fixes + 1, ms: work.ms + took, most: Math.max(work.most, took) });
    document.documentElement.dataset.work = JSON.stringify(work);
  }

  function failed(error) {
    trouble("write", `A FIX WAS NOT KEPT (${error.name}): ${error.message}.`);
  }

  function watch() {
    if (!window.isSecureContext || !navigator.geolocation) {
      trouble("place", SECURE);
      return;
    }
    page.watch = navigator.geolocation.watchPosition(
      (found) => { written = written.then(() => position(found)).catch(failed); }, refused,
      { enableHighAccuracy: true, maximumAge: 0 },
    );
  }

  async function awake() {
    if (!now.drive || document.hidden) {
      return;
    }
    try {
      page.lock = await navigator.wakeLock.request("screen");
      trouble("awake", "");
    } catch {
      trouble("awake", "This browser cannot keep the screen on: set the phone so that it stays on.");
    }
  }

  // --- begin and end ------------------------------------------------------------------------------

  function goOn() {
    page.begun = performance.now();
    byId("start").hidden = true;
    byId("road").hidden = false;
    byId("afoot").hidden = !now.drive.walk;
    byId("stand").textContent = now.drive.walk
      ? "On foot: stand clear of traffic, then mark." : "A passenger marks, or park.";
    byId("hint").textContent = now.drive.walk ? "Tap beside it." : "Tap when it passes your door.";
    showHanded();
    watch();
    awake();
    room();
    MARKS.again();
    tell();
  }

  async function begin(walk) {
    try {
      const by = byId("by").value.trim();
      await OUTBOX.put("by", by);
      await RECORD.begin({ by, walk });
      navigator.storage?.persist?.().catch(() => {});
    } catch (error) {
      trouble("write", `THE PHONE CANNOT WRITE (${error.name}): ${error.message}.`);
      return;
    }
    goOn();
    LINK.push();
  }

  async function stop() {
    navigator.geolocation?.clearWatch(page.watch);
    await written;
    await MARKS.settled();
    await RECORD.end();
    page.lock?.release?.().catch(() => {});
    ["place", "quiet", "awake"].forEach((about) => trouble(about, ""));
    byId("start").hidden = false;
    byId("road").hidden = true;
    byId("stand").textContent = "A passenger marks, or park.";
    await showKept();
    LINK.push();
    tell();
  }

  async function save(driveId) {
    await written;
    await MARKS.settled();
    GPXFILE.save(await RECORD.whole(driveId));
  }

  async function showKept() {
    const drives = await RECORD.drives();
    byId("kept").replaceChildren(...drives.map((one) => {
      const item = make("li", "", one.name);
      item.append(button("Save it as GPX", () => save(one.drive_id)));
      return item;
    }));
  }

  // --- what the office hands out ------------------------------------------------------------------

  async function onLook(row, found) {
    const what = row.what || "something";
    return MARKS.tap({
      words: found ? what : `not found: ${what}`, said_leg: row.leg, said_station: row.station,
      note: `search list: ${found ? "found" : "looked for, not found"}${row.no ? `, no. ${row.no}` : ""}`,
    });
  }

  function showHanded() {
    const more = { kinds: page.handed?.kinds, onKind: MARKS.kind };
    KINDS.show(byId("kinds"), byId("allkinds"), more);
    if (now.drive?.walk) {
      const onDetails = (said) => MARKS.more((body) => WALK.changes(said, body));
      WALK.show(byId("afoot"), { handed: page.handed, onDetails, onLook });
    }
  }

  async function hand() {
    const handed = await LINK.list();
    if (handed) {
      const { crew, ...own } = handed;
      page.handed = own;
      await OUTBOX.put("handed", own).catch(() => {});
      showHanded();
    }
  }

  // --- pairing ------------------------------------------------------------------------------------

  function pairedText({ token, job, name, ended }) {
    if (ended) {
      return "The pairing has ended. All that was recorded is still on this phone: pair it again.";
    }
    return token
      ? `Paired${job ? ` with ${job}` : ""}${name ? ` as ${name}` : ""}.`
      : "Not paired yet. Recording works without; pair it later, or save the drive as GPX.";
  }

  function showPaired() {
    const { token, job, name, ended } = LINK.state;
    byId("paired").textContent = pairedText({ token, job, name, ended });
    if (name && !byId("by").value) {
      byId("by").value = name;
    }
  }

  async function pair(code) {
    const why = await LINK.pair(code.trim());
    trouble("pair", why);
    if (!why) {
      byId("code").value = "";
      await hand();
    }
    showPaired();
    tell();
  }

  // The code of the address that a phone's camera read; it does not stay in the address.
  function addressed() {
    const code = /^#pair=([A-Za-z0-9-]{4,16})$/.exec(location.hash)?.[1];
    if (code) {
      history.replaceState(null, "", location.pathname);
      pair(code);
    }
  }

  function light() {
    const dark = matchMedia("(prefers-color-scheme: dark)").matches;
    const shown = document.documentElement.dataset.light || (dark ? "night" : "day");
    document.documentElement.dataset.light = shown === "night" ? "day" : "night";
    OUTBOX.put("light", document.documentElement.dataset.light).catch(() => {});
  }

  function listen() {
    byId("drive").addEventListener("click", () => begin(false));
    byId("walk").addEventListener("click", () => begin(true));
    byId("stop").addEventListener("click", stop);
    byId("save").addEventListener("click", () => save(now.drive.drive_id));
    byId("light").addEventListener("click", light);
    byId("again").addEventListener("click", () => OUTBOX.again().then(LINK.push).then(tellHeld));
    byId("pair").addEventListener("submit", (event) => {
      event.preventDefault();
      pair(byId("code").value);
    });
    byId("more").addEventListener("click", () => {
      byId("allkinds").hidden = !byId("allkinds").hidden;
      byId("more").setAttribute("aria-expanded", String(!byId("allkinds").hidden));
    });
    window.addEventListener("hashchange", addressed);
    // A page that is hidden may be ended at any moment.
    document.addEventListener("visibilitychange", () => {
      if (document.hidden) {
        RECORD.bundle().then(LINK.push).catch(() => {});
      } else {
        awake();
        tell();
      }
    });
    setInterval(() => {
      if (!document.hidden) {
        tell();
      }
    }, TELL_EACH_MS);
    LINK.onChange(() => { showPaired(); tellHeld(); tell(); });
  }

  async function open() {
    navigator.serviceWorker?.register("../sw.js").catch(() => {});
    MARKS.ready({ onTrouble: trouble, onKept: () => { trouble("mark", ""); tell(); LINK.push(); } });
    listen();
    try {
      const shown = await OUTBOX.get("light");
      if (shown) {
        document.documentElement.dataset.light = shown;
      }
      byId("by").value = (await OUTBOX.get("by")) || "";
      page.handed = (await OUTBOX.get("handed")) || null;
      await RECORD.bundle();
      await showKept();
      if (await RECORD.resume()) {
        goOn();
      }
    } catch (error) {
      trouble("write", `This browser keeps nothing (${error.message}): do not record with it. `
        + "Leave private browsing, or free storage.");
    }
    addressed();
    await LINK.status();
    showPaired();
    LINK.push();
    await hand();
  }

  open();
})();
