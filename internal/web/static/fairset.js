// Everything works without this script; it only makes the pages quicker.
"use strict";
(() => {
  // The list of problems is read out and reached first.
  document.querySelector(".problems")?.focus();

  // A form marked data-try shows what its figures ask for while they are typed; nothing is saved.
  for (const form of document.querySelectorAll("form[data-try]")) {
    const into = document.getElementById(form.dataset.into);
    if (!into) continue;
    let timer, running;
    const run = async () => {
      running?.abort();
      running = new AbortController();
      try {
        const answer = await fetch(form.dataset.try, { method: "POST", body: new URLSearchParams(new FormData(form)), signal: running.signal });
        if (answer.ok || answer.status === 422) {
          into.innerHTML = await answer.text();
          into.classList.remove("waiting");
        }
      } catch (e) {
        if (e.name !== "AbortError") into.classList.add("waiting");
      }
    };
    const soon = () => { clearTimeout(timer); timer = setTimeout(run, 250); };
    form.addEventListener("input", soon);
    form.addEventListener("change", soon);
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
