// Everything works without this script; it only makes the pages quicker.
"use strict";
(() => {
  document.documentElement.classList.add("scripted");

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
