// Where the person is: a station that was typed, a thing that was tapped, or the phone's position.
"use strict";

const PLACE = (() => {
  const { button, lines } = BOXES;
  const { byId, since, state, trouble } = CREW;
  // A position older than this is said to be old [ms].
  const OLD_FIX_MS = 15000;
  // Stations of places and their ± are said to this [the job's unit].
  const FINE = 5;
  let show = () => {};
  // The places of which the person is asked to pick one, as they are by the last position.
  let asked = [];

  function put(along, how, more = {}) {
    asked = [];
    byId("which").replaceChildren();
    state.place = { leg: state.leg.code, along, how, half: 0, ...more };
    show();
  }

  function nowhere(...texts) {
    asked = [];
    state.place = null;
    byId("which").replaceChildren(...lines("strong", texts));
    show();
  }

  // The buttons stay while positions come, so that a finger finds them; their words follow.
  function choose(words, places) {
    const buttons = byId("which").querySelectorAll("button");
    if (asked.length !== places.length || buttons.length !== places.length) {
      nowhere(words);
      byId("which").append(...places.map((_, at) => button("wide", "", () => {
        const { along, how, more } = asked[at];
        put(along, how, more);
      })));
    }
    asked = places;
    byId("which").querySelectorAll("button").forEach((one, at) => {
      one.textContent = places[at].label;
    });
  }

  function stop() {
    if (state.watch !== null) {
      navigator.geolocation.clearWatch(state.watch);
    }
    Object.assign(state, { watch: null, fix: null });
    byId("gps").setAttribute("aria-pressed", "false");
  }

  function onTyped(event) {
    event.preventDefault();
    if (!state.leg) {
      return;
    }
    const input = byId("station");
    const { places, why } = ROAD.typed(state.leg, input.value);
    input.blur();
    if (!places.length) {
      byId("which").replaceChildren(...lines("strong", [why]));
      return;
    }
    stop();
    if (places.length === 1) {
      put(places[0].along, "typed");
    } else {
      const typed = places.map((place) => ({ ...place, how: "typed" }));
      choose("This station stands more than once. Which?", typed);
    }
  }

  function tapped(thing) {
    stop();
    put(thing.along_m, `tapped ${thing.no}`);
  }

  // Of two places the one that goes on from where the person was, if one does.
  function following(places) {
    const { leg, list, place } = state;
    if (!place || !place.half || place.leg !== leg.code) {
      return null;
    }
    const far = (one) => Math.abs(one.along - place.along);
    const [best] = [...places].sort((a, b) => far(a) - far(b));
    return far(best) < list.gps.runner_up_apart_m / 2 ? best : null;
  }

  function byFix() {
    const { list, leg, fix } = state;
    const { longitude, latitude, accuracy } = fix.coords;
    const found = ROAD.located(leg, longitude, latitude, list.gps);
    const half = accuracy * list.gps.half_per_radius;
    const more = {
      half, lon: longitude, lat: latitude, ms: fix.timestamp, past: found.past,
    };
    if (found.distance - found.past > list.gps.corridor_m + accuracy) {
      nowhere(`GPS has you ${AHEAD.far(list, found.distance)} from the line of `
        + `${leg.code} ${leg.name}: pick the street you are on, or type a station.`);
      return;
    }
    const places = [found.along, found.other].filter((along) => along !== null).map((along) => ({
      along, label: ROAD.station(leg, along), how: "GPS", more,
    }));
    const one = places.length === 1 ? places[0] : following(places);
    if (one) {
      put(one.along, one.how, one.more);
    } else {
      choose("Two places of this street are nearly as near. Which?", places);
    }
  }

  function onFix(position) {
    trouble("");
    state.fix = position;
    if (state.list) {
      byFix();
    }
  }

  function onNoFix(error) {
    const refused = error.code === error.PERMISSION_DENIED;
    trouble(refused
      ? "The browser gives no position: it wants https or localhost, and your leave. Type a station."
      : "The phone has no position now. Type a station, or tap a thing of the list.");
    if (refused) {
      stop();
      show();
    }
  }

  function onGps() {
    if (state.watch !== null) {
      stop();
      show();
      return;
    }
    if (!navigator.geolocation) {
      trouble("This browser gives no position. Type a station.");
      return;
    }
    byId("gps").setAttribute("aria-pressed", "true");
    state.watch = navigator.geolocation.watchPosition(onFix, onNoFix, {
      enableHighAccuracy: true, maximumAge: 0,
    });
    show();
  }

  function nowhereText() {
    if (state.fix) {
      return "GPS does not place you on this street.";
    }
    return state.watch === null
      ? "Type a station, tap a thing in the list, or GPS." : "Waiting for GPS …";
  }

  // "At A 12+35, GPS ±45 ft." with all that is doubtful about it.
  function text() {
    const { list, leg, place } = state;
    if (!place) {
      return nowhereText();
    }
    const at = [leg.code, ROAD.station(leg, place.along), leg.zero].filter(Boolean).join(" ");
    if (!place.half) {
      return `At ${at}, ${place.how}`;
    }
    const half = `±${Math.ceil(place.half / list.unit_m / FINE) * FINE} ${list.unit}`;
    const poor = place.half > list.gps.poor_m * list.gps.half_per_radius;
    return [
      `At ${at}, ${place.how} ${half}.`,
      place.past && `${AHEAD.far(list, place.past)} past the end of the line.`,
      poor && "POOR: type a station.",
      Date.now() - place.ms > OLD_FIX_MS && `OLD: ${since(place.ms)}.`,
    ].filter(Boolean).join(" ");
  }

  function tell() {
    const said = state.list ? text() : "";
    byId("at").textContent = said;
    byId("at").classList.toggle("loud", /POOR|OLD|past the end/.test(said));
  }

  function begin(onShow) {
    show = onShow;
    byId("place").addEventListener("submit", onTyped);
    byId("gps").addEventListener("click", onGps);
  }

  return { begin, byFix, tapped, tell, text };
})();
