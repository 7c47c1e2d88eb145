// Holds the map's page in a frame that can reach nothing of this page, and carries between both:
// data and wishes in, what was chosen and where something was put out.
const PAGE = "MAP-PAGE";
const HOSTS = "TILE-HOSTS";

const frames = new WeakMap();

function held(root, hosts) {
  const frame = document.createElement("iframe");
  frame.title = "Map and list of the job";
  frame.setAttribute("sandbox", "allow-scripts");
  frame.srcdoc = PAGE.replace(HOSTS, hosts);
  const one = { frame, ready: false, serial: null, sent: "", component: null };
  window.addEventListener("message", ({ data, source }) => {
    if (source !== frame.contentWindow) {
      return;
    }
    if (data.ready) {
      one.ready = true;
      send(one);
    } else if (data.drawn !== undefined) {
      frame.dataset.drawn = data.drawn;
    } else if (data.placed) {
      one.component.setTriggerValue("placed", data.placed);
    } else if (data.chosen !== undefined) {
      one.component.setStateValue("chosen", data.chosen);
    }
  });
  root.querySelector(".map-frame").append(frame);
  return one;
}

// The data go in once for each state of the job.
function send(one) {
  const { job, serial, chosen, placing } = one.component.data;
  const fresh = serial !== one.serial;
  const wishes = JSON.stringify([serial, chosen, placing]);
  if (!one.ready || wishes === one.sent) {
    return;
  }
  one.frame.contentWindow.postMessage(
    { job: fresh ? job : null, serial, chosen, placing }, "*",
  );
  one.serial = serial;
  one.sent = wishes;
}

export default function mapFrame(component) {
  const root = component.parentElement;
  if (!frames.has(root)) {
    frames.set(root, held(root, component.data.hosts));
  }
  const one = frames.get(root);
  one.component = component;
  send(one);
}
