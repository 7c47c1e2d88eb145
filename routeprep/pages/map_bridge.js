// Inside the map's page: takes data and wishes from the page that holds it, tells what is chosen
// and where a thing was put.  Nothing else gets in or out of the frame.
"use strict";

{
  const { map } = MAP;
  const post = (message) => parent.postMessage(message, "*");
  let started = false;
  let quiet = false;
  // What the next tap on the map is for: "", "move" for the chosen thing, "add" for a new mark.
  let placing = "";
  let chosen = "";
  let hand = null;

  const put = (at) => post({ placed: { what: placing, id: chosen, lat: at.lat, lon: at.lng } });

  function letGo() {
    hand?.remove();
    hand = null;
  }

  // A cross that can be dragged, where the thing is.
  function grip() {
    letGo();
    const thing = JOB && JOB.things.find((one) => one.id === chosen);
    if (placing !== "move" || !thing) {
      return;
    }
    const box = document.createElement("div");
    box.className = "place";
    const icon = L.divIcon({ html: box, className: "", iconSize: [44, 44] });
    hand = L.marker(thing.at, { icon, draggable: true, autoPan: true, zIndexOffset: 5000 }).addTo(map);
    hand.on("dragend", () => put(hand.getLatLng()));
    map.closePopup();
  }

  function choose(id) {
    chosen = id;
    const thing = JOB.things.find((one) => one.id === id);
    if (thing) {
      quiet = true;
      MAP.choose(thing, "desk");
      quiet = false;
    }
  }

  map.on("click", ({ latlng }) => placing && put(latlng));

  document.addEventListener("chosen", ({ detail }) => {
    chosen = detail;
    grip();
    if (!quiet) {
      post({ chosen });
    }
  });

  window.addEventListener("message", ({ data, source }) => {
    if (source !== parent) {
      return;
    }
    if (data.job) {
      (started ? MAP.renew : MAP.start)(data.job);
      started = true;
    }
    if (started && data.chosen !== chosen) {
      choose(data.chosen);
    }
    placing = data.placing;
    document.body.classList.toggle("placing", placing !== "");
    grip();
    if (data.job) {
      post({ drawn: data.serial });
    }
  });

  post({ ready: true });
}
