// Long reports on small screens: sections fold under their headings. Wide screens and paper show everything.
(() => {
  "use strict";
  const report = document.querySelector("main.report .sections");
  const template = document.querySelector("template.fold-template");
  if (!report || !template) return;
  const small = matchMedia("(max-width: 47.99rem)");
  report.before(template.content.cloneNode(true));
  const all = report.previousElementSibling.querySelector("button");

  const parts = [...report.querySelectorAll(":scope > section")].map((section) => {
    const heading = section.querySelector("h2");
    const body = section.querySelector(".body");
    const button = document.createElement("button");
    const title = heading.textContent;
    body.id = `${heading.id}-body`;
    button.type = "button";
    button.textContent = title;
    button.setAttribute("aria-controls", body.id);
    return { section, heading, title, body, button };
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

  const arrange = () => {
    report.classList.toggle("folds", small.matches);
    all.parentElement.hidden = !small.matches;
    for (const part of parts) {
      part.heading.replaceChildren(small.matches ? part.button : part.title);
      open(part, !small.matches || part === parts[0]);
    }
  };

  const followAddress = () => {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!target || !small.matches) return;
    openAround(target);
    target.scrollIntoView();
  };

  for (const part of parts) {
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
  small.addEventListener("change", arrange);
  arrange();
})();
