// Everything works without this script; it only makes the pages quicker.
"use strict";
(() => {
  document.documentElement.classList.add("scripted");

  // The list of problems is read out and reached first.
  document.querySelector(".problems")?.focus();

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
          const text = await answer.text();
          const folds = [...into.querySelectorAll("details[id]")].filter((d) => d.open).map((d) => d.id);
          const held = into.contains(document.activeElement) ? document.activeElement.id : "";
          into.innerHTML = text;
          for (const id of folds) document.getElementById(id)?.setAttribute("open", "");
          if (held) document.getElementById(held)?.focus({ preventScroll: true });
          into.classList.remove("waiting");
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
