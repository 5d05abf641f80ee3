// The shelf: which paints the maker owns, and which colours of the drawing they do not reach.

import { button, field, h, s, tick } from "./dom.js";
import { bottles, left } from "./bottles.js";
import { answer, block, card, chip, fold, mixSwatch, notes, recipe } from "./panels.js";
import { edit, get, post, sendBox, tell } from "./server.js";
import { areasOf, changed, data, outOfReach, store } from "./store.js";
import { counted } from "./words.js";

const MOST_SHOWN = 200;

export function beside() {
  const painting = data("painting");
  return [
    h("h2", {}, "Your paints"),
    answer("painting", painting && lacking(painting)),
    painting && fewer(painting),
    paints(),
    painting && mixes(painting),
  ];
}

function lacking(painting) {
  const far = outOfReach();
  if (!far.length) return h("p", {}, `Your paints reach all ${painting.mixes.length} colours of the drawing.`);
  const helps = far.map((m) => m.add_paint).filter(Boolean);
  return block(
    `${counted(far.length, "colour")} out of reach`,
    far.map((m) =>
      h(
        "div",
        { class: "offer" },
        h("p", {}, mixSwatch(m), ` ${m.delta_e_drawn.toFixed(1)} from the drawing (2 is hardly seen)`),
        h("div", { class: "chips" }, areasOf(m.id).map(chip)),
      ),
    ),
    helps.length > 0 && h("p", {}, h("b", {}, `One tube would help most: ${nameOf(mostOf(helps))}.`)),
    notes(painting.warnings),
  );
}

/** Fewer pots for colours farther off: what each choice costs is worked out when it is asked for. */
function fewer(painting) {
  const now = store.job.paints?.within ?? store.job.paints?.merge ?? 3;
  const { choices, busy, revision } = store.exchange;
  const details = fold(
    "fewer",
    `${counted(painting.mixes.length, "pot")}: fewer, or nearer colours?`,
    choices.length > 0 && exchangeView(choices, now),
    (busy || revision < store.revision) && h("p", { class: "working", role: "status" }, "Weighing the choices …"),
  );
  // Also fired when the fold is put back open after the page was drawn anew: so it is weighed again after an edit.
  details.addEventListener("toggle", () => /** @type {any} */ (details).open && weigh());
  return details;
}

/** Of the choices with as many pots only the nearest. */
const distinct = (choices) => choices.filter((c, i) => i === 0 || c.pots < choices[i - 1].pots);

function exchangeView(choices, now) {
  const steps = distinct(choices);
  // The job's own value may lie between two of the choices.
  const at = Math.max(0, steps.findLastIndex((c) => c.within <= now));
  const words = (c) => `${counted(c.pots, "pot")}, ${c.off.toFixed(1)} off the drawing on average`;
  const slider = h("input", {
    type: "range",
    id: "fewer",
    "data-key": "fewer-slider",
    min: 0,
    max: steps.length - 1,
    step: 1,
    value: at,
    "aria-valuetext": words(steps[at]),
    // On letting go, not while it is dragged: every value is an edit.
    onchange: (event) => edit({ ...older(), "paints.within": steps[Number(event.target.value)].within }),
  });
  return h(
    "div",
    { class: "field" },
    h("label", { for: "fewer" }, "From the nearest colours to the fewest pots"),
    steps.length > 1 ? slider : h("p", { class: "quiet" }, "These colours lie so far apart that none can share a pot."),
    curve(steps, at),
    h("ul", {}, steps.map((c, i) => h("li", { class: i === at ? "" : "quiet" }, i === at ? h("b", {}, words(c)) : words(c)))),
    h("p", { class: "quiet" }, "In CIEDE2000: 1 is just seen side by side, 2 hardly on a figure."),
  );
}

/** The key's older name gives way to it. */
const older = () => (store.job.paints?.merge === null ? {} : { "paints.merge": null });

