// Boxes that scroll sideways are reached by keyboard and named; boxes in which everything is seen are passed over.
(() => {
  "use strict";
  const arrange = (box) => {
    const scrolls = box.scrollWidth > box.clientWidth + 1;
    const stated = { role: "group", tabindex: "0", "aria-label": box.dataset.scrolls };
    for (const [name, value] of Object.entries(stated)) {
      if (scrolls) box.setAttribute(name, value);
      else box.removeAttribute(name);
    }
  };
  // What is in a box may grow while the box does not.
  const seen = new ResizeObserver((entries) => entries.forEach((entry) => arrange(entry.target.closest(".scroll"))));
  document.querySelectorAll(".scroll, .scroll > table").forEach((element) => seen.observe(element));
})();
