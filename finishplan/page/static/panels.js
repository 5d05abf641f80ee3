// Pieces that several views share.

import { button, h, swatch } from "./dom.js";
import { area, areas, called, changed, mixOf, passesOf, stale, store } from "./store.js";
import { counted, listed } from "./words.js";

/** What is heard of an area: 'area 12, right pupil, mix P black, pass 15, 3 of 58'. @param {number} id */
export function spoken(id) {
  const all = areas();
  const at = all.findIndex((a) => a.id === id);
  const one = all[at];
  const mix = mixOf(id);
  const passes = passesOf(id).map((p) => p.no);
  const told = [`area ${id}`, one?.name, mix ? `mix ${mix.id} ${mix.name}` : one?.target];
  if (passes.length) told.push(`pass${passes.length > 1 ? "es" : ""} ${listed(passes.map(String))}`);
  if (store.chosen.has(id)) told.push("chosen");
  return [...told, `${at + 1} of ${all.length}`].filter(Boolean).join(", ");
}

/** A mix by its swatch, letter and name. @param {any} mix */
export const mixSwatch = (mix) => swatch(mix.hex, [h("b", {}, mix.id), ` ${mix.name}`]);

/** '6 drops titanium white, 1 drop arylide yellow'. @param {any} mix */
export const recipe = (mix) =>
  listed(mix.recipe.map((r) => `${counted(r.drops, "drop")} ${r.premix ? letDown(r.premix) : nameOf(r.paint)}`));

/** A strong paint let down first: 'of a pre-mix (1 phthalo green in 9 titanium white)'. */
const letDown = (p) => `of a pre-mix (${p.parts} ${nameOf(p.paint)} in ${p.of} ${nameOf(p.into)})`;

const nameOf = (id) =>
  [...(store.paints?.paints ?? []), ...(store.paints?.bottles ?? [])].find((p) => p.paint === id)?.name ??
  id.replace(/-/g, " ");

/** An area to go to. @param {number} id */
export function chip(id) {
  const one = area(id);
  return button([patch(one?.target), called(one) || String(id)], () => choose([id]), { class: "chip", "data-key": `chip-${id}` });
}

function patch(hex) {
  const found = h("span", { class: "patch", "aria-hidden": "true" });
  found.style.backgroundColor = hex ?? "transparent";
  return found;
}

/** @param {number[]} ids @param {boolean} [more] */
export function choose(ids, more = false) {
  if (!more) store.chosen.clear();
  for (const id of ids) {
    // A second tap takes one area out again; a loop only ever adds.
    if (more && store.chosen.has(id) && ids.length === 1) store.chosen.delete(id);
    else store.chosen.add(id);
  }
  store.border = null;
  changed();
}

export const letGo = () =>
  h("p", {}, button("Let go", () => choose([]), { "data-key": "let-go", title: "Escape" }));

/** What is shown is of before: told in words and greyed. @param {string} stage @param {...any} children */
export function answer(stage, ...children) {
  const old = stale(stage);
  return h(
    "div",
    { class: old ? "answer stale" : "answer", "aria-busy": String(old) },
    // Heard of the reading alone: four stages speaking at every edit would be noise.
    old && h("p", { class: "working", role: stage === "reading" && "status" }, (stage === "reading" && store.doing && `${store.doing} …`) || WORKING[stage]),
    problem(stage),
    children,
  );
}

const WORKING = {
  reading: "Reading the drawing …",
  painting: "Choosing the mixes and the order …",
  run: "Planning the run …",
  plan: "Looking for a shorter run …",
};

/** The error that a stage ended with. @param {string} stage */
function problem(stage) {
  const said = store.stages[stage]?.problem;
  return said && told(said);
}

const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

/** An error as on the command line: what, where, cure. @param {any} said @param {...any} more */
export const told = (said, ...more) =>
  h(
    "div",
    { class: "problem" },
    h("p", {}, h("b", {}, capital(said.what)), said.where ? ` (${said.where})` : ""),
    said.cure && h("p", {}, `What helps: ${said.cure}`),
    more,
  );

/** The first problem of all stages, wherever it stands. */
export function anyProblem() {
  const found = ["reading", "painting", "run", "plan"].map((n) => store.stages[n]).find((one) => one?.problem);
  // Of an older job it may be mended by now: the new result will say.
  return found && found.revision >= store.revision ? told(found.problem) : null;
}

/** @param {string} key @param {any} summary @param {...any} children */
export const fold = (key, summary, ...children) =>
  h("details", { "data-key": key }, h("summary", {}, summary), children);

/** @param {string} title @param {...any} children */
export const block = (title, ...children) => h("section", { class: "block" }, h("h3", {}, title), children);

/** Notes that a stage leaves. @param {string[]} lines */
export const notes = (lines) => lines.length > 0 && h("ul", { class: "notes" }, lines.map((line) => h("li", {}, line)));


/** A paint with how it looks and hides. @param {any} paint */
export function card(paint) {
  const over = h("span", { class: "over", "aria-hidden": "true" }, h("span", {}), h("span", {}));
  /** @type {any} */ (over.children[0]).style.backgroundColor = paint.hex;
  /** @type {any} */ (over.children[1]).style.backgroundColor = paint.over_black_hex;
  const [white, black] = [paint.coats_over_white, paint.coats_over_black];
  const coats = [white ?? "over 20", black === null ? "over 20 coats" : counted(black, "coat")];
  const left = paint.ml_left === null ? "" : `, ${paint.ml_left} ml left`;
  return h(
    "span",
    { class: "card" },
    over,
    h(
      "span",
      {},
      h("b", {}, paint.name),
      ` ${paint.ci ?? ""}`,
      h("span", { class: "quiet" }, ` ${paint.opacity}, hides white in ${coats[0]}, black in ${coats[1]}${left}`),
    ),
  );
}
