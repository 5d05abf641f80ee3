// What a maker does to areas, as keys of the job: the same that `finishplan set` takes.

import { area, areasOf, data, store } from "./store.js";
import { edit } from "./server.js";

/** In ascending order. @param {Iterable<number>} ids */
const numbers = (ids) => [...ids].sort((a, b) => a - b);

/** @param {number[]} ids @param {string} letter */
export function assign(ids, letter) {
  const mix = data("painting")?.mixes.find((m) => m.id === letter);
  if (!mix) return;
  const there = areasOf(letter);
  // A group that stands for this mix already grows; only else is one begun under the mix's name.
  const named = Object.entries(store.job.mixes).find(([, m]) => m.areas.some((id) => there.includes(id)));
  share([...new Set([...there, ...ids])], named?.[0] ?? mix.name);
}

/** Have areas share one mix of that name. @param {number[]} ids @param {string} name */
export function share(ids, name) {
  const title = free(name, ids);
  /** @type {Record<string, any>} */
  const edits = {};
  for (const [other, mix] of Object.entries(store.job.mixes)) {
    const left = mix.areas.filter((id) => !ids.includes(id));
    if (other === title || left.length === mix.areas.length) continue;
    // A group of one area says nothing, unless it holds a colour or a recipe.
    const idle = left.length < 2 && !mix.target && !mix.recipe.length;
    if (idle || !left.length) edits[`mixes.${other}`] = null;
    else edits[`mixes.${other}.areas`] = left;
  }
  // An area's own key for its mix would contradict the group.
  for (const id of ids) if (own(id).mix && !inGroup(id)) edits[`${id}.mix`] = null;
  edits[`mixes.${title}.areas`] = numbers(ids);
  edit(edits);
}

/** A mix's name that stands for these areas alone; dots part keys, so there are none in it. */
function free(name, ids) {
  const plain = name.replace(/[.\n]/g, " ").trim() || "mix";
  const taken = (title) => {
    const there = store.job.mixes[title];
    return there && !there.areas.some((id) => ids.includes(id));
  };
  let title = plain;
  for (let n = 2; taken(title); n++) title = `${plain} ${n}`;
  return title;
}

/** @param {number} id */
export const own = (id) => store.job.areas?.[id] ?? {};
const inGroup = (id) => Object.values(store.job.mixes).some((m) => m.areas.includes(id));

/** A colour to aim at; that of the mix where the areas share one that has its own. @param {number[]} ids @param {string | null} hex */
export function aim(ids, hex) {
  /** @type {Record<string, any>} */
  const edits = {};
  for (const id of ids) {
    const group = Object.entries(store.job.mixes).find(([, m]) => m.areas.includes(id));
    // In a group that has no colour of its own, one area alone may aim elsewhere.
    if (group && (group[1].target || ids.length > 1)) edits[`mixes.${group[0]}.target`] = hex;
    else edits[`${id}.target`] = hex;
  }
  edit(edits);
}

/** @param {number[]} ids @param {string} flag @param {boolean} on @param {number | null} [into] */
export function flag(ids, flag, on, into = null) {
  /** @type {Record<string, any>} */
  const edits = {};
  for (const id of ids) {
    const without = (area(id)?.flags ?? []).filter((f) => f !== flag);
    const flags = on ? [...without, flag] : without;
    edits[`${id}.flags`] = flags.length ? flags : null;
    if (flag === "blend" && on && into) edits[`${id}.blend_into`] = into;
    // What it was shaded into means nothing without the flag.
    if (flag === "blend" && !on && own(id).blend_into) edits[`${id}.blend_into`] = null;
  }
  edit(edits);
}

/** All that the reading offers of one kind. @param {string} word */
export function accept(word) {
  if (word === "gaps") return each(data("reading").offers[word], "paper", true);
  const as = { dots: "dot", recesses: "recess", shades: "blend" }[word];
  /** @type {Record<string, any>} */
  const edits = {};
  for (const id of data("reading").offers[word]) {
    const hint = area(id)?.hints.find((one) => one.flag === as);
    edits[`${id}.flags`] = [as];
    if (as === "blend" && hint?.other) edits[`${id}.blend_into`] = hint.other;
  }
  edit(edits);
}

/** Put areas on a part, taking them from others. @param {number[]} ids @param {string} name */
export function onPart(ids, name) {
  const title = name.replace(/[.\n]/g, " ").trim();
  /** @type {Record<string, any>} */
  const edits = {};
  for (const part of data("reading").parts) {
    const left = part.areas.filter((id) => !ids.includes(id));
    if (part.name === title || left.length === part.areas.length) continue;
    // A part needs an area: left without one, what the job says of it goes.
    if (left.length) edits[`parts.${part.name}.areas`] = left;
    else if (store.job.parts[part.name]) edits[`parts.${part.name}`] = null;
  }
  for (const id of ids) if (own(id).part) edits[`${id}.part`] = null;
  const there = data("reading").parts.find((p) => p.name === title)?.areas ?? [];
  edits[`parts.${title}.areas`] = numbers(new Set([...there, ...ids]));
  edit(edits);
}

/** Set one key on several areas. @param {number[]} ids @param {string} key @param {any} value */
export const each = (ids, key, value) => edit(Object.fromEntries(ids.map((id) => [`${id}.${key}`, value])));

/** Take a correction back. @param {{id: number, key: string}} gone */
export const takeBack = (gone) => edit({ [`${gone.id}.${gone.key}`]: null });

/** A stroke through an area, in pixels of the drawing. @param {number} id @param {[number, number][]} points */
export function split(id, points) {
  const [width, height] = data("reading").size;
  // Of the sheet, so that the stroke stays in its place when the drawing is sent larger or smaller.
  const share = (v, of) => Math.min(1, Math.max(0, Math.round((v / of) * 1e4) / 1e4));
  edit({ [`${id}.cut`]: points.map(([x, y]) => [share(x, width), share(y, height)]) });
}

/** @param {string} key '3-5' @param {"treat" | "first"} what @param {any} value */
export function border(key, what, value) {
  const there = store.job.edges[key];
  const other = what === "treat" ? "first" : "treat";
  // Nothing is left to say of this edge: its lines go, not the key alone.
  if (value === null && there && there[other] === null) edit({ [`edges.${there.header}`]: null });
  else edit({ [`edges.${there?.header ?? key}.${what}`]: value });
}
