// The list of trials by crop.
(() => {
  "use strict";
  const template = document.querySelector("template.filter-template");
  if (!template) return;
  template.after(template.content.cloneNode(true));
  const filter = template.nextElementSibling;
  const crop = filter.querySelector("select");
  const status = filter.querySelector("[role=status]");
  const trials = [...document.querySelectorAll(".trials > li")];

  const follow = () => {
    for (const trial of trials) trial.hidden = crop.value !== "" && trial.dataset.crop !== crop.value;
    const shown = trials.filter((trial) => !trial.hidden).length;
    status.textContent = status.dataset.said.replace("{shown}", shown).replace("{all}", trials.length);
  };

  crop.addEventListener("change", follow);
  follow();
})();
