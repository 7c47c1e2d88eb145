// What the crew page has before it, and what all its parts say the same way.
"use strict";

const CREW = (() => {
  const byId = (id) => document.getElementById(id);

  const state = {
    list: null, names: [], fetchedMs: 0, askedMs: 0, reached: false,
    newer: null,
    picked: {}, leg: null, way: null, place: null, fix: null, watch: null,
    done: new Map(), found: [], view: "ahead", light: "night",
  };

  const clock = (ms) => new Date(ms).toLocaleTimeString(
    [], { hour: "2-digit", minute: "2-digit", hour12: false },
  );

  function since(ms) {
    const minutes = Math.max(0, Math.round((Date.now() - ms) / 60000));
    if (minutes < 60) {
      return `${minutes} min ago`;
    }
    const hours = Math.floor(minutes / 60);
    return hours < 48 ? `${hours} h ${minutes % 60} min ago` : `${Math.floor(hours / 24)} days ago`;
  }

  function trouble(text) {
    byId("trouble").textContent = text;
    byId("trouble").hidden = !text;
  }

  // The local date and time as the office writes it: 2026-06-01 21:05.
  function when() {
    const now = new Date();
    const two = (number) => String(number).padStart(2, "0");
    const day = [now.getFullYear(), two(now.getMonth() + 1), two(now.getDate())].join("-");
    return `${day} ${two(now.getHours())}:${two(now.getMinutes())}`;
  }

  // What the page can do without is kept if it can be; if not, that is said.
  async function keep(key, value) {
    try {
      await KEPT.put(key, value);
    } catch (error) {
      trouble(`This browser keeps nothing (${error.message}): with no connection the list is gone.`);
    }
  }

  return { byId, clock, keep, since, state, trouble, when };
})();
