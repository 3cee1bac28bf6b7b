// What a cell is, in words that hold where a table is laid out as cards: some browsers forget it with `display`.
(() => {
  "use strict";
  const ROLES = { table: "table", thead: "rowgroup", tbody: "rowgroup", tr: "row", td: "cell" };
  const HEADERS = { col: "columnheader", row: "rowheader", rowgroup: "rowheader" };
  for (const table of document.querySelectorAll("table.box, table.many")) {
    for (const element of [table, ...table.querySelectorAll("*")]) {
      const role = HEADERS[element.getAttribute("scope")] ?? ROLES[element.localName];
      if (role) element.setAttribute("role", role);
    }
  }
})();
