// The annex: its sections fold under their headings. Without script, and on paper, everything is shown.
(() => {
  "use strict";
  const annex = document.querySelector("main.report .annex");
  const template = document.querySelector("template.fold-template");
  if (!annex || !template) return;
  template.after(template.content.cloneNode(true));
  const all = template.nextElementSibling.querySelector("button");

  const parts = [...annex.querySelectorAll(":scope > section")].map((section) => {
    const heading = section.querySelector("h2");
    const body = section.querySelector(".body");
    const button = document.createElement("button");
    body.id = `${heading.id}-body`;
    button.type = "button";
    button.textContent = heading.textContent;
    button.setAttribute("aria-controls", body.id);
    heading.replaceChildren(button);
    return { section, body, button };
  });

  const isOpen = (part) => !part.body.hasAttribute("hidden");

  // What is hidden until found is still searched by the browser, and opens where it finds something.
  const open = (part, wanted) => {
    part.button.setAttribute("aria-expanded", String(wanted));
    if (wanted) part.body.removeAttribute("hidden");
    else part.body.setAttribute("hidden", "until-found");
    all.textContent = parts.every(isOpen) ? all.dataset.fold : all.dataset.open;
  };

  const openAround = (element) => {
    const part = parts.find((one) => one.section.contains(element));
    if (part && !isOpen(part)) open(part, true);
  };

  const followAddress = () => {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!target) return;
    openAround(target);
    target.scrollIntoView();
  };

  annex.classList.add("folds");
  for (const part of parts) {
    open(part, false);
    part.button.addEventListener("click", () => open(part, !isOpen(part)));
    part.body.addEventListener("beforematch", () => open(part, true));
  }
  all.addEventListener("click", () => {
    const wanted = !parts.every(isOpen);
    for (const part of parts) open(part, wanted);
  });
  // Before the browser goes there, and also where the address stays the same.
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#']");
    if (link) openAround(document.getElementById(link.getAttribute("href").slice(1)));
  });
  addEventListener("beforeprint", () => {
    for (const part of parts) part.body.removeAttribute("hidden");
  });
  addEventListener("afterprint", () => {
    for (const part of parts) open(part, part.button.getAttribute("aria-expanded") === "true");
  });
  addEventListener("load", followAddress);
  addEventListener("hashchange", followAddress);
})();
