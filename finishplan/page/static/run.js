// The run: for how many, in which evenings; hours and a chart at once, a better one when it is found.

import { button, field, h, number, s, tick } from "./dom.js";
import { answer, block, fold, notes } from "./panels.js";
import { edit } from "./server.js";
import { changed, data, run, stale, store } from "./store.js";
import { counted, duration } from "./words.js";

export function beside() {
  const said = store.job.run ?? {};
  const found = run();
  const stage = found?.searched ? "plan" : "run";
  return [
    h("h2", {}, "For how many"),
    block(
      "The run",
      numberField("castings", "Castings", said.castings, 1),
      numberField("painters", "People painting", said.painters, 1),
      numberField("session_min", "Minutes of one evening", said.session_min ?? "", null, "one long stretch if left empty"),
      field({ key: "run-start_at", label: "Begins at", value: said.start_at ?? "", placeholder: "like 19:00", done: (v) => edit({ "run.start_at": v.trim() || null }) }),
      dryer(),
      tick({ key: "fewest", label: "Rather wait than change the mix", on: said.fewest_changes ?? false, done: (on) => edit({ "run.fewest_changes": on || null }) }),
    ),
    answer(stage, found && figures(found)),
    found && advice(found.run),
    found && fold("amounts", "How much of each mix", amounts(found)),
    found && fold("run-notes", "Notes", notes([...found.warnings, ...found.notes])),
  ];
}

function dryer() {
  const there = store.job.room?.dryer;
  if (typeof there !== "boolean") return null;
  return tick({ key: "dryer", label: "A hair dryer is at hand", on: there, done: (on) => edit({ "room.dryer": on }) });
}

function numberField(key, label, value, usual, hint = "") {
  return field({
    key: `run-${key}`,
    label,
    value: String(value ?? ""),
    inputmode: "numeric",
    placeholder: hint,
    done: (v) => edit({ [`run.${key}`]: number(v) ?? usual }),
  });
}

/** Whether the run is parted into evenings. */
const inEvenings = () => Boolean(store.job.run?.session_min);

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

function advice(one) {
  const all = one.advice;
  if (!all.length) return null;
  const now = store.hint % all.length;
  const next = () => {
    store.hint = now + 1;
    changed();
  };
  return block(
    "What would save time",
    h("p", { role: "status" }, here(all[now])),
    all.length > 1 && button(`Another (${now + 1} of ${all.length})`, next, { "data-key": "another" }),
  );
}

/** Advice names keys of the job; here they are fields. @param {string} said */
const here = (said) =>
  said.replace(/write fewest_changes = (true|false) under \[run\]/, (_, on) => `${on === "true" ? "tick" : "untick"} 'Rather wait than change the mix'`);

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

const WIDE = 1000;
const ROW = 44;

/** The chart: one row an evening and painter, a bar for each stretch with one mix. */
export function under() {
  const found = run();
  if (!found) return answer("run");
  const rows = rowsOf(found.run);
  const hexes = new Map((data("painting")?.mixes ?? []).map((m) => [m.id, m.hex]));
  const longest = Math.max(...rows.map((r) => r.end - r.start), 1);
  const bars = rows.map((row, i) => barsOf(row, i * ROW, longest, hexes));
  const height = rows.length * ROW;
  return h(
    "figure",
    { class: stale(found.searched ? "plan" : "run") ? "chart stale" : "chart" },
    h("figcaption", {}, `Which mix is on the brush when; the widest row is ${duration(longest)}. Between the bars: rinsing, mixing, waiting.`),
    h(
      "div",
      { class: "scroll", tabindex: 0, role: "group", "aria-label": "Chart of the run" },
      s("svg", { viewBox: `0 0 ${WIDE} ${height}`, role: "img", "aria-label": `${counted(rows.length, "row")} of bars, told in the list below` }, bars),
    ),
    fold("run-list", "As a list", rows.map((row) => listOf(row))),
  );
}

function rowsOf(one) {
  const spans = one.sessions.length ? one.sessions : [{ no: 0, start_min: 0, end_min: one.makespan_min }];
  const painters = Array.from({ length: one.painters }, (_, i) => i + 1);
  return spans.flatMap((span) =>
    painters.map((painter) => {
      const own = (t) => t.painter === painter && t.start_min >= span.start_min - 1e-6 && t.start_min < span.end_min;
      const turns = [...one.turns, ...primed(one.tasks)].filter(own).sort((a, b) => a.start_min - b.start_min);
      const name = [span.no && inEvenings() ? `Evening ${span.no}` : "One stretch", one.painters > 1 ? `painter ${painter}` : ""].filter(Boolean).join(", ");
      const last = turns.length ? Math.max(...turns.map((t) => t.end_min)) : span.start_min;
      return { name, turns, start: span.start_min, end: one.sessions.length ? span.end_min : last };
    }),
  );
}

/** Priming in one go: its tasks that follow each other. */
function primed(tasks) {
  /** @type {any[]} */
  const goes = [];
  for (const t of tasks.filter((task) => task.kind === "prime")) {
    const last = goes.at(-1);
    if (last && last.painter === t.painter && t.start_min - last.end_min < 1) last.end_min = t.end_min;
    else goes.push({ ...t });
  }
  return goes;
}

function barsOf(row, y, longest, hexes) {
  const x = (minute) => ((minute - row.start) / longest) * WIDE;
  return s(
    "g",
    {},
    s("text", { x: 0, y: y + 13, class: "name" }, row.name),
    s("rect", { x: 0, y: y + 18, width: x(row.end), height: 22, class: "span" }),
    row.turns.map((t) => {
      const width = Math.max(1.5, x(t.end_min) - x(t.start_min));
      const fill = hexes.get(t.mix) ?? data("painting")?.primer.hex ?? "#8a857c";
      return s(
        "g",
        {},
        s("rect", { x: x(t.start_min), y: y + 18, width, height: 22, fill, class: "bar" }),
        width > 7 * Math.max(2, t.mix.length) && s("text", { x: x(t.start_min) + width / 2, y: y + 34, class: dark(fill) ? "on dark" : "on" }, t.mix),
      );
    }),
  );
}

/** Whether white letters read better on a colour (relative luminance, WCAG 2.2). @param {string} hex */
function dark(hex) {
  const [r, g, b] = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b < 0.18;
}

function listOf(row) {
  return h(
    "div",
    {},
    h("h4", {}, row.name),
    h("ul", {}, row.turns.map((t) => h("li", {}, `${duration(t.start_min - row.start)} after the start: ${t.pass_no ? `mix ${t.mix}, pass ${t.pass_no}` : t.mix}, ${duration(t.end_min - t.start_min)}`))),
  );
}
