// The run: for how many, in which evenings; hours and a chart at once, a better one when it is found.

import { button, h } from "./dom.js";
import { answer, block, fold, notes } from "./panels.js";
import { inEvenings } from "./run_chart.js";
import { settings } from "./run_settings.js";
import { edit } from "./server.js";
import { changed, data, run, store } from "./store.js";
import { counted, duration } from "./words.js";

export { under } from "./run_chart.js";

export function beside() {
  const found = run();
  const [sets, ...more] = settings();
  return [
    h("h2", {}, "For how many"),
    sets,
    answer(found?.searched ? "plan" : "run", found && figures(found)),
    // A quick run has no advice: the searched run of before keeps its own in sight meanwhile.
    found && answer("plan", hint(data("plan")?.run ?? found.run)),
    ...more,
    found && fold("amounts", "How much of each mix", amounts(found)),
    found && fold("run-notes", "About this run", notes([...found.warnings, ...found.run.advice, ...found.notes])),
  ];
}

function figures({ run: one, searched }) {
  const evenings = inEvenings() ? one.sessions.length : 0;
  const rows = [
    [duration(one.painter_min), `of work for ${counted(one.castings, "casting")}`],
    one.castings > 1 && [duration(one.painter_min / one.castings), "of work on each"],
    evenings ? [String(evenings), evenings === 1 ? "evening" : "evenings"] : [duration(one.makespan_min), "from start to finish"],
    [duration(one.waiting_min), "of waiting for paint to dry"],
    [String(one.mix_changes), "changes of mix"],
  ].filter(Boolean);
  return h(
    "div",
    {},
    h("dl", { class: "figures" }, rows.map(([value, said]) => h("div", {}, h("dt", {}, said), h("dd", {}, value)))),
    h("p", { class: "quiet" }, searched ? "This is the best run that was found." : "A first answer; a better run is being looked for."),
  );
}

/** One thing to change at a time, what saves most first. */
function hint(one) {
  const all = one.hints;
  if (!all.length) return null;
  // The next run may have fewer hints.
  const now = all[store.hint % all.length];
  const next = () => {
    store.hint = (store.hint + 1) % all.length;
    changed();
  };
  const take = () => {
    store.hint = 0;
    edit({ [now.key]: now.value });
  };
  return block(
    "What would save most",
    h("p", { role: "status" }, now.text),
    h(
      "div",
      { class: "row" },
      button(TAKEN[now.key] ?? "Plan it so", take, { "data-key": "hint-take" }),
      all.length > 1 && button(`Another (${(store.hint % all.length) + 1} of ${all.length})`, next, { "data-key": "another" }),
    ),
  );
}

const TAKEN = { "room.dryer": "Plan with a hair dryer", "run.painters": "Plan with one more painter" };

function amounts({ quantities }) {
  const mixes = quantities.filter((q) => q.what === "mix");
  return h(
    "table",
    {},
    h("thead", {}, h("tr", {}, ["Mix", "For the run", "Pots"].map((t) => h("th", { scope: "col" }, t)))),
    h(
      "tbody",
      {},
      mixes.map((q) =>
        h("tr", {}, h("th", { scope: "row" }, `${q.id} ${q.name}`), h("td", {}, `${q.ml_run.toFixed(2)} ml, ${counted(q.drops, "drop")}`), h("td", {}, String(q.times_mixed))),
      ),
    ),
  );
}
