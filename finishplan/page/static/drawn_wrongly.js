// Areas that were read wrongly: a highlight or sliver, two that are one, one that is two, no figure, a drawn line.

import { button, choice, h } from "./dom.js";
import { each, own, split } from "./edits.js";
import { fold } from "./panels.js";
import { edit } from "./server.js";
import { area, areas, called, data, store } from "./store.js";

export function mendOf(ids) {
  const beside = neighbours(ids);
  const rest = areas().filter((a) => !ids.includes(a.id) && !beside.includes(a.id)).map((a) => a.id);
  const options = [["", "choose an area"], ...[...beside, ...rest].map((id) => [String(id), called(area(id))])];
  return fold(
    "mend",
    "Read wrongly?",
    h("p", { class: "quiet" }, "Takes effect on the drawing; undo or 'left out' brings it back."),
    choice({ key: "swallow", label: "Only a highlight or sliver of", value: "", options, done: (v) => v && each(ids, "swallow", Number(v)) }),
    choice({ key: "join", label: "One area with", value: "", options, done: (v) => v && each(ids, "join", Number(v)) }),
    h(
      "div",
      { class: "row" },
      button("Not part of the figure", () => each(ids, "paper", true), { "data-key": "paper" }),
      button("A drawn line", () => each(ids, "line", true), { "data-key": "line" }),
    ),
    ids.length === 1 && splits(area(ids[0])),
  );
}

/** Splitting without a pointer: through the middle. */
function splits(one) {
  const [left, top, right, bottom] = one.bbox;
  const [x, y] = one.label_xy;
  return h(
    "div",
    { class: "row" },
    button("Split across", () => split(one.id, [[left, y], [right, y]]), { "data-key": "split-across" }),
    button("Split downwards", () => split(one.id, [[x, top], [x, bottom]]), { "data-key": "split-down" }),
    own(one.id) && store.job.cuts.some((c) => c.area === one.id) &&
      button("Undo its splits", () => edit({ [`${one.id}.cut`]: null }), { "data-key": "unsplit" }),
  );
}

/** Areas that share a border with these, the longest first. */
function neighbours(ids) {
  const length = new Map();
  for (const edge of data("reading").edges) {
    const [a, b] = edge.areas;
    // Both chosen or neither: a border within, or elsewhere.
    if (ids.includes(a) === ids.includes(b)) continue;
    const other = ids.includes(a) ? b : a;
    length.set(other, (length.get(other) ?? 0) + edge.length_px);
  }
  return [...length.keys()].sort((a, b) => length.get(b) - length.get(a));
}
