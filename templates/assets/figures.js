// Figures that a reader asks to explore: drawn anew by Vega, whose script is loaded only then. A line beneath says what
// the mark says that is pointed at, or that the arrow keys have come to.
(() => {
  "use strict";
  const template = document.querySelector("template.explore-template");
  if (!template) return;
  const words = template.dataset;
  const small = matchMedia("(max-width: 41.99rem)");
  const STEPS = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };
  // No text is ever compiled to code, nothing is fetched, and no style is added.
  const OPTIONS = { mode: "vega-lite", ast: true, actions: false, renderer: "svg", defaultStyle: false, logLevel: 1 };

  let loading;
  const runtime = () => {
    loading ??= new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.src = words.runtime;
      script.onload = () => resolve(window.vegaEmbed);
      script.onerror = reject;
      document.head.append(script);
    }).catch((error) => {
      loading = undefined;
      throw error;
    });
    return loading;
  };

  const specOf = (figure) => {
    const specs = figure.querySelectorAll("script[type='application/json']");
    return JSON.parse((small.matches && specs[1] ? specs[1] : specs[0]).textContent);
  };

  // What runs from right to left turns nothing round beside it: within an isolate of UAX #9.
  const RIGHT_TO_LEFT = /[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff]/;
  const apart = (text) => (RIGHT_TO_LEFT.test(text) ? `\u2068${text}\u2069` : text);

  const read = (values) =>
    Object.entries(values)
      .filter(([, value]) => value !== "")
      .map(([name, value]) => `${apart(name)}: ${apart(value)}`)
      .join("; ");

  const explore = async (figure, region, readout) => {
    const embed = await runtime();
    const host = document.createElement("div");
    host.className = "explored";
    region.append(host);
    let current;
    const show = (item) => {
      current?._svg?.classList.remove("current");
      current = item;
      current?._svg?.classList.add("current");
      readout.textContent = item ? read(item.tooltip) : words.hint;
    };
    const tooltip = (handler, event, item, value) => value && show(item);
    const drawn = await embed(host, specOf(figure), { ...OPTIONS, tooltip });
    // In place of the roles that Vega gives, which have no names: one image with the plain figure's name.
    host.querySelector("svg").setAttribute("aria-hidden", "true");
    host.setAttribute("role", "img");
    host.removeAttribute("aria-roledescription");
    host.tabIndex = 0; // for the arrow keys
    host.setAttribute("aria-label", region.querySelector("svg > title").textContent);
    const items = [...host.querySelectorAll("svg *")]
      .map((element) => element.__data__)
      .filter((item) => item?.tooltip && item._svg && item.mark.marktype !== "line");

    const step = (by) => {
      if (!items.length) return;
      const place = current ? items.indexOf(current) + by : Math.min(by, 0);
      show(items.at(place % items.length));
      current._svg.scrollIntoView({ block: "nearest", inline: "nearest" });
    };
    const onKey = (event) => {
      if (!(event.key in STEPS) || event.altKey || event.ctrlKey || event.metaKey) return;
      event.preventDefault();
      step(STEPS[event.key]);
    };
    host.addEventListener("keydown", onKey);
    region.classList.add("exploring");
    show(undefined);

    const leave = () => {
      region.classList.remove("exploring");
      drawn.finalize();
      host.remove();
      readout.textContent = "";
    };
    return { step, leave };
  };

  for (const figure of document.querySelectorAll("figure:has(script)")) {
    figure.querySelector("figcaption").before(template.content.cloneNode(true));
    const [button, ...steps] = figure.querySelectorAll(".explore button");
    const readout = figure.querySelector(".explore [role=status]");
    const region = figure.querySelector(".scroll");
    const caption = figure.querySelector("figcaption").id;
    let exploring;
    let busy = false;
    const toggle = async () => {
      if (exploring) exploring.leave();
      exploring = exploring ? undefined : await explore(figure, region, readout);
      for (const one of steps) one.hidden = !exploring;
      button.textContent = exploring ? words.leave : words.explore;
    };
    button.setAttribute("aria-describedby", caption);
    button.addEventListener("click", () => {
      if (busy) return;
      busy = true;
      toggle()
        .catch(() => {
          readout.textContent = words.failed;
        })
        .finally(() => {
          busy = false;
        });
    });
    for (const one of steps) {
      one.setAttribute("aria-describedby", caption);
      one.addEventListener("click", () => exploring.step(Number(one.dataset.step)));
    }
  }
})();
