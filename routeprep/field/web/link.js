// The way to the office: pairing, what is handed out, and sending what the outbox holds in batches
// that are acknowledged.  No failure here discards anything.
"use strict";

const LINK = (() => {
  const FIELD = new URL("../", location.href);
  const [BATCH_ITEMS, BATCH_BYTES] = [200, 4e6];
  // After a failure the office is asked again so much later [ms].
  const AGAIN_MS = 10000;
  const ANSWER_MS = 60000;
  const state = { token: "", job: "", name: "", reached: null, ended: false, said: "" };
  const listeners = [];
  let most = BATCH_ITEMS;
  let sending = null;
  let timer = 0;

  const tell = () => listeners.forEach((listener) => listener(state));
  const onChange = (listener) => listeners.push(listener);

  // The token lies in the phone's own database; another of its pages may have paired meanwhile.
  async function known() {
    state.token = (await OUTBOX.get("token")) || "";
    state.job = (await OUTBOX.get("job")) || "";
  }

  // The office's answer, or null where none came.
  async function ask(path, body) {
    const control = new AbortController();
    const late = setTimeout(() => control.abort(), ANSWER_MS);
    const headers = { "X-Routeprep-Token": state.token };
    const options = { headers, cache: "no-store", signal: control.signal };
    if (body) {
      headers["Content-Type"] = "application/json";
      Object.assign(options, { method: "POST", body: JSON.stringify(body) });
    }
    try {
      const response = await fetch(new URL(path, FIELD), options);
      const json = await response.json().catch(() => null);
      // What stands between phone and office, a proxy say, may answer in its own way.
      state.reached = json !== null;
      state.ended = response.status === 401 || (state.ended && !response.ok);
      return json && { status: response.status, ok: response.ok, json };
    } catch {
      state.reached = false;
      return null;
    } finally {
      clearTimeout(late);
      tell();
    }
  }

  async function status() {
    await known();
    const got = state.token ? await ask("status") : null;
    if (got?.ok) {
      Object.assign(state, { job: got.json.job, name: got.json.name, said: "" });
      await OUTBOX.put("job", state.job);
      tell();
    }
    return got;
  }

  // Exchange a short code for a token: why not, or an empty text.
  async function pair(code) {
    const got = await ask("pair", { code });
    if (!got) {
      return "The office cannot be reached; the code holds for ten minutes.";
    }
    if (!got.ok) {
      return got.json.why;
    }
    await OUTBOX.put("token", got.json.token);
    await OUTBOX.put("job", "");
    state.ended = false;
    await OUTBOX.again();
    await status();
    push();
    return "";
  }

  async function list() {
    await known();
    const got = state.token ? await ask("list") : null;
    return got?.ok ? got.json : null;
  }

  function base64(bytes) {
    const all = new Uint8Array(bytes);
    let text = "";
    for (let at = 0; at < all.length; at += 0x8000) {
      text += String.fromCharCode(...all.subarray(at, at + 0x8000));
    }
    return btoa(text);
  }

  const wired = ({ counter, kind, thing, body, parents, time_ms, bytes }) => ({
    counter, kind, thing, body, parents, time_ms,
    ...(bytes ? { bytes_base64: base64(bytes) } : {}),
  });

  // One batch: whether there may be more.
  async function batch(device) {
    const items = await OUTBOX.next(state.job, { count: most, bytes: BATCH_BYTES });
    if (!items.length) {
      return false;
    }
    const got = await ask("items", { device, items: items.map(wired) });
    if (got?.ok) {
      const numbers = new Set(items.map((item) => item.counter));
      const refused = got.json.refused.filter((one) => numbers.has(one.counter));
      await OUTBOX.settle(got.json.had.filter((one) => numbers.has(one)), refused);
      [most, state.said] = [BATCH_ITEMS, ""];
      return got.json.had.length + refused.length > 0;
    }
    state.said = got?.json.why || "";
    if (got?.status !== 413 && got?.status !== 400) {
      return false;
    }
    if (items.length > 1) {
      most = Math.ceil(items.length / 2);
    } else {
      // One that can never go must not keep back all that comes after it; it stays on the phone.
      await OUTBOX.settle([], [{ counter: items[0].counter, why: state.said }]);
    }
    return true;
  }

  async function pushed() {
    await known();
    if (!state.token || state.ended) {
      return;
    }
    if (!state.job && !(await status())?.ok) {
      return;
    }
    const device = await OUTBOX.device();
    while (await batch(device)) {
      tell();
    }
  }

  // Send what waits; while something is left, try again later.
  function push() {
    sending ||= pushed()
      .catch((error) => { state.said = String(error.message || error); })
      .then(async () => {
        sending = null;
        clearTimeout(timer);
        if (state.token && !state.ended && await OUTBOX.waiting().catch(() => 1)) {
          timer = setTimeout(push, AGAIN_MS);
        }
        tell();
      });
    return sending;
  }

  window.addEventListener("online", push);
  return { list, onChange, pair, push, state, status };
})();
