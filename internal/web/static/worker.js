// Keeps the pages at hand when the shop is out of reach, and what is saved meanwhile until it can be sent.
// The server puts two lines before this: the name of this program's files (SHELL) and the list of them (FILES).
//
// Order and once: entries wait in a queue in this browser and are sent one after another, each under its own
// key, so that sending again after a lost answer makes no second entry. One that needs a person holds back
// those of the same guitar that come after it.
"use strict";

const PAGES = "fairset-pages";
const PAGE_PATIENCE = 5000, SAVE_PATIENCE = 12000, FIRST_SEND = 6000; // milliseconds
const GUITARS_KEPT = 3;
const GATEWAY = [502, 503, 504]; // a proxy that does not find the shop, or a shop whose disk is busy

let lost = false; // the last question to the shop had no answer
let sentNow = 0; // entries sent that no page has told of yet
const asSeen = new Map(); // client id → when the page it shows was last seen, for pages out of the store
const keptAt = new Map(); // guitar → when its pages were last fetched to be kept

self.addEventListener("install", (e) => e.waitUntil(caches.open(SHELL).then((c) => c.addAll(FILES)).then(() => self.skipWaiting())));
self.addEventListener("activate", (e) => e.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith("fairset-") && name !== SHELL && name !== PAGES) await caches.delete(name);
  await self.clients.claim();
})()));

// The queue, and what was last seen of each guitar.
let opened;
const database = () => opened ??= new Promise((yes, no) => {
  const r = indexedDB.open("fairset", 1);
  r.onupgradeneeded = () => {
    r.result.createObjectStore("queue", { keyPath: "id", autoIncrement: true });
    r.result.createObjectStore("seen", { keyPath: "guitar" });
  };
  r.onsuccess = () => yes(r.result);
  r.onerror = () => { opened = undefined; no(r.error); };
});
// stroke does all of what is asked or nothing of it; it is on the disk when stroke returns.
const stroke = async (stores, mode, ask) => {
  const db = await database();
  return new Promise((yes, no) => {
    const t = db.transaction(stores, mode, { durability: "strict" });
    const r = ask(...[stores].flat().map((s) => t.objectStore(s)));
    t.oncomplete = () => yes(r?.result);
    t.onerror = t.onabort = () => no(t.error);
  });
};
const queued = () => stroke("queue", "readonly", (q) => q.getAll()); // in the order they were typed

const later = (ms) => new Promise((yes) => setTimeout(yes, ms));
const within = (ms, ask) => {
  const c = new AbortController();
  const t = setTimeout(() => c.abort(), ms);
  return ask(c.signal).finally(() => clearTimeout(t));
};
const tooLate = (ms) => later(ms).then(() => { throw new Error("no answer in time"); });

self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url), method = e.request.method;
  if (url.origin !== location.origin) return;
  if (method === "GET" && url.pathname.startsWith("/static/")) e.respondWith(file(e.request));
  else if (e.request.mode !== "navigate") return;
  else if (method === "GET") e.respondWith(page(e, url));
  else if (method === "POST" && /^\/guitar\/[^/]+\/step\/[^/]+$/.test(url.pathname)) e.respondWith(save(e.request, url));
  else {
    // What one maker saw is not for the next one at this tablet.
    if (/^\/(sign-in|account\/out)$/.test(url.pathname)) e.waitUntil(caches.delete(PAGES));
    e.respondWith(fetch(e.request).catch(() => { lost = true; return unsaved(); }));
  }
});

const file = async (request) => (await caches.match(request)) ?? fetch(request);

const plain = async (path, status) => {
  const r = await caches.match(path);
  return r ? new Response(await r.blob(), { status, headers: r.headers }) : Response.error();
};
const unsaved = () => plain("/offline/unsaved", 503);

// keeps says which pages are worth keeping: those of a bench, no account's and no file.
const keeps = (path) => path === "/" || path === "/help" || path === "/climate" || path.startsWith("/guitar/") && !/\/(export|print\/.+)$/.test(path);
const isPage = (r) => r.ok && !r.redirected && (r.headers.get("Content-Type") ?? "").startsWith("text/html");

const keep = async (url, r) => {
  const headers = new Headers(r.headers);
  headers.set("Fairset-Seen", String(Date.now()));
  const cache = await caches.open(PAGES);
  await cache.delete(url);
  await cache.put(url, new Response(await r.blob(), { status: 200, headers }));
};

