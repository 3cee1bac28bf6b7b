// A reader's own price of electricity: what a kilogram or pound of fresh weight costs at it, from the figures that stand in the page.
(() => {
  "use strict";
  const template = document.querySelector("template.own-price-template");
  if (!template) return;
  const trial = template.dataset;
  template.after(template.content.cloneNode(true));
  const group = template.nextElementSibling;
  const [price, currency] = group.querySelectorAll("input");
  const status = group.querySelector("[role=status]");
  const table = group.querySelector(".table");

  // "0.30" and "0,30" alike; a sign between groups would be guesswork.
  const number = (text) => {
    const plain = text.replace(/\s/g, "").replace(",", ".");
    return /^(\d{1,9}(\.\d{0,9})?|\.\d{1,9})$/.test(plain) ? Number(plain) : null;
  };

  const fixed = (value, decimals) => {
    const text = value.toFixed(decimals);
    if (value && !Number(text)) return `< ${(10 ** -decimals).toFixed(decimals).replace(".", trial.point)}`;
    const [whole, fraction] = text.split(".");
    const grouped = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, trial.group) : whole;
    return fraction ? grouped + trial.point + fraction : grouped;
  };

  // Three significant digits.
  const plain = (value) => fixed(value, value ? Math.max(0, 2 - Math.floor(Math.log10(value))) : 0);

  const percent = (text) => trial.percentBefore + text + trial.percentAfter;

  const said = (text, values) => text.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);

  // A ratio that is not 1 never shows as a bare 100%.
  const relative = (ratio) => {
    if (!Number.isFinite(ratio)) return trial.notKnown;
    if (Math.round(100 * ratio) !== 100 || Math.abs(ratio - 1) < 1e-9) return percent(fixed(100 * ratio, 0));
    return said(ratio > 1 ? trial.justOver : trial.justUnder, { whole: percent("100") });
  };

  const isTheTrials = (label) => label.toUpperCase() === trial.currency.toUpperCase();

  const rows = [...group.querySelectorAll("tbody tr")].map((row) => ({
    row,
    name: row.dataset.name,
    fixed: Number(row.dataset.fixed),
    energy: Number(row.dataset.energy),
    isReference: row.hasAttribute("data-reference"),
  }));
  const reference = rows.find((one) => one.isReference);

  const costs = (perKwh, counted) => (one) => (counted ? one.fixed : 0) + one.energy * perKwh;

  const show = (perKwh, label, counted) => {
    const cost = costs(perKwh, counted);
    for (const one of rows) {
      const shown = {
        electricity: plain(one.energy * perKwh),
        all: plain(cost(one)),
        relative: reference ? relative(cost(one) / cost(reference)) : "",
      };
      for (const cell of one.row.querySelectorAll("td")) cell.textContent = shown[cell.dataset.column];
    }
    for (const head of group.querySelectorAll("th[data-said]")) head.textContent = said(head.dataset.said, { currency: label, mass: trial.mass });
    for (const cell of group.querySelectorAll("[data-column=all]")) cell.hidden = !counted;
    const each = rows.map((one) => `${one.name} ${plain(cost(one))} ${label}/${trial.mass}`).join("; ");
    const typed = String(Number(perKwh.toPrecision(6))).replace(".", trial.point);
    status.textContent = said(counted ? trial.saidAll : trial.saidElectricity, { price: typed, currency: label, mass: trial.massNamed, costs: each });
  };

  const follow = () => {
    const perKwh = number(price.value);
    const label = currency.value.trim() || trial.currency;
    price.setAttribute("aria-invalid", String(perKwh === null));
    table.hidden = perKwh === null;
    if (perKwh === null) status.textContent = trial.wrong;
    else show(perKwh, label, trial.others === "true" && isTheTrials(label));
  };

  group.addEventListener("input", follow);
  follow();
})();
