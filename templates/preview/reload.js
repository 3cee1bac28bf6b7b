// Reload the page when the site has been built anew. Served by the preview alone; no built file knows of it.
"use strict";
(() => {
  const shown = document.currentScript.dataset.build;
  let events = null;

  const leave = () => {
    if (events) events.close();
    events = null;
  };

  // A browser opens few connections to one address: only a page that is seen holds one. Whoever comes back
  // is told the number of the last build at once, so that none is missed.
  const follow = () => {
    if (document.hidden) {
      leave();
    } else if (!events) {
      events = new EventSource("/.preview/events");
      events.addEventListener("message", (event) => {
        if (event.data !== shown) location.reload();
      });
    }
  };

  document.addEventListener("visibilitychange", follow);
  addEventListener("pagehide", leave);
  addEventListener("pageshow", follow);
  follow();
})();