// see notes which state of a guitar a person was shown.
const see = async (text) => {
  const of = (name) => text.match(new RegExp(`<body[^>]*\\sdata-${name}="([^"]*)"`))?.[1];
  const guitar = of("guitar");
  if (guitar) await stroke("seen", "readwrite", (s) => s.put({ guitar, revision: Number(of("revision")), entries: Number(of("entries")), at: Date.now() }));
};

// speaks sees to it that what is kept is in the language that is read now.
const speaks = async (text) => {
  const of = (page) => page.match(/<html lang="([^"]*)"/)?.[1];
  const shell = await caches.open(SHELL);
  const kept = await shell.match("/offline");
  if (!kept || of(text) === of(await kept.text())) return;
  await caches.delete(PAGES);
  await shell.addAll(["/offline", "/waiting"]);
};

// page answers with the newest page there is: the shop's, else the one last seen.
const page = async (e, url) => {
  if ((await queued().catch(() => [])).length) await Promise.race([send(), later(FIRST_SEND)]);
  const address = url.pathname + url.search;
  if (url.pathname === "/sign-in") e.waitUntil(caches.delete(PAGES));
  const cache = await caches.open(PAGES);
  const old = keeps(url.pathname) ? await cache.match(address) ?? await cache.match(address, { ignoreSearch: true }) : undefined;
  const network = fetch(e.request).then(async (r) => {
    if (GATEWAY.includes(r.status)) throw new Error("the shop is not there");
    lost = false;
    if (keeps(url.pathname) && isPage(r)) {
      const copy = r.clone();
      e.waitUntil((async () => {
        const text = await copy.clone().text();
        await see(text);
        await speaks(text);
        await keep(address, copy);
      })().catch(() => {}));
    }
    return r;
  });
  e.waitUntil(network.catch(() => {}));
  try {
    return await (old ? Promise.race([network, tooLate(PAGE_PATIENCE)]) : network);
  } catch {
    lost = true;
    if (!old) return (await caches.match(address)) ?? plain("/offline", 200);
    asSeen.set(e.resultingClientId, Number(old.headers.get("Fairset-Seen")));
    return old;
  }
};

const post = (url, body, head) => within(SAVE_PATIENCE, (signal) => fetch(url, { method: "POST", redirect: "manual", signal, body, headers: { "Content-Type": "application/x-www-form-urlencoded", ...head } }));

// save sends an entry, or keeps it when the shop is out of reach or others of that guitar still wait.
const save = async (request, url) => {
  let body, photos = false;
  if ((request.headers.get("Content-Type") ?? "").startsWith("multipart/")) {
    const whole = request.clone(), parts = [...await request.formData()];
    photos = parts.some(([, v]) => typeof v !== "string" && v.size > 0);
    body = new URLSearchParams(parts.filter(([, v]) => typeof v === "string")).toString();
    if (photos) { // photos go straight to the shop, however long that takes; only the entry can wait here
      try {
        const r = await fetch(whole);
        if (!GATEWAY.includes(r.status)) {
          lost = false;
          return r;
        }
      } catch { /* out of reach: as below */ }
    }
  } else body = await request.text();
  const form = new URLSearchParams(body);
  const guitar = url.pathname.split("/")[2], who = form.get("who");
  const behind = !form.has("direct") && (await queued().catch(() => [])).some((x) => x.guitar === guitar && x.who === who);
  if (photos && !form.get("key")) return unsaved();
  if (photos) lost = true;
  else if (!behind || !form.get("key")) {
    try {
      const r = await post(url.href, body);
      if (!GATEWAY.includes(r.status) || !form.get("key")) {
        lost = false;
        return r;
      }
    } catch {
      if (!form.get("key")) return unsaved();
    }
    lost = true;
  }
  form.delete("direct");
  // The state this person has been shown last, on whatever page: what came before that is no surprise.
  const shown = await stroke("seen", "readonly", (s) => s.get(guitar));
  if (shown && shown.revision > Number(form.get("revision"))) {
    form.set("revision", shown.revision);
    form.set("seen", shown.entries);
  }
  try {
    await stroke("queue", "readwrite", (q) => q.add({ guitar, who, path: url.pathname, key: form.get("key"), body: form.toString(), name: form.get("name") ?? "", step: form.get("title") ?? "", said: form.get("said") ?? "", photos, at: Date.now(), stuck: null }));
  } catch {
    return unsaved();
  }
  if (behind) await Promise.race([send(), later(FIRST_SEND)]);
  await tell();
  return Response.redirect(url.pathname, 303);
};

