// Where a place is on a leg: by a written station, or by the phone's position on the centerline.
"use strict";

const ROAD = (() => {
  // WGS 84: half-axis [m] and first eccentricity squared (NIMA TR8350.2, table 3.1 and 3.3).
  const HALF_AXIS_M = 6378137;
  const E2 = 6.69437999014e-3;
  const RAD = Math.PI / 180;
  // A label this near past an end of the line still counts as on it [m], as printed stations are
  // rounded; two places nearer than the second are one [m].
  const NEAR_END_M = 2;
  const SAME_M = 0.5;
  const STATION = /^(-?)(\d+)(?:[+\s](\d+))?(\.\d+)?\s*(bk|ah|region\s*\d+)?(?:\s+from\b.*)?$/i;

  // --- stations ---------------------------------------------------------------------------------

  // Where a written value stands on a leg: none in an equation's gap, two in an overlap.
  function placesOf(leg, value) {
    const end = leg.line[leg.line.length - 1][2];
    const places = [];
    leg.pieces.forEach(([fromM, toM, first, last, region], i) => {
      const along = fromM + ((value - first) / (last - first)) * (toM - fromM);
      const low = i === 0 ? -NEAR_END_M : fromM - 1e-3;
      const high = i === leg.pieces.length - 1 ? end + NEAR_END_M : toM + 1e-3;
      const known = places.some((place) => Math.abs(place.along - along) < SAME_M);
      if (along >= low && along <= high && !known) {
        places.push({ along, region });
      }
    });
    return places;
  }

  function written(leg, value) {
    const size = Math.abs(value);
    const whole = Math.floor(size / leg.per_station);
    const rest = String(size - whole * leg.per_station).padStart(leg.digits, "0");
    return `${value < 0 ? "-" : ""}${whole}+${rest}`;
  }

  function suffix(places, along) {
    const at = places.findIndex((place) => Math.abs(place.along - along) < SAME_M);
    if (places.length < 2 || at < 0) {
      return "";
    }
    return places.length === 2 ? [" BK", " AH"][at] : ` region ${places[at].region}`;
  }

  // The station of a place, to 5 ft or 1 m, never beyond the label's own region.
  function station(leg, along) {
    const piece = leg.pieces.find(([, toM]) => along < toM) || leg.pieces[leg.pieces.length - 1];
    const [fromM, toM, first, last] = piece;
    const exact = first + ((along - fromM) / (toM - fromM)) * (last - first);
    const step = leg.unit === "m" ? 1 : 5;
    const inside = along >= fromM && along <= toM;
    let value = Math.round(exact / step) * step;
    if (inside && leg.pieces.length > 1 && (value > last || value < first)) {
      value = Math.round(exact);
    }
    const places = placesOf(leg, value);
    const near = places.reduce((best, place) => (
      !best || Math.abs(place.along - along) < Math.abs(best.along - along) ? place : best
    ), null);
    return `${written(leg, value)}${near ? suffix(places, near.along) : ""}`;
  }

  // Of several places with one label, those that what is written behind it means.
  function meant(places, said) {
    if (/^region/i.test(said)) {
      const region = Number(/\d+/.exec(said)[0]);
      return places.filter((place) => place.region === region);
    }
    return said && places.length === 2 ? [places[/bk/i.test(said) ? 0 : 1]] : places;
  }

  // What a person typed: the places it can mean, and what is wrong where there is none.  A number
  // without a plus is the whole value: 1235 is 12+35.
  function typed(leg, text) {
    const match = STATION.exec(text.trim());
    if (!match) {
      return { places: [], why: `"${text.trim()}" is no station; type it as ${written(leg, 1235)}` };
    }
    const [, sign, whole, rest, decimals = "", said = ""] = match;
    if (rest !== undefined && rest.length !== leg.digits) {
      return { places: [], why: `After the plus come ${leg.digits} digits, as in ${written(leg, 1235)}` };
    }
    const size = rest === undefined
      ? Number(whole + decimals)
      : Number(whole) * leg.per_station + Number(rest + decimals);
    const value = sign ? -size : size;
    const all = placesOf(leg, value);
    const places = meant(all, said).map((place) => ({
      ...place, label: `${written(leg, Math.round(value))}${suffix(all, place.along)}`,
    }));
    const why = places.length ? "" : `Leg ${leg.code} has no station ${text.trim()}`;
    return { places, why };
  }

  // --- the phone's position ---------------------------------------------------------------------

  // Metres east and north of a point: the radii of the ellipsoid at the latitude halfway, which
  // over a kilometre is right within a millimetre.
  function flat(lon0, lat0) {
    return (lon, lat) => {
      const sin = Math.sin(((lat + lat0) / 2) * RAD);
      const w = 1 - E2 * sin * sin;
      const east = (HALF_AXIS_M / Math.sqrt(w)) * Math.sqrt(1 - sin * sin);
      const north = (HALF_AXIS_M * (1 - E2)) / (w * Math.sqrt(w));
      return [(lon - lon0) * RAD * east, (lat - lat0) * RAD * north];
    };
  }

  // The foot of the origin on one segment; past an end of the whole line the segment is drawn on.
  function foot([x1, y1], [x2, y2], isFirst, isLast) {
    const [dx, dy] = [x2 - x1, y2 - y1];
    const raw = -(x1 * dx + y1 * dy) / (dx * dx + dy * dy);
    const share = Math.min(Math.max(raw, 0), 1);
    const distance = Math.hypot(x1 + share * dx, y1 + share * dy);
    const past = (isFirst && raw < 0) || (isLast && raw > 1);
    return { share: past ? raw : share, past, distance };
  }

  // Every segment's foot of a point, with how far along it is.
  function feet(leg, lon, lat) {
    const plane = flat(lon, lat);
    const points = leg.line.map(([one, other]) => plane(one, other));
    const last = points.length - 2;
    return points.slice(0, -1).map((point, i) => {
      const found = foot(point, points[i + 1], i === 0, i === last);
      const [from, to] = [leg.line[i][2], leg.line[i + 1][2]];
      return { ...found, along: from + found.share * (to - from) };
    });
  }

  const nearest = (found) => found.reduce(
    (best, one) => (best && best.distance <= one.distance ? best : one), null,
  );

  // The nearest place on a leg's line, and another one that is nearly as near, if there is one.
  function located(leg, lon, lat, rules) {
    const found = feet(leg, lon, lat);
    const best = nearest(found);
    const other = nearest(found.filter((one) => (
      Math.abs(one.along - best.along) > rules.runner_up_apart_m
      && one.distance <= best.distance + rules.runner_up_within_m
    )));
    const end = leg.line[leg.line.length - 1][2];
    return {
      along: best.along,
      distance: best.distance,
      past: best.past ? Math.max(-best.along, best.along - end, 0) : 0,
      other: other ? other.along : null,
    };
  }

  return { located, station, typed };
})();
