// The order: pass by pass, with the figure painted as far as the slider stands.

import { button, choice, h } from "./dom.js";
import { answer, block, chip, fold, mixSwatch, notes, recipe } from "./panels.js";
import { flag } from "./edits.js";
import { drag, move, unwish } from "./moves.js";
import { area, called, changed, data, stale, store } from "./store.js";
import { counted, duration, listed } from "./words.js";

/** The pass that is looked at: 0 is the primer. */
export const at = () => Math.min(store.pass ?? passes().length, passes().length);

const passes = () => data("painting")?.passes ?? [];

/**
 * Area -> its colour once pass `no` is dry. Areas not begun show the primer.
 * @param {number} no
 */
export function fillsAfter(no) {
  const painting = data("painting");
  const hexes = new Map(painting.mixes.map((m) => [m.id, m.hex]));
  const fills = new Map(painting.areas.map((a) => [a.id, painting.primer.hex]));
  for (const pass of painting.passes.slice(0, no)) {
    for (const work of pass.work) {
      if (work.kind !== "blend") fills.set(work.area, hexes.get(work.mix || pass.mix) ?? painting.primer.hex);
    }
  }
  return fills;
}

/** What the pass that is looked at works on. */
export function worked() {
  const pass = passes()[at() - 1];
  return new Set(pass ? pass.areas.filter((id) => !store.part || area(id)?.part === store.part) : []);
}

function goTo(no) {
  store.said = "";
  store.pass = Math.min(passes().length, Math.max(0, no));
  changed();
}

/** The slider, under the figure. */
export function under() {
  const last = passes().length;
  const now = at();
  const slider = h("input", {
    type: "range",
    id: "pass",
    "data-key": "pass",
    min: 0,
    max: last,
    step: 1,
    value: now,
    "aria-valuetext": now ? `after pass ${now} of ${last}, ${mixName(passes()[now - 1].mix)}` : primed(),
    oninput: (event) => goTo(Number(event.target.value)),
  });
  return h(
    "div",
    { class: "slider" },
    h("label", { for: "pass" }, now ? `After pass ${now} of ${last}` : primed()),
    slider,
    button("Back", () => goTo(now - 1), { disabled: now === 0, "data-key": "pass-back" }),
    button("On", () => goTo(now + 1), { disabled: now === last, "data-key": "pass-on" }),
  );
}

const primed = () => (data("painting").primer.coats ? "Primed, before pass 1" : "Not primed, before pass 1");

const mixName = (letter) => {
  const mix = data("painting")?.mixes.find((m) => m.id === letter);
  return mix ? `${mix.id} ${mix.name}` : letter;
};

export function beside() {
  const painting = data("painting");
  if (!painting) return [h("h2", {}, "The order"), answer("painting")];
  const parts = painting.figure.parts.map((p) => p.name);
  follow(painting);
  const no = at();
  return [
    h("h2", {}, counted(painting.passes.length, "pass", "passes")),
    h("p", { class: "quiet" }, painting.order.proven ? "No order within the rules has fewer." : `At least ${painting.order.passes_at_least} are needed.`),
    parts.length > 1 &&
      choice({
        key: "order-part",
        label: "Part",
        value: store.part,
        options: [["", "all parts"], ...parts.map((p) => [p, p])],
        done: (v) => {
          store.part = v;
          changed();
        },
      }),
    answer("painting", no ? passBlock(painting.passes[no - 1], painting) : primerBlock(painting)),
    block(
      "All passes",
      movesSaid(painting),
      h("ol", { class: stale("painting") ? "passes stale" : "passes" }, primerRow(no), painting.passes.map((p) => passRow(p, painting, no))),
      h("p", { id: "order-said", role: "status", class: "warn" }, store.said),
    ),
    fold("order-notes", "Notes on the order", notes(painting.order.notes)),
  ];
}

/** The pass that was moved is looked at where it now stands. */
function follow(painting) {
  if (store.follow === null || stale("painting")) return;
  const area = store.follow;
  store.follow = null;
  // Undercoats and recuts may lie on the area too, in passes that were not moved.
  store.pass = painting.passes.find((p) => p.work.some((w) => w.area === area && w.kind !== "undercoat" && w.kind !== "recut"))?.no ?? store.pass;
}

/** What stood against the last move, and wishes that the rules refused. */
function movesSaid(painting) {
  const refused = painting.order.wished.filter((w) => w.refused);
  return [
    h("p", { class: "quiet" }, "Drag a pass by its grip, or move the chosen one by its arrows: where no rule forbids it, it goes there."),
    refused.map((w) =>
      h(
        "div",
        { class: "problem" },
        h("p", {}, h("b", {}, `${called(area(w.first))} does not go before ${called(area(w.second))}`), `: ${w.refused}.`),
        button("Take the wish back", () => unwish([w]), { "data-key": `unwish-${w.first}-${w.second}` }),
      ),
    ),
  ];
}

function primerBlock(painting) {
  const { name, coats, why } = painting.primer;
  return block("Primer", h("p", {}, coats ? `${name}, ${counted(coats, "coat")}. ${why}.` : "None: paint on the bare casting."));
}

