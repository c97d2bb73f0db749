// Everything works without this script; it only makes the pages quicker.
"use strict";
(() => {
  document.documentElement.classList.add("scripted");

  // What the script says, in the page's language; {1} and on are what stands in it.
  const language = document.documentElement.lang;
  const say = (text, ...args) => (window.fairsetWords?.[text] ?? text).replace(/\{(\d)\}/g, (_, n) => args[n - 1]);

  // The list of problems is read out and reached first.
  document.querySelector(".problems")?.focus();

  // What the server drew is put in place of what stood there; what was unfolded or held stays so.
  const renew = (into, text) => {
    const folds = [...into.querySelectorAll("details[id]")].filter((d) => d.open).map((d) => d.id);
    const held = into.contains(document.activeElement) ? document.activeElement.id : "";
    into.innerHTML = text;
    for (const id of folds) document.getElementById(id)?.setAttribute("open", "");
    if (held) document.getElementById(held)?.focus({ preventScroll: true });
    into.classList.remove("waiting");
  };

  // What was typed into a form that could not be sent is there again when its maker goes back, even where the browser forgets it.
  const typed = "typed " + location.pathname;
  const answers = (form) => [...form.elements].filter((f) => f.name && f.matches("input:not([type=hidden], [type=file]), select, textarea"));
  if (performance.getEntriesByType("navigation")[0]?.type === "back_forward") {
    const was = JSON.parse(sessionStorage.getItem(typed) ?? "null");
    const form = was && [...document.forms].find((f) => f.getAttribute("action") === was.action && answers(f).length === was.fields.length);
    if (form) addEventListener("pageshow", () => { // after what the browser itself remembers
      answers(form).forEach((f, i) => Object.assign(f, was.fields[i]));
      answers(form)[0]?.dispatchEvent(new Event("input", { bubbles: true }));
    });
  } else if (!document.querySelector("[data-unsaved]")) sessionStorage.removeItem(typed);
  document.addEventListener("submit", (e) => {
    const fields = answers(e.target);
    if (e.target.method !== "post" || fields.some((f) => f.type === "password")) return;
    const held = (f) => (f.type === "radio" || f.type === "checkbox" ? { checked: f.checked } : { value: f.value });
    sessionStorage.setItem(typed, JSON.stringify({ action: e.target.getAttribute("action"), fields: fields.map(held) }));
  });

  // A form marked data-try shows what its figures ask for while they are typed; nothing is saved.
  for (const form of document.querySelectorAll("form[data-try]")) {
    const into = document.getElementById(form.dataset.into);
    const said = document.getElementById(form.dataset.said);
    if (!into) continue;
    let timer, running;
    const run = async () => {
      running?.abort();
      running = new AbortController();
      try {
        const answer = await fetch(form.dataset.try, { method: "POST", headers: { "Fairset-Part": "yes" }, body: new URLSearchParams(new FormData(form)), signal: running.signal });
        if (answer.ok || answer.status === 422) {
          renew(into, await answer.text());
          if (said) said.textContent = into.querySelector("[data-say]")?.textContent ?? "";
        }
      } catch (e) {
        if (e.name !== "AbortError") into.classList.add("waiting");
      }
    };
    const soon = (e) => {
      if (e.target.form !== form) return;
      clearTimeout(timer);
      timer = setTimeout(run, 250);
    };
    // Inputs may stand outside their form, so the page is listened to and not the form.
    document.addEventListener("input", soon);
  }

  // A form marked data-live redraws its part at every move of a slider: one question at a time, and the
  // newest figures always asked last. It is read out when the slider is let go.
  for (const form of document.querySelectorAll("form[data-live]")) {
    const into = document.getElementById(form.dataset.into);
    const said = document.getElementById(form.dataset.said);
    if (!into) continue;
    let busy = false, again = false, moving = false;
    const run = async () => {
      again = true;
      if (busy) return;
      busy = true;
      while (again) {
        again = false;
        const query = new URLSearchParams(new FormData(form));
        const wide = into.clientWidth >= 36 * parseFloat(getComputedStyle(document.documentElement).fontSize);
        query.set("shape", wide ? "wide" : "narrow");
        // Folded numbers wait until the slider is let go: nobody sees them, and they cost as much as the drawing.
        if (moving && !into.querySelector("details[open]")) query.set("numbers", "later");
        try {
          const answer = await fetch(form.dataset.live + "?" + query);
          if (!answer.ok && answer.status !== 422) throw new Error(answer.status);
          renew(into, await answer.text());
          for (const s of into.querySelectorAll("[data-for]")) {
            const slider = document.getElementById(s.dataset.for);
            slider?.setAttribute("aria-valuetext", s.dataset.text);
            const out = slider?.parentElement.querySelector("output");
            if (out) out.textContent = s.dataset.text;
          }
        } catch {
          into.classList.add("waiting");
        }
      }
      busy = false;
    };
    form.addEventListener("input", () => { moving = true; run(); });
    form.addEventListener("change", () => { moving = false; run(); if (said) said.textContent = into.querySelector("[data-say]")?.textContent ?? ""; });
    form.addEventListener("submit", (e) => { e.preventDefault(); run(); });
  }

  // A form marked data-stream asks for sums that take seconds. While a slider moves only its own part is asked for, one question at a time;
  // let go, everything, and what was still under way is given up. Lines before "---" say how far it has come.
  for (const form of document.querySelectorAll("form[data-stream]")) {
    const parts = form.dataset.into.split(" ").map((id) => document.getElementById(id));
    const said = document.getElementById(form.dataset.said);
    const bar = document.getElementById(form.dataset.bar);
    if (parts.includes(null) || !bar) continue;
    let running = null, again = false;
    const ask = async (quick) => {
      if (running && quick) { again = true; return; }
      running?.abort();
      const mine = running = new AbortController();
      again = false;
      const query = new URLSearchParams(new FormData(form));
      query.delete("revision");
      if (quick) query.set("quick", "yes");
      bar.querySelector("progress").value = 0;
      const show = setTimeout(() => { bar.hidden = false; }, quick ? 1500 : 300);
      try {
        const answer = await fetch(form.dataset.stream + "?" + query, { signal: mine.signal });
        if (!answer.ok || !answer.body) throw new Error(answer.status);
        const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
        let text = "", html = false;
        for (;;) {
          const { done, value } = await reader.read();
          if (done) break;
          text += value;
          html ||= text.includes("---\n");
          if (!html) bar.querySelector("progress").value = parseFloat(text.trimEnd().split("\n").pop()) || 0;
        }
        const got = text.split("---\n").slice(1);
        if (!got.length) throw new Error("cut short");
        parts.forEach((part, i) => got[i] === undefined ? part.classList.toggle("waiting", quick) : renew(part, got[i]));
        for (const s of parts[0].querySelectorAll("[data-for]")) {
          const slider = document.getElementById(s.dataset.for);
          slider?.setAttribute("aria-valuetext", s.dataset.text);
          const out = slider?.parentElement.querySelector("output");
          if (out) out.textContent = s.dataset.text;
        }
        if (said && !quick) said.textContent = parts.map((p) => p.querySelector("[data-say]")).find((p) => p)?.textContent ?? "";
      } catch (e) {
        if (e.name !== "AbortError") for (const p of parts) p.classList.add("waiting");
      } finally {
        clearTimeout(show);
        if (running === mine) {
          running = null;
          bar.hidden = true;
          if (again) ask(true);
        }
      }
    };
    const slides = (e) => e.target.type === "range";
    form.addEventListener("input", (e) => { if (slides(e)) ask(true); });
    form.addEventListener("change", (e) => { if (slides(e)) ask(false); else if ("reload" in e.target.dataset) form.submit(); });
    bar.querySelector("button").addEventListener("click", () => { again = false; running?.abort(); });
    addEventListener("pagehide", () => running?.abort());
    if (form.dataset.now) ask(false);
  }

  // A net that swings: between the two pictures of its extremes, until it is told to hold still. Who wants less motion keeps the pictures.
  document.addEventListener("click", (e) => {
    const button = e.target.closest?.("button[data-swing]");
    const place = button?.closest(".mode")?.querySelector("[data-net]");
    if (!place || matchMedia("(prefers-reduced-motion: reduce)").matches) return;
    const moving = place.querySelector(".moving");
    const label = button.firstChild;
    button.setAttribute("aria-pressed", String(!moving));
    if (moving) {
      moving.remove();
      place.classList.remove("swings");
      label.data = say("Show it moving");
      return;
    }
    label.data = say("Hold it still");
    place.classList.add("swings");
    const net = JSON.parse(place.dataset.net);
    const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    svg.setAttribute("viewBox", `0 0 ${net.Width} ${net.Height}`);
    svg.setAttribute("class", "moving");
    svg.setAttribute("aria-hidden", "true");
    const path = svg.appendChild(document.createElementNS("http://www.w3.org/2000/svg", "path"));
    place.append(svg);
    const draw = (t) => {
      if (!svg.isConnected) return;
      const s = Math.sin(t / 1200 * 2 * Math.PI);
      path.setAttribute("d", net.Lines.map((line) => "M" + line.map((q) => `${q[0]} ${(q[1] - s * q[2]).toFixed(2)}`).join("L")).join(""));
      requestAnimationFrame(draw);
    };
    requestAnimationFrame(draw);
  });

  // A part marked data-poll is asked for again until what it tells of has ended.
  for (const part of document.querySelectorAll("[data-poll]")) {
    const look = async () => {
      if (part.querySelector("[data-ended]")) return;
      try {
        const answer = await fetch(part.dataset.poll, { headers: { "Fairset-Part": "yes" } });
        if (answer.ok) renew(part, await answer.text());
      } catch {
        part.classList.add("waiting"); // the next answer takes it away
      }
      setTimeout(look, 700);
    };
    setTimeout(look, 300);
  }

  // A part marked data-watch is told when what it shows has changed, and asks for itself again. The browser opens the
  // stream again by itself when it breaks, and says which event it heard last.
  for (const part of document.querySelectorAll("[data-watch]")) {
    let busy = false, again = false;
    const look = async () => {
      again = true;
      if (busy) return;
      busy = true;
      while (again) {
        again = false;
        try {
          const answer = await fetch(part.dataset.part, { headers: { "Fairset-Part": "yes" } });
          if (!answer.ok) throw new Error(answer.status);
          renew(part, await answer.text());
        } catch {
          part.classList.add("waiting");
        }
      }
      busy = false;
    };
    let stream;
    const open = () => {
      stream = new EventSource(part.dataset.watch);
      stream.addEventListener("change", look);
      stream.onopen = () => part.classList.contains("waiting") && look();
      stream.onerror = () => {
        part.classList.add("waiting");
        if (stream.readyState === EventSource.CLOSED) setTimeout(open, 15000); // turned away: ask again later
      };
    };
    open();
    window.addEventListener("pagehide", () => stream.close());
    window.addEventListener("pageshow", (e) => { if (e.persisted) { open(); look(); } });
  }

  // A second tap on a save button must not save twice.
  for (const form of document.querySelectorAll("form[method=post]")) {
    form.addEventListener("submit", (e) => {
      if (form.dataset.sent) { e.preventDefault(); return; }
      form.dataset.sent = "yes";
      setTimeout(() => delete form.dataset.sent, 4000);
    });
  }

  // A form that may wait on the device says in words what it holds, for whoever looks at what waits. A page out of
  // the store may be sent more than once, so each showing of it has a key of its own.
  for (const form of document.querySelectorAll("form[data-keep]")) {
    const hold = (name, value) => {
      let i = form.querySelector(`input[type=hidden][name=${name}]`);
      if (!i) {
        i = document.createElement("input");
        i.type = "hidden";
        i.name = name;
        form.append(i);
      }
      i.value = value;
    };
    if (window.crypto?.randomUUID) hold("key", crypto.randomUUID());
    form.addEventListener("submit", () => {
      const said = [];
      for (const f of form.querySelectorAll(".field")) {
        const label = (f.querySelector("legend, label")?.firstChild?.textContent ?? "").trim();
        const typed = [...f.querySelectorAll("input, select, textarea")].filter((i) => i.type !== "file" && (i.type !== "radio" && i.type !== "checkbox" || i.checked))
          .map((i) => (i.type === "radio" || i.type === "checkbox" ? i.parentElement.textContent : i.tagName === "SELECT" ? i.selectedOptions[0]?.textContent ?? "" : i.value).trim()).filter((t) => t && t !== say("not given"));
        const unit = f.querySelector(".unit")?.textContent ?? "";
        if (typed.length) said.push(label + ": " + typed.map((t) => (/^[-+\d.,/ ]+$/.test(t) ? (t + " " + unit).trim() : t)).join(", "));
      }
      if (![...form.querySelectorAll("input[type=file]")].some((i) => i.files.length)) form.enctype = "application/x-www-form-urlencoded";
      hold("said", said.join("; ").slice(0, 1000));
      hold("title", form.dataset.keep);
      hold("name", document.body.dataset.name ?? "");
      hold("who", document.body.dataset.who ?? "");
    });
  }

  // What waits on this device, and whether the shop is in reach. The worker keeps and sends; this only shows.
  const line = document.getElementById("line");
  if (line && "serviceWorker" in navigator && window.isSecureContext) {
    const worker = navigator.serviceWorker;
    const tell = (m) => worker.ready.then((r) => r.active?.postMessage(m));
    const el = (tag, words, more) => Object.assign(document.createElement(tag), { textContent: words }, more);
    const when = (t) => new Date(t).toLocaleString(language === "en" ? [] : language, { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
    const waits = (n) => n === 1 ? say("1 entry waits on this device.") : say("{1} entries wait on this device.", n);
    let last = "", state = { waiting: 0, stuck: 0, lost: false };
    // What was sent may be told to a page that is just being left: the next one in this tab says it for a while.
    const before = JSON.parse(sessionStorage.getItem("sent") ?? "null");
    let sent = before && Date.now() - before.at < 30000 ? before.n : 0;
    const show = (s) => {
      state = s;
      if (s.sent) {
        sent += s.sent;
        sessionStorage.setItem("sent", JSON.stringify({ n: sent, at: Date.now() }));
        tell({ ask: "told" });
      }
      if (s.seen) document.querySelector(".notice")?.remove(); // it was of then
      const now = JSON.stringify([s.waiting, s.stuck, s.lost, sent, s.seen]);
      if (now !== last) {
        last = now;
        const p = document.createElement("p");
        let look = "quiet";
        if (s.lost) {
          look = "out";
          p.append(el("span", say("Offline: the shop is out of reach.") + " " + (s.waiting ? waits(s.waiting) : say("What you save stays on this device until it is sent."))));
        } else if (s.waiting) p.append(el("span", waits(s.waiting)));
        if (s.stuck) {
          look = "asks";
          p.append(el("span", s.stuck === 1 ? say("1 entry needs you to look at it.") : say("{1} entries need you to look at them.", s.stuck)));
        }
        if (sent && !s.lost) p.append(el("span", sent === 1 ? say("1 entry sent.") : say("{1} entries sent.", sent)));
        if (s.waiting || s.stuck) p.append(el("a", say("Look at what waits"), { href: "/waiting" }));
        if (sent && !s.lost && !s.waiting && document.body.dataset.guitar) p.append(el("a", say("Show the page anew"), { href: location.href }));
        if (s.seen) p.append(el("span", say("This page is as it was on {1}.", when(s.seen)), { className: "as-seen" }));
        line.replaceChildren(...(p.childNodes.length ? [p] : []));
        line.className = "line noprint " + look;
      }
      const list = document.querySelector("[data-queue]");
      if (list) listed(list, s.queue);
    };
    const listed = (list, queue) => {
      const was = JSON.stringify(queue);
      if (list.dataset.was === was) return;
      list.dataset.was = was;
      list.replaceChildren(...(queue.length ? queue.map(card) : [el("p", say("Nothing waits here."))]));
      const b = document.querySelector("[data-send]");
      b.hidden = !queue.some((x) => !x.stuck);
      b.onclick = () => tell({ ask: "send" });
    };
    const card = (x) => {
      const c = el("section", "", { className: "card kept" + (x.stuck ? " asks" : "") });
      const dl = document.createElement("dl");
      const row = (t, ...ds) => dl.append(el("dt", t), ...ds.map((d) => el("dd", d)));
      c.append(el("h2", [x.name, x.step].filter(Boolean).join(": ")), dl);
      row(say("You typed, {1}", when(x.at)), x.said || say("nothing but what was filled in"));
      if (x.photos) c.append(el("p", say("Its photos could not be sent: add them again from the history."), { className: "help" }));
      if (!x.stuck) {
        c.append(el("p", say("It waits to be sent."), { className: "help" }));
        return c;
      }
      const act = (words, look, do_) => el("button", words, { type: "button", className: look, onclick: do_ });
      const buttons = el("p", "", { className: "row" });
      const drop = (words) => act(words, "plain", () => { if (confirm(say("Drop what you typed? It cannot be got back."))) tell({ ask: "drop", id: x.id }); });
      if (x.stuck.theirs.length) {
        row(say("Meanwhile another bench entered"), ...x.stuck.theirs);
        c.append(el("p", say("Which holds? Yours can be saved after theirs: both then stand in the history, and the later one counts where only one can. If theirs is wrong, undo it on the guitar's page first.")));
        buttons.append(act(say("Save mine as well"), "", () => tell({ ask: "mine", id: x.id })), drop(say("Keep theirs, drop mine")));
      } else {
        row(say("It was not taken"), ...(x.stuck.problems.length ? x.stuck.problems : [x.stuck.say || say("The shop did not take it.")]));
        buttons.append(act(say("Put it right"), "", () => correct(x)), drop(say("Drop it")));
      }
      buttons.append(el("a", say("Look at the guitar"), { href: "/guitar/" + encodeURIComponent(x.guitar), className: "button plain" }));
      c.append(buttons);
      return c;
    };
    // What was refused goes to its own form again, which says what is wrong beside each figure.
    const correct = async (x) => {
      const f = el("form", "", { method: "post", action: x.path, hidden: true });
      for (const [name, value] of [...new URLSearchParams(x.body), ["direct", "yes"]]) f.append(el("input", "", { type: "hidden", name, value }));
      document.body.append(f);
      await tell({ ask: "drop", id: x.id });
      f.submit();
    };
    worker.addEventListener("message", (e) => show(e.data));
    worker.register("/worker.js").catch(() => {}); // a private window may not allow it: then all is as without
    tell({ ask: "send" });
    window.addEventListener("online", () => tell({ ask: "send" }));
    document.addEventListener("visibilitychange", () => { if (!document.hidden) tell({ ask: "send" }); });
    setInterval(() => { if (!document.hidden && (state.lost || state.waiting)) tell({ ask: "send" }); }, 8000);
    const guitar = document.body.dataset.guitar;
    if (guitar) {
      const here = "/guitar/" + encodeURIComponent(guitar);
      const links = [...document.querySelectorAll(".guitar-bar a, .steps a, .bench a")].map((a) => a.pathname).filter((p) => p.startsWith(here) && !/\/(export|print)/.test(p));
      if (document.querySelector(".steps")) tell({ ask: "keep", guitar, paths: [...new Set(["/", location.pathname, ...links])] });
    }
  }

  // Choices marked data-go send their form at once; the button that does so without script is hidden.
  for (const form of document.querySelectorAll("form[data-go]")) {
    form.querySelector("button.without-script")?.setAttribute("hidden", "");
    form.addEventListener("change", () => form.requestSubmit());
  }

  for (const b of document.querySelectorAll("[data-print]")) {
    b.hidden = false;
    b.addEventListener("click", () => window.print());
  }
})();
