// Marks as they are tapped: one tap makes one, the next taps say more of the last one.
"use strict";

const MARKS = (() => {
  const { button, make } = KINDS;
  const [CLIP_MOST_MS, FILE_MOST, PHOTO_AS_IS, PHOTO_LONG_PX] = [60000, 11e6, 3e6, 2560];
  const byId = (id) => document.getElementById(id);
  const state = { last: null, saying: null, clip: null, onTrouble: null, onKept: null };
  // One after the other, in the order of the taps.
  let line = Promise.resolve();

  const clock = (ms) => new Date(ms).toLocaleTimeString([], { hour12: false });

  // Do it once all before it is written; false, said on the screen, if the phone cannot keep it.
  function inLine(work) {
    const done = line.then(work).then(
      () => { state.onKept(); return true; },
      (error) => {
        state.onTrouble("mark", `NOT KEPT: ${error.message || error}. Say it again, or on paper.`);
        return false;
      },
    );
    line = done;
    return done;
  }

  const called = ({ body }) => body.words || "Something, not said yet";

  function showLast() {
    const { last } = state;
    const parts = last && [
      called(last), last.body.across, last.body.size, last.body.photo && "photo",
      last.body.clip && "voice", last.body.note,
    ];
    byId("last").textContent = last
      ? `${clock(last.body.time_ms)} ${parts.filter(Boolean).join(", ")}`
      : "No mark yet.";
    byId("undo").disabled = !last;
    byId("across").querySelectorAll("button").forEach((one) => {
      one.setAttribute("aria-pressed", String(one.dataset.across === last?.body.across));
    });
    byId("saying").hidden = !state.saying;
    byId("sayingwhat").textContent = state.saying
      ? `What was it at ${clock(state.saying.body.time_ms)}? Tap a kind.`
      : "";
  }

  async function showUnsaid() {
    const made = await RECORD.marks(RECORD.now.drive.drive_id);
    const open = made.filter((one) => !one.body.words);
    byId("unsaid").hidden = !open.length;
    byId("unsaidlist").replaceChildren(...open.map((one) => {
      const item = make("li");
      const more = [one.body.across, one.body.photo && "photo", one.body.clip && "voice", one.body.note];
      const text = [`The mark of ${clock(one.body.time_ms)}`, ...more].filter(Boolean).join(", ");
      item.append(button(text, () => { state.saying = one; showLast(); scrollTo(0, 0); }));
      return item;
    }));
  }

  async function became(made) {
    state.last = made;
    showLast();
    await showUnsaid();
  }

  // The moment of the tap, whatever is still being written.
  const moment = () => {
    const row = RECORD.now.fix;
    const place = row && { lon_deg: row[1], lat_deg: row[2], accuracy_m: row[4] };
    return { time_ms: RECORD.timeNow(), ...place };
  };

  function tap(said) {
    const here = moment();
    navigator.vibrate?.(60);
    return inLine(async () => became(await RECORD.mark({ ...here, ...said })));
  }

  function kind({ name }) {
    if (!state.saying) {
      return tap({ words: name });
    }
    const said = state.saying;
    state.saying = null;
    return inLine(async () => {
      const made = await RECORD.marks(RECORD.now.drive.drive_id);
      const newest = made.find((one) => one.mark_id === said.mark_id) || said;
      await became(await RECORD.amend(newest, { words: name }));
    });
  }

  // Say more of the last mark; with none, of a new one.
  const more = (changes) => {
    const here = moment();
    return inLine(async () => {
      const made = state.last || await RECORD.mark(here);
      const said = typeof changes === "function" ? changes(made.body) : changes;
      await became(await RECORD.amend(made, said));
    });
  };

  const undo = () => inLine(async () => {
    if (state.last) {
      await RECORD.back(state.last);
      const left = await RECORD.marks(RECORD.now.drive.drive_id);
      await became(left.at(-1) || null);
    }
  });

  const ENDINGS = { "image/png": "png", "image/webp": "webp", "image/heic": "heic", "image/heif": "heif" };

  // A photo as it is, or smaller where it is large: a sheet needs no more.  One that this browser
  // cannot open stays as it is.
  async function photoBytes(file) {
    const picture = file.size > PHOTO_AS_IS && await createImageBitmap(file).catch(() => null);
    if (!picture) {
      return { bytes: await file.arrayBuffer(), ending: ENDINGS[file.type] || "jpg" };
    }
    const share = Math.min(1, PHOTO_LONG_PX / Math.max(picture.width, picture.height));
    const canvas = make("canvas");
    canvas.width = Math.round(picture.width * share);
    canvas.height = Math.round(picture.height * share);
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    const made = await new Promise((resolve) => { canvas.toBlob(resolve, "image/jpeg", 0.85); });
    return { bytes: await made.arrayBuffer(), ending: "jpg" };
  }

  async function attach(made, { bytes, ending, column }) {
    if (bytes.byteLength > FILE_MOST) {
      throw new Error("it is larger than 11 MB");
    }
    await became(await RECORD.file(made, { bytes, ending, column }));
  }

  function photo(file) {
    const here = moment();
    return inLine(async () => {
      const { bytes, ending } = await photoBytes(file);
      // One photo a mark: a second one makes a mark of its own.
      const free = state.last && !state.last.body.photo;
      await attach(free ? state.last : await RECORD.mark(here), { bytes, ending, column: "photo" });
    });
  }

  async function clip() {
    if (state.clip) {
      state.clip.stop();
      return;
    }
    const here = moment();
    try {
      const stream = await navigator.mediaDevices.getUserMedia({ audio: true });
      const recorder = new MediaRecorder(stream);
      const parts = [];
      const late = setTimeout(() => recorder.stop(), CLIP_MOST_MS);
      recorder.addEventListener("dataavailable", (event) => parts.push(event.data));
      recorder.addEventListener("stop", () => {
        clearTimeout(late);
        stream.getTracks().forEach((track) => track.stop());
        state.clip = null;
        showClip();
        const ending = recorder.mimeType.includes("mp4") ? "m4a" : "webm";
        inLine(async () => {
          const bytes = await new Blob(parts).arrayBuffer();
          const free = state.last && !state.last.body.clip;
          await attach(free ? state.last : await RECORD.mark(here), { bytes, ending, column: "clip" });
        });
      });
      recorder.start(1000);
      state.clip = recorder;
      showClip();
    } catch (error) {
      state.onTrouble("mark", `The microphone cannot be used: ${error.message}. Write a note instead.`);
    }
  }

  function showClip() {
    byId("clip").setAttribute("aria-pressed", String(Boolean(state.clip)));
    byId("clip").textContent = state.clip ? "Listening: tap to end" : "Say it";
  }

  function parked(end) {
    return tap({ words: end ? "parked cars end" : "parked cars begin", across: "right side" });
  }

  function ready({ onTrouble, onKept }) {
    Object.assign(state, { onTrouble, onKept });
    byId("mark").addEventListener("click", () => tap({}));
    byId("undo").addEventListener("click", undo);
    byId("unsay").addEventListener("click", () => { state.saying = null; showLast(); });
    byId("parkedbegin").addEventListener("click", () => parked(false));
    byId("parkedend").addEventListener("click", () => parked(true));
    byId("photo").addEventListener("change", (event) => {
      const [file] = event.target.files;
      if (file) {
        photo(file).then(() => { event.target.value = ""; });
      }
    });
    byId("clip").addEventListener("click", clip);
    byId("note").addEventListener("click", () => {
      byId("notes").hidden = !byId("notes").hidden;
      byId("notetext").focus();
    });
    byId("notes").addEventListener("submit", (event) => {
      event.preventDefault();
      const text = byId("notetext").value.trim();
      const joined = (body) => ({ note: [body.note, text].filter(Boolean).join("; ") });
      const kept = text ? more(joined) : Promise.resolve(true);
      kept.then((done) => {
        if (done) {
          byId("notetext").value = "";
          byId("notes").hidden = true;
        }
      });
    });
    KINDS.showAcross(byId("across"), (across) => more({ across }));
  }

  // The marks of the drive that goes on, when the page opens.
  async function again() {
    const made = await RECORD.marks(RECORD.now.drive.drive_id);
    state.saying = null;
    await became(made.at(-1) || null);
  }

  const settled = () => line;

  return { again, kind, more, ready, settled, tap };
})();