// send sends what waits, one after another; asked twice at once it sends once.
let sending;
const send = () => sending ??= sendAll().catch(() => {}).finally(() => { sending = undefined; });
const sendAll = async () => {
  const held = new Set();
  for (const { id } of await queued()) {
    const x = await stroke("queue", "readonly", (q) => q.get(id)); // it may have been moved on by the one before
    if (!x) continue;
    if (x.stuck || held.has(x.guitar)) {
      held.add(x.guitar);
      continue;
    }
    let r, a;
    try {
      r = await post(x.path, x.body, { Accept: "application/json" });
      a = await r.clone().json().catch(() => null);
    } catch {
      lost = true;
      break;
    }
    if (r.status >= 500 || r.status === 429 || r.type === "opaqueredirect") {
      lost = GATEWAY.includes(r.status);
      break; // not now
    }
    lost = false;
    if (r.ok && a?.saved) {
      await done(x, a);
      sentNow++;
      continue;
    }
    held.add(x.guitar);
    if (r.status === 401 || r.status === 403) continue; // it waits for whoever typed it to sign in
    await stroke("queue", "readwrite", (q) => q.put({ ...x, stuck: { status: r.status, say: a?.say ?? "", theirs: a?.theirs ?? [], problems: a?.problems ?? [], revision: a?.revision ?? 0, entries: a?.seen ?? 0 } }));
  }
  await tell();
};

// done takes an entry that is saved out of the queue, and moves those after it on to the state it made.
const done = async (x, a) => stroke(["queue", "seen"], "readwrite", (q, s) => {
  q.delete(x.id);
  q.getAll().onsuccess = (e) => {
    for (const y of e.target.result) if (y.guitar === x.guitar && y.who === x.who && y.id !== x.id) {
      const f = new URLSearchParams(y.body);
      if (Number(f.get("revision")) >= a.revision) continue;
      f.set("revision", a.revision);
      if (a.seq) f.set("seen", a.seq);
      q.put({ ...y, body: f.toString() });
    }
  };
});

// keepPages fetches the pages of the guitar at hand, so that a step never opened is there too.
const keepPages = async (guitar, paths) => {
  if (lost || Date.now() - (keptAt.get(guitar) ?? 0) < 120000) return;
  keptAt.set(guitar, Date.now());
  for (const path of paths) {
    try {
      const r = await fetch(path, { headers: { "Fairset-Keep": "yes" } });
      if (isPage(r) && keeps(new URL(path, location.origin).pathname)) await keep(path, r);
    } catch {
      keptAt.delete(guitar);
      return;
    }
  }
  const known = (await stroke("seen", "readonly", (s) => s.getAll())).sort((a, b) => b.at - a.at).slice(0, GUITARS_KEPT).map((s) => s.guitar);
  const cache = await caches.open(PAGES);
  for (const k of await cache.keys()) {
    const [, where, id] = new URL(k.url).pathname.split("/");
    if (where === "guitar" && !known.includes(id)) await cache.delete(k);
  }
};

const state = async () => {
  const q = await queued().catch(() => []);
  return { waiting: q.filter((x) => !x.stuck).length, stuck: q.filter((x) => x.stuck).length, lost, sent: sentNow, queue: q };
};
const tell = async () => {
  const s = await state(), all = await self.clients.matchAll();
  for (const c of all) c.postMessage({ ...s, seen: asSeen.get(c.id) ?? 0 });
};

self.addEventListener("message", (e) => e.waitUntil((async () => {
  const m = e.data ?? {};
  switch (m.ask) {
    case "told": // a page has shown what was sent
      sentNow = 0;
      return;
    case "keep":
      return keepPages(m.guitar, m.paths);
    case "send":
      if (lost && !(await queued()).length) {
        try {
          await within(PAGE_PATIENCE, (signal) => fetch("/app.webmanifest", { cache: "no-store", signal }));
          lost = false;
        } catch { /* still out of reach */ }
      }
      await send();
      break;
    case "drop":
      await stroke("queue", "readwrite", (q) => q.delete(m.id));
      await send();
      break;
    case "mine": { // on top of what came between
      const x = await stroke("queue", "readonly", (q) => q.get(m.id));
      if (x?.stuck?.revision) {
        const f = new URLSearchParams(x.body);
        f.set("revision", x.stuck.revision);
        f.set("seen", x.stuck.entries);
        await stroke("queue", "readwrite", (q) => q.put({ ...x, body: f.toString(), stuck: null }));
      }
      await send();
      break;
    }
  }
  await tell();
})()));
