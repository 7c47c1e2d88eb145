// The page's data, unpacked: legs with their points, things, and which station stands where.
"use strict";

// What all else draws and lists; it is taken in map.js.
let JOB = null;

function unpackedJob(data) {
  // Stations are printed rounded, so that the last one may lie this far past the line's end [m].
  const NEAR_END_M = 2;
  // Two places nearer than this are one [m].
  const SAME_M = 0.5;

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

  function summed(steps) {
    let sum = 0;
    return steps.map((step) => { sum += step; return sum / 100; });
  }

  const things = data.things.rows.map((values) => {
    const thing = Object.fromEntries(data.things.names.map((name, i) => [name, values[i]]));
    return Object.assign(thing, { at: [thing.lat, thing.lon], span: unpacked(thing.span) });
  });
  things.forEach((thing, order) => { thing.order = order; });

  const legs = data.legs.map((leg) => Object.assign(leg, {
    points: unpacked(leg.line),
    alongs: summed(leg.along_cm),
    cut: unpacked(leg.cut),
    ticks: leg.ticks.map(([text, lat, lon, bearing, count]) => (
      { text, at: [lat, lon], bearing, count }
    )),
    things: things.filter((thing) => thing.leg === leg.code),
  }));
  const byCode = new Map(legs.map((leg) => [leg.code, leg]));
  things.forEach((thing) => { thing.zero = byCode.get(thing.leg).zero; });

  // A place on a leg's line, straight between its vertices.
  function pointAt(leg, along) {
    const { points, alongs } = leg;
    const last = alongs.length - 1;
    const at = Math.min(Math.max(along, 0), alongs[last]);
    const after = Math.max(1, alongs.findIndex((one) => one >= at));
    const share = (at - alongs[after - 1]) / (alongs[after] - alongs[after - 1] || 1);
    const [before, next] = [points[after - 1], points[after]];
    return before.map((value, i) => value + share * (next[i] - value));
  }

  // A place at a share of a leg's line, with the line's bearing there on the map [deg].
  function signAt(leg, share) {
    const along = share * leg.alongs[leg.alongs.length - 1];
    const [at, ahead] = [pointAt(leg, along), pointAt(leg, along + 1)];
    const east = (ahead[1] - at[1]) * Math.cos((at[0] * Math.PI) / 180);
    return { at, bearing: (Math.atan2(east, ahead[0] - at[0]) * 180) / Math.PI };
  }

  // Where on a leg's line a written value stands: none in an equation's gap, two in an overlap.
  function placesOf(leg, value) {
    const end = leg.alongs[leg.alongs.length - 1];
    const places = [];
    leg.pieces.forEach(([fromM, toM, first, last, region], i) => {
      const along = fromM + ((value - first) / (last - first)) * (toM - fromM);
      const low = i === 0 ? -NEAR_END_M : fromM - 1e-3;
      const high = i === leg.pieces.length - 1 ? end + NEAR_END_M : toM + 1e-3;
      const known = places.some((place) => Math.abs(place.along - along) < SAME_M);
      if (along >= low && along <= high && !known) {
        places.push({ leg, along, region, at: pointAt(leg, along) });
      }
    });
    return places;
  }

  function nearest(leg, along) {
    const far = (thing) => Math.abs(thing.along - along);
    return leg.things.reduce((best, thing) => (best && far(best) <= far(thing) ? best : thing), null);
  }

  // A distance for people, no finer than 5 ft or 1 m.
  function far(metres) {
    const us = data.job.units === "us";
    const rounded = us ? Math.round(metres / 0.3048 / 5) * 5 : Math.round(metres);
    return `${rounded.toLocaleString("en-US")} ${us ? "ft" : "m"}`;
  }

  return {
    ...data,
    things,
    legs,
    byCode,
    drives: data.drives.map(unpacked),
    passes: data.passes.map((one) => ({ ...one, ring: unpacked(one.ring) })),
    poor: data.poor.map((one) => ({ ...one, span: unpacked(one.span) })),
    look: data.look.map((one) => ({ ...one, span: unpacked(one.span) })),
    far,
    nearest,
    placesOf,
    signAt,
  };
}
