// The lines of the map: drives, centerlines, the cut, lanes, and what was poorly looked at.
"use strict";

const LINES = (() => {
  const map = map_job;
  const fixed = L.layerGroup().addTo(map);
  const scaled = L.layerGroup().addTo(map);

  // On the screen a canvas, which thousands of vertices do not slow down; on paper lines that
  // stay sharp.
  const onScreen = L.canvas({ padding: 0.2 });
  const onPaper = L.svg({ padding: 0.2 });
  let renderer = onScreen;

  const BESIDE_PX = 11;
  const STEP_PX = 8;
  const TOUCH_PX = 44;
  // Lanes are drawn once one is this wide on the screen.
  const LANE_FROM_PX = 7;

  const colour = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

  function line(points, style, group) {
    return L.polyline(points, { renderer, interactive: false, ...style }).addTo(group);
  }

  // What keeps its place whatever the scale; drawn again for other colours, layers or paper.
  function drawFixed(layers) {
    fixed.clearLayers();
    const ink = colour("--ink");
    if (layers.drives) {
      line(JOB.drives, { color: colour("--faint"), weight: 1, opacity: 0.7 }, fixed);
    }
    for (const leg of JOB.legs) {
      line(leg.cut, { color: ink, weight: 9, opacity: 0.25, lineCap: "butt" }, fixed);
      line(leg.points, { color: ink, weight: 2, dashArray: leg.path_driven ? "8 5" : null }, fixed);
    }
    if (layers.passes) {
      for (const one of JOB.passes) {
        line(one.ring, { color: ink, weight: 1, opacity: 0.55 }, fixed);
      }
    }
    for (const thing of JOB.things.filter((item) => item.span.length)) {
      line(thing.span, { color: ink, weight: 5, lineCap: "butt" }, fixed);
    }
  }

  // Points of the screen, no two nearer than a step but for the ends.
  function thinned(points) {
    const [first, ...rest] = points;
    const kept = [first];
    rest.forEach((point, i) => {
      if (i === rest.length - 1 || point.distanceTo(kept[kept.length - 1]) >= STEP_PX) {
        kept.push(point);
      }
    });
    return kept;
  }

  // A line moved to its right by a width on the screen, negative to its left.
  function beside(latLngs, widthPx) {
    const points = thinned(latLngs.map((at) => map.project(at)));
    return points.map((point, i) => {
      const ahead = points[Math.min(i + 1, points.length - 1)];
      const way = ahead.subtract(points[Math.max(i - 1, 0)]);
      const size = Math.hypot(way.x, way.y) || 1;
      return map.unproject(point.add(L.point(-way.y, way.x).multiplyBy(widthPx / size)));
    });
  }

  function drawLanes(leg, perPixel) {
    const lanePx = leg.lane_m / perPixel;
    if (lanePx < LANE_FROM_PX || !leg.cut.length) {
      return;
    }
    const [left, right] = leg.lanes;
    for (let k = -left; k <= right; k += 1) {
      const edge = k === -left || k === right;
      const style = { color: colour("--ink"), weight: 1, dashArray: edge ? null : "10 14" };
      if (k !== 0) {
        line(beside(leg.cut, k * lanePx), style, scaled);
      }
    }
  }

  function drawPoor(onPoor) {
    for (const stretch of JOB.poor) {
      const path = beside(stretch.span, BESIDE_PX);
      const style = { color: colour("--ink"), weight: 9, dashArray: "3 5", lineCap: "butt" };
      line(path, style, scaled);
      line(path, { interactive: true, weight: TOUCH_PX, opacity: 0 }, scaled)
        .on("click", (event) => onPoor(stretch, event.latlng));
    }
  }

  function drawLook() {
    for (const place of JOB.look.filter((one) => one.span.length)) {
      const style = { color: colour("--ink"), weight: 4, dashArray: "1 9", lineCap: "round" };
      line(beside(place.span, -BESIDE_PX), style, scaled);
    }
  }

  function metresPerPixel() {
    const { y } = map.getSize();
    const ends = [[0, y / 2], [100, y / 2]].map((point) => map.containerPointToLatLng(point));
    return map.distance(...ends) / 100;
  }

  // What is as wide on the screen as it is whatever the scale, and lanes, which are not.
  function drawScaled(layers, onPoor) {
    scaled.clearLayers();
    if (layers.lanes) {
      JOB.legs.forEach((leg) => drawLanes(leg, metresPerPixel()));
    }
    if (layers.look) {
      drawLook();
    }
    if (layers.poor) {
      drawPoor(onPoor);
    }
  }

  // A dot where a thing is that stands under another's sign.
  function dot(at) {
    const style = { color: colour("--paper"), weight: 1, fillColor: colour("--ink"), fillOpacity: 1 };
    L.circleMarker(at, { renderer, interactive: false, radius: 4, ...style }).addTo(scaled);
  }

  function draftFor(paper) {
    renderer = paper ? onPaper : onScreen;
  }

  return { dot, draftFor, drawFixed, drawScaled, metresPerPixel };
})();