function curve(steps, at) {
  const [wide, high] = [300, 90];
  const [most, off] = [Math.max(...steps.map((c) => c.pots)), Math.max(...steps.map((c) => c.off), 1)];
  const place = (c) => [12 + (c.pots / most) * (wide - 24), high - 16 - (c.off / off) * (high - 30)];
  return s(
    "svg",
    { class: "curve", viewBox: `0 0 ${wide} ${high}`, "aria-hidden": "true" },
    s("polyline", { points: steps.map((c) => place(c).join(",")).join(" ") }),
    steps.map((c, i) => s("circle", { cx: place(c)[0], cy: place(c)[1], r: i === at ? 6 : 3.5, class: i === at ? "now" : "" })),
    s("text", { x: wide, y: high - 2, class: "end" }, "more pots"),
    s("text", { x: 0, y: 11 }, "farther off"),
  );
}

async function weigh() {
  const held = store.exchange;
  if (held.busy || held.revision === store.revision) return;
  held.busy = true;
  changed();
  try {
    Object.assign(held, await get("/api/exchange"));
  } catch (error) {
    // Not asked again for this job: the fold, shown anew, would ask at once and without end.
    Object.assign(held, { revision: store.revision, choices: [] });
    tell(error);
  }
  held.busy = false;
  changed();
}

const mostOf = (all) => [...all].sort((a, b) => all.filter((x) => x === b).length - all.filter((x) => x === a).length)[0];

const nameOf = (id) => {
  const paint = store.paints?.paints.find((p) => p.paint === id);
  return paint ? `${paint.name} (${paint.ci})` : id;
};

function paints() {
  const told = store.paints;
  if (!told?.paints) return h("p", { class: "working" }, "Reading the paints …");
  const wanted = store.search.toLowerCase().trim();
  const fits = (p) => !wanted || `${p.name} ${p.ci} ${p.opacity}`.toLowerCase().includes(wanted);
  const shown = told.paints.filter(fits).sort((a, b) => Number(b.owned) - Number(a.owned));
  const search = field({ key: "search", label: "Search by name or Colour Index name", value: store.search, type: "search", done: () => {} });
  // Sought with every key, not when the field is left.
  search.querySelector("input")?.addEventListener("input", (event) => {
    store.search = /** @type {HTMLInputElement} */ (event.target).value;
    changed();
  });
  return block(
    "On the shelf",
    search,
    h("p", { class: "quiet", role: "status" }, `${shown.length} of ${told.paints.length} paints, ${told.paints.filter((p) => p.owned).length} owned`),
    h("ul", { class: "paints" }, shown.slice(0, MOST_SHOWN).map((p) => h("li", {}, ownable(p)))),
    h("p", { class: "quiet" }, "The swatch shows the paint full strength, and one coat of it over black."),
    left(),
    bottles(),
  );
}

function ownable(paint) {
  const done = (on) => {
    // Ticked at once; where the bench refuses, its own list comes back.
    paint.owned = on;
    sendBox({ own: { [paint.paint]: on } });
  };
  return tick({ key: `own-${paint.paint}`, label: card(paint), on: paint.owned, done });
}

/** Whether a mix is from the maker's book; else it can be kept there, for this figure and the next. */
function booked(mix) {
  if (mix.book) return h("span", { class: "quiet" }, "from your book");
  if (!areasOf(mix.id).length) return null;
  const keep = () => post("/api/keep", { mix: mix.id }).catch(tell);
  return button("Keep", keep, { "data-key": `keep-${mix.id}`, "aria-label": `Keep mix ${mix.id}, ${mix.name}, in the mix book` });
}

function mixes(painting) {
  return block(
    "What is mixed of them",
    h("p", { class: "quiet" }, "Keep puts a mix into your mix book, for this figure and the next."),
    h(
      "ul",
      { class: "mixes" },
      painting.mixes.map((m) => h("li", {}, h("div", {}, mixSwatch(m), h("p", { class: "quiet" }, recipe(m))), booked(m))),
    ),
  );
}