function primerRow(no) {
  return h("li", {}, button("Primer", () => goTo(0), { class: "pass", "aria-current": no === 0 && "step", "data-key": "pass-0" }));
}

function passRow(pass, painting, no) {
  const mix = painting.mixes.find((m) => m.id === pass.mix);
  const on = !store.part || pass.work.some((w) => w.part === store.part);
  const now = pass.no === no;
  const grip = h("span", { class: "grip", title: `Drag pass ${pass.no} elsewhere`, "aria-hidden": "true" });
  grip.addEventListener("pointerdown", (event) => drag(/** @type {PointerEvent} */ (event), pass.no));
  return h(
    "li",
    { class: on ? "" : "elsewhere", "data-pass": pass.no },
    grip,
    button([h("span", { class: "no" }, String(pass.no)), mix ? mixSwatch(mix) : pass.mix, h("span", { class: "quiet" }, KINDS[pass.kind] ?? "")], () => goTo(pass.no), {
      class: "pass",
      "aria-current": now && "step",
      "data-key": `pass-${pass.no}`,
    }),
    now && arrow("\u2191", "earlier", pass, pass.no - 1),
    now && arrow("\u2193", "later", pass, pass.no + 1),
  );
}

const arrow = (sign, way, pass, to) =>
  button(sign, () => move(pass.no, to), { class: "arrow", "data-key": `move-${way}`, title: `Move pass ${pass.no} ${way}`, "aria-label": `Move pass ${pass.no}, ${mixName(pass.mix)}, ${way}` });

const KINDS = { undercoat: "undercoat", blend: "shades", dot: "dots", recut: "touch up the line", colour: "" };

function passBlock(pass, painting) {
  const mix = painting.mixes.find((m) => m.id === pass.mix);
  const work = pass.work.filter((w) => !store.part || w.part === store.part);
  const edges = painting.edges.filter((e) => e.pass_no === pass.no && (!store.part || area(e.first)?.part === store.part));
  return block(
    `Pass ${pass.no}`,
    mix && h("p", { class: "large" }, mixSwatch(mix)),
    mix && h("p", {}, recipe(mix), h("span", { class: "quiet" }, " for the smallest pot")),
    h("p", {}, `${counted(pass.coats, "coat")} by ${pass.tool}: ${pass.brush}. About ${duration(pass.minutes)} on one casting.`),
    pass.recoat_min > 0 && h("p", {}, `Touch dry after ${duration(pass.touch_dry_min)}, next coat after ${duration(pass.recoat_min)}.`),
    h("ul", { class: "work" }, work.map((w) => h("li", {}, chip(w.area), ` ${counted(w.coats, "coat")}`))),
    edges.length > 0 && fold("pass-edges", counted(edges.length, "edge"), h("ul", {}, edges.map((e) => h("li", {}, edgeWords(e))))),
    fold("pass-why", "Why now?", notes(pass.why), edges.length > 0 && notes(edges.map((e) => `${e.why}.`))),
    [...pass.mask, pass.hold].filter(Boolean).length > 0 && fold("pass-care", "Keep bare, hold by", notes([...pass.mask, pass.hold].filter(Boolean))),
    mix?.hazards.length > 0 && fold("pass-cautions", "Cautions", notes([...mix.hazards, "The safety data sheet and label of what is in your hand win over this."])),
    shift(pass),
    asked(pass, painting),
  );
}

const edgeWords = (e) =>
  `${e.treat}: ${called(area(e.first))} first, then ${called(area(e.second))}${e.lap_mm && e.treat !== "cut" ? `, ${e.lap_mm.toFixed(1)} mm over the line` : ""}`;

/** The wishes that brought a pass where it stands. */
function asked(pass, painting) {
  const own = painting.order.wished.filter((w) => !w.refused && (pass.areas.includes(w.first) || pass.areas.includes(w.second)));
  if (!own.length) return null;
  const words = (w) => `${called(area(w.first))} before ${called(area(w.second))}`;
  return h(
    "div",
    { class: "row" },
    h("p", { class: "quiet" }, `You asked for ${listed(own.map(words))}.`),
    button(own.length > 1 ? "Take these wishes back" : "Take this wish back", () => unwish(own), { "data-key": "unwish" }),
  );
}

/** A pass goes where the rules let it: its areas can be asked for earlier or later. */
function shift(pass) {
  const ids = pass.areas;
  const all = (name) => ids.every((id) => area(id)?.flags.includes(name));
  const row = (name, said) => button(all(name) ? `${said}: take back` : said, () => flag(ids, name, !all(name)), { "data-key": `shift-${name}`, "aria-pressed": String(all(name)) });
  return h(
    "div",
    {},
    h("div", { class: "row" }, row("first", "As early as the rules allow"), row("last", "As late as the rules allow")),
    h("p", { class: "quiet" }, `Moves ${listed(ids.length > 3 ? [counted(ids.length, "area")] : ids.map((id) => called(area(id))))}; the edges' reasons then say what held against it.`),
  );
}
