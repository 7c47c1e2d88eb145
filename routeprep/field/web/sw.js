// Keeps the phone's pages on the phone, so that they open with no connection.  What is sent and
// what is handed out never goes through here.
"use strict";

const NAME = `routeprep field ${"VERSION"}`;
const SHELL = ["SHELL"];
const ADDRESSES = new Set(SHELL.map((name) => new URL(name, self.location.href).href));

self.addEventListener("install", (event) => {
  const fresh = SHELL.map((name) => new Request(name, { cache: "reload" }));
  event.waitUntil(
    caches.open(NAME).then((cache) => cache.addAll(fresh)).then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches.keys()
      .then((names) => names.filter((one) => one.startsWith("routeprep field ") && one !== NAME))
      .then((old) => Promise.all(old.map((one) => caches.delete(one))))
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("fetch", (event) => {
  const { method, mode, url } = event.request;
  const plain = url.split(/[?#]/)[0];
  const page = mode === "navigate" && !plain.endsWith("/") ? `${plain}/` : plain;
  if (method === "GET" && ADDRESSES.has(page)) {
    event.respondWith(
      caches.open(NAME).then((cache) => cache.match(page)).then((kept) => kept || fetch(page)),
    );
  }
});
