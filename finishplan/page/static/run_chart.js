// The chart of the run: which mix is on the brush when, as bars and as a list.

import { h, s } from "./dom.js";
import { answer, fold } from "./panels.js";
import { data, run, stale, store } from "./store.js";
import { counted, duration } from "./words.js";

/** Whether the run is parted into evenings. */
export const inEvenings = () => Boolean(store.job.run?.session_min);

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
      // One stretch ends with its last turn; what dries after it needs nobody.
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
      // A turn of seconds is still seen.
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
