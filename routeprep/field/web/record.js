// What is recorded: a drive or walk, its fixes, its marks, photos and clips.  Each goes into the
// phone's database first, together with the item that is sent of it, in one transaction.
"use strict";

const RECORD = (() => {
  const { answer, newId, queue, within } = OUTBOX;
  // So many fixes, or those of so long a time, make one item [fixes, ms].
  const [BUNDLE, BUNDLE_MS] = [30, 30000];
  // A clock that steps back further than this was set anew [ms].
  const STEP_BACK_MS = 2000;
  // Drives older than this are forgotten when a new one begins, if all of theirs was sent [ms].
  const KEEP_MS = 14 * 24 * 3600 * 1000;
  const TEXTS = [
    "words", "across", "said_leg", "said_station", "said_offset", "size", "height_by", "note",
    "photo", "clip",
  ];

  // Of the drive that goes on: its last fix, when that came, and the last before the page was opened
  // again; the clock's correction; what could not be written yet.
  const now = {
    drive: null, fix: null, at: 0, before: null, offset: 0, unwritten: [], waiting: 0, since: 0,
  };
  const counts = { fixes: 0, marks: 0 };

  function dayAndTime(ms) {
    const date = new Date(ms);
    const two = (number) => String(number).padStart(2, "0");
    const day = [date.getFullYear(), two(date.getMonth() + 1), two(date.getDate())].join("-");
    return `${day} ${two(date.getHours())}:${two(date.getMinutes())}`;
  }

  // The time of this moment as the fixes tell it, so that a mark lies on its drive even where the
  // phone's own clock is wrong.
  const timeNow = () => Math.round(
    now.fix ? now.fix[0] + (performance.now() - now.at) : Date.now() + now.offset,
  );

  // --- drives -----------------------------------------------------------------------------------

  async function forgetOld() {
    const before = Date.now() - KEEP_MS;
    await within(
      ["drives", "fixes", "marks", "items"], "readwrite",
      async (drives, fixes, marks, items) => {
        if (await answer(items.count())) {
          return;
        }
        const old = (await answer(drives.getAll())).filter((one) => one.begun_ms < before);
        const ids = new Set(old.map((one) => one.drive_id));
        if (!ids.size) {
          return;
        }
        for (const id of ids) {
          await answer(drives.delete(id));
        }
        for (const store of [fixes, marks]) {
          for (const one of await answer(store.getAll())) {
            if (ids.has(one.drive_id)) {
              await answer(store.delete(one.no ?? one.mark_id));
            }
          }
        }
      },
    );
  }

  async function begin({ by, walk }) {
    await forgetOld();
    const begunMs = Date.now();
    const body = {
      drive_id: newId(), name: `${walk ? "walk" : "drive"} ${dayAndTime(begunMs)}`, by, walk,
    };
    const drive = { ...body, begun_ms: begunMs, offset: 0, last: null };
    await within(["items", "meta", "drives"], "readwrite", async (items, meta, drives) => {
      await queue(items, meta, { kind: "drive", thing: body.drive_id, body });
      await answer(drives.put(drive));
      await answer(meta.put(body.drive_id, "drive"));
    });
    Object.assign(now, {
      drive, fix: null, before: null, offset: 0, unwritten: [], waiting: 0, since: 0,
    });
    Object.assign(counts, { fixes: 0, marks: 0 });
    return drive;
  }

  // The drive that was going on when the page was last closed, or null.
  async function resume() {
    const found = await within(
      ["meta", "drives", "fixes", "marks"], "readonly",
      async (meta, drives, fixes, marks) => {
        const id = await answer(meta.get("drive"));
        const drive = id ? await answer(drives.get(id)) : null;
        if (!drive) {
          return null;
        }
        const rows = await answer(fixes.getAll());
        const own = rows.filter((one) => one.drive_id === id);
        const made = (await answer(marks.getAll())).filter((one) => one.drive_id === id);
        return { drive, own, made };
      },
    );
    if (!found) {
      return null;
    }
    const { drive, own, made } = found;
    Object.assign(now, {
      drive, fix: null, offset: drive.offset, before: own.at(-1)?.row || null,
    });
    counts.fixes = own.length;
    counts.marks = made.filter((one) => !one.back).length;
    return drive;
  }

  async function end() {
    await bundle();
    await within(["meta"], "readwrite", (meta) => answer(meta.delete("drive")));
    now.drive = null;
  }

  // --- fixes ------------------------------------------------------------------------------------

  const known = (value) => (Number.isFinite(value) ? value : null);

  // A position as a fix: time_ms, lon_deg, lat_deg, ele_m, accuracy_m, speed_mps, course_deg.
  // Time never runs backward within a drive: where the phone's clock was set back, what follows
  // keeps the drive's own clock.  Null for a position that was given before.
  function fixOf(position) {
    const { coords } = position;
    const stamp = Number.isFinite(position.timestamp) ? position.timestamp : Date.now();
    let timeMs = Math.round(stamp + now.offset);
    const last = now.fix || now.before;
    const lastMs = last ? last[0] : 0;
    if (lastMs && timeMs < lastMs - STEP_BACK_MS) {
      const passedMs = now.fix ? performance.now() - now.at : 1000;
      now.offset += Math.round(lastMs + passedMs - timeMs);
      now.drive.offset = now.offset;
      timeMs = Math.round(stamp + now.offset);
    }
    const row = [
      timeMs, coords.longitude, coords.latitude, known(coords.altitude), known(coords.accuracy),
      known(coords.speed), known(coords.heading),
    ];
    const same = last && [0, 1, 2].every((at) => last[at] === row[at]);
    return same ? null : row;
  }

  // Keep a fix; what could not be written before is written with it.
  async function fix(position) {
    const row = now.drive && fixOf(position);
    if (!row) {
      return false;
    }
    const { drive } = now;
    Object.assign(now, { fix: row, at: performance.now() });
    now.unwritten.push(row);
    const rows = now.unwritten;
    now.unwritten = [];
    try {
      await within(["fixes", "drives"], "readwrite", async (fixes, drives) => {
        for (const one of rows) {
          await answer(fixes.add({ drive_id: drive.drive_id, row: one, open: 1 }));
        }
        if (drive.offset !== drive.written) {
          drive.written = drive.offset;
          await answer(drives.put(drive));
        }
      });
    } catch (error) {
      now.unwritten.unshift(...rows);
      throw error;
    }
    counts.fixes += rows.length;
    now.waiting += rows.length;
    now.since ||= performance.now();
    if (now.waiting >= BUNDLE || performance.now() - now.since > BUNDLE_MS) {
      await bundle();
    }
    return true;
  }

  // Make items of the fixes that are in none yet; each fix comes into one and only one.
  async function bundle() {
    Object.assign(now, { waiting: 0, since: 0 });
    await within(["fixes", "items", "meta"], "readwrite", async (fixes, items, meta) => {
      const first = ((await answer(meta.get("bundled"))) || 0) + 1;
      const rows = await answer(fixes.getAll(IDBKeyRange.lowerBound(first)));
      for (let at = 0; at < rows.length;) {
        const id = rows[at].drive_id;
        let to = at;
        while (to < rows.length && to - at < 1000 && rows[to].drive_id === id) {
          to += 1;
        }
        const part = rows.slice(at, to);
        await queue(items, meta, {
          kind: "fixes",
          // The first fix's own number: no two bundles of a drive are called the same.
          thing: `${id} ${part[0].row[0]} ${part[0].no}`,
          body: { drive_id: id, fixes: part.map((one) => one.row) },
        });
        at = to;
      }
      if (rows.length) {
        await answer(meta.put(rows.at(-1).no, "bundled"));
      }
    });
  }

  // --- marks ------------------------------------------------------------------------------------

  // Write a mark's new state: on the phone, and as an item that follows its last one.
  function write(body, parent) {
    return within(["items", "meta", "marks"], "readwrite", async (items, meta, marks) => {
      const counter = await queue(items, meta, {
        kind: "mark", thing: body.mark_id, body, parents: parent ? [parent] : [],
      });
      const mark = { mark_id: body.mark_id, drive_id: body.drive_id, body, counter, back: false };
      await answer(marks.put(mark));
      return mark;
    });
  }

  // A mark of this moment; the place is that of the last fix.
  async function mark(said = {}) {
    const { drive, fix: row } = now;
    const body = {
      ...Object.fromEntries(TEXTS.map((name) => [name, ""])),
      mark_id: newId(), drive_id: drive.drive_id, across_frame: "as driven",
      method: drive.walk ? "walked" : "vehicle", by: drive.by, time_ms: timeNow(),
      lon_deg: row ? row[1] : null, lat_deg: row ? row[2] : null,
      accuracy_m: row ? row[4] : null, height_m: null, ...said,
    };
    const made = await write(body, 0);
    counts.marks += 1;
    return made;
  }

  const amend = (made, changes) => write({ ...made.body, ...changes }, made.counter);

  async function back(made) {
    await within(["items", "meta", "marks"], "readwrite", async (items, meta, marks) => {
      const counter = await queue(items, meta, {
        kind: "mark", thing: made.mark_id, body: { removed: true }, parents: [made.counter],
      });
      await answer(marks.put({ ...made, counter, back: true }));
    });
    counts.marks -= 1;
  }

  // A photo or clip, and the mark that it belongs to, both or neither.
  async function file(made, { bytes, ending, column }) {
    if (!crypto.subtle) {
      throw new Error("photos and voice clips are kept only with https, or as localhost");
    }
    const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
    const sha256 = [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    const thing = `phone/${newId()}.${ending}`;
    const body = { ...made.body, [column]: thing };
    return within(["items", "meta", "marks"], "readwrite", async (items, meta, marks) => {
      await queue(items, meta, { kind: "file", thing, body: { sha256 }, bytes });
      const counter = await queue(items, meta, {
        kind: "mark", thing: body.mark_id, body, parents: [made.counter],
      });
      const one = { ...made, body, counter };
      await answer(marks.put(one));
      return one;
    });
  }

  const inTime = (one, two) => one.body.time_ms - two.body.time_ms;

  // All that is kept of one drive, as its GPX tells it.
  const whole = (driveId) => within(
    ["drives", "fixes", "marks"], "readonly",
    async (drives, fixes, marks) => ({
      drive: await answer(drives.get(driveId)),
      fixes: (await answer(fixes.getAll()))
        .filter((one) => one.drive_id === driveId).map((one) => one.row),
      marks: (await answer(marks.getAll()))
        .filter((one) => one.drive_id === driveId && !one.back).sort(inTime)
        .map((one) => one.body),
    }),
  );

  const marks = (driveId) => within(["marks"], "readonly", async (store) => (
    (await answer(store.getAll())).filter((one) => one.drive_id === driveId && !one.back)
      .sort(inTime)
  ));

  const drives = () => within(["drives"], "readonly", async (store) => (
    (await answer(store.getAll())).sort((one, two) => two.begun_ms - one.begun_ms)
  ));

  return {
    amend, back, begin, bundle, counts, drives, end, file, fix, mark, marks, now, resume, timeNow,
    whole,
  };
})();
