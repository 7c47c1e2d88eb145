// A drive as a GPX file, made on the phone: fixes as one track, marks as waypoints whose names are
// words that the office's reader understands.  It is GPX 1.0, which has speed and course.
"use strict";

const GPXFILE = (() => {
  const NAMESPACE = "http://www.topografix.com/GPX/1/0";
  const OWN = "urn:routeprep:field";

  const iso = (ms) => new Date(ms).toISOString();

  // What may not stand in XML at all, half characters too, goes out; the rest the serializer writes.
  const plain = (text) => [...String(text)]
    .filter((sign) => /[\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/u.test(sign)).join("");

  // What a person would have said of a mark: what, where across, size, proud or low.
  const words = ({ words: what, across, size, note }) => {
    const lead = /^(proud|low) [\d./ ]+in(, painted)?/.exec(note || "")?.[0] || "";
    return [what, across, size, lead].filter(Boolean).join(", ");
  };

  // Where a mark was made; one made before the first fix stands at the fix nearest in time.
  function placed({ lon_deg: lon, lat_deg: lat, time_ms: timeMs }, fixes) {
    if (lon !== null) {
      return { lat, lon };
    }
    const far = (fix) => Math.abs(fix[0] - timeMs);
    const near = fixes.reduce((best, fix) => (!best || far(fix) < far(best) ? fix : best), null);
    return near && { lat: near[2], lon: near[1] };
  }

  function text({ drive, fixes, marks }) {
    const xml = document.implementation.createDocument(NAMESPACE, "gpx", null);
    const add = (parent, name, value, attributes = {}) => {
      const element = xml.createElementNS(NAMESPACE, name);
      Object.entries(attributes).forEach(([key, one]) => element.setAttribute(key, one));
      if (value !== null) {
        element.textContent = plain(value);
      }
      parent.append(element);
      return element;
    };
    // What GPX has no name for stands in a namespace of our own.
    const more = (parent, values) => {
      Object.entries(values).forEach(([name, value]) => {
        if (value !== null && value !== "") {
          const element = xml.createElementNS(OWN, `field:${name}`);
          element.textContent = plain(value);
          parent.append(element);
        }
      });
    };
    const root = xml.documentElement;
    root.setAttribute("version", "1.0");
    root.setAttribute("creator", "routeprep");
    if (drive.by) {
      add(root, "author", drive.by);
    }
    for (const mark of marks) {
      const place = placed(mark, fixes);
      if (place) {
        const waypoint = add(root, "wpt", null, place);
        add(waypoint, "time", iso(mark.time_ms));
        if (words(mark)) {
          add(waypoint, "name", words(mark));
        }
        if (mark.note) {
          add(waypoint, "desc", mark.note);
        }
        const { accuracy_m: accuracy, photo, clip, method, note } = mark;
        const { said_leg: leg, said_station: station, said_offset: offset } = mark;
        more(waypoint, { accuracy, leg, station, offset, method, note, photo, clip });
      }
    }
    const track = add(root, "trk", null);
    add(track, "name", drive.name);
    const segment = add(track, "trkseg", null);
    for (const [timeMs, lon, lat, ele, accuracy, speed, course] of fixes) {
      const point = add(segment, "trkpt", null, { lat, lon });
      const told = { ele, time: iso(timeMs), course, speed };
      Object.entries(told).filter(([, value]) => value !== null)
        .forEach(([name, value]) => add(point, name, value));
      more(point, { accuracy });
    }
    return `<?xml version="1.0" encoding="UTF-8"?>\n${new XMLSerializer().serializeToString(xml)}\n`;
  }

  function save(whole) {
    const file = new Blob([text(whole)], { type: "application/gpx+xml" });
    const link = document.createElement("a");
    link.href = URL.createObjectURL(file);
    link.download = `${whole.drive.name.replace(/[^\w-]+/g, "-")}.gpx`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  }

  return { save, text };
})();
