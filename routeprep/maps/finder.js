// What a person typed, understood: a number, a station, or words.
"use strict";

const FINDER = (() => {
  const STATION = /^(-?)(\d+)\+(\d+)(\.\d+)?\s*(bk|ah|region\s*\d+)?(?:\s+from\b.*)?$/i;

  const plain = (text) => text.toLowerCase().replace(/[\s-]/g, "");

  // "A 12+40", "a12+40" and "A-12+40" without their leg; null where it names another leg or none.
  function withoutCode(text, code) {
    if (!text.toLowerCase().startsWith(code.toLowerCase())) {
      return null;
    }
    const rest = text.slice(code.length);
    const parted = /^[\s-]/.test(rest);
    return parted || /[a-z]$/i.test(code) ? rest.replace(/^(-(?=\d)|\s+)/, "") : null;
  }

  // Of several places with one label, the one that is said behind it.
  function meant(places, said) {
    if (/^region/i.test(said)) {
      const region = Number(/\d+/.exec(said)[0]);
      return places.filter((place) => place.region === region);
    }
    return said && places.length === 2 ? [places[/bk/i.test(said) ? 0 : 1]] : places;
  }

  function suffixed(place, i, places) {
    if (places.length < 2) {
      return "";
    }
    return places.length === 2 ? [" BK", " AH"][i] : ` region ${place.region}`;
  }

  // A station must have as many digits behind its plus as the leg's have.
  function placesOn(leg, text) {
    const match = STATION.exec(text);
    if (!match || match[3].length !== leg.digits) {
      return [];
    }
    const [, sign, whole, rest, decimals = "", said = ""] = match;
    const size = Number(whole) * leg.per_station + Number(rest + decimals);
    const places = JOB.placesOf(leg, sign ? -size : size).map((place, i, all) => {
      const words = [`${sign}${whole}+${rest}${decimals}${suffixed(place, i, all)}`, leg.zero];
      return { ...place, label: `${leg.code} ${BOXES.joined(" ", ...words)}` };
    });
    return meant(places, said);
  }

  function places(text) {
    const named = JOB.legs.filter((leg) => withoutCode(text, leg.code) !== null);
    const coded = named.flatMap((leg) => placesOn(leg, withoutCode(text, leg.code)));
    return coded.length ? coded : JOB.legs.flatMap((leg) => placesOn(leg, text));
  }

  // Everything in a thing's row that a person may look for.
  const words = (thing) => [
    thing.code, thing.what, thing.where, thing.do, thing.who, thing.status, thing.doubt, thing.note,
    thing.landmark, thing.lift,
  ].join(" ").toLowerCase();

  function byName(text) {
    const asked = plain(text);
    const starts = (thing) => [thing.no, thing.station, `${thing.leg}${thing.station}`]
      .some((one) => plain(one).startsWith(asked));
    const hits = JOB.things.filter(starts);
    if (hits.length) {
      return hits;
    }
    const parts = text.toLowerCase().split(/\s+/);
    return JOB.things.filter((thing) => parts.every((part) => words(thing).includes(part)));
  }

  // The things that answer, the places on a line, and which one is meant if only one can be.
  function ask(text) {
    const asked = text.trim();
    const found = places(asked);
    if (found.length) {
      const near = found.map((place) => JOB.nearest(place.leg, place.along)).filter(Boolean);
      return { things: [...new Set(near)], places: found };
    }
    const hits = byName(asked);
    const station = /^[a-z0-9]{0,6}[\s-]*\d+\+\d+/i.test(asked);
    const nothing = station ? `no leg has the station ${asked}` : `nothing is called ${asked}`;
    return {
      things: hits,
      places: [],
      exact: hits.find((thing) => plain(thing.no) === plain(asked)),
      nothing: hits.length ? "" : nothing,
    };
  }

  return { ask };
})();
