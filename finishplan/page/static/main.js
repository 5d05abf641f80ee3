// The page: its head, its two sides, and which view they show.

import { button, h, replace } from "./dom.js";
import * as drawing from "./drawing.js";
import { assign, split } from "./edits.js";
import { Figure } from "./figure.js";
import * as order from "./order.js";
import { anyProblem, choose, spoken, told } from "./panels.js";
import * as run from "./run.js";
import { anew, listen, step, tell } from "./server.js";
import * as sheets from "./sheets.js";
import * as shelf from "./shelf.js";
import * as start from "./start.js";
import { area, areas, called, changed, data, hintCount, mixOf, outOfReach, run as runData, stale, store, subscribe } from "./store.js";
import { counted, duration, mm } from "./words.js";

const VIEWS = { drawing, shelf, order, run, sheets };
const NAMES = { drawing: "Drawing", shelf: "Shelf", order: "Order", run: "Run", sheets: "Sheets" };
const STAGE = { drawing: "reading", shelf: "painting", order: "painting", run: "run", sheets: "plan" };

const $ = (id) => /** @type {HTMLElement} */ (document.getElementById(id));
const [head, notice, board, beside] = [$("stages"), $("notice"), $("board"), $("beside")];
const tools = h("div", { id: "tools" });
const frame = h("div", { id: "frame" });
const caption = h("p", { id: "caption", "aria-hidden": "true" });
const below = h("div", { id: "below" });
const pages = h("div", { id: "pages" });

const figure = new Figure(frame, {
  label: spoken,
  tapped: (id, more) => (id ? choose([id], more) : choose([])),
  looped: (ids, more) => choose(ids, more),
  split: (points) => {
    // A stroke is meant for the area that is chosen; without one, for that under its middle.
    const one = store.chosen.size === 1 ? [...store.chosen][0] : figure.under(points[Math.floor(points.length / 2)]);
    if (one) split(one, points);
  },
  bordered: (key) => {
    store.border = key;
    changed();
  },
  keyed,
  noted,
});

/** A key on an area. */
function keyed(event, id) {
  // The browser's own keys stay its own.
  if (event.ctrlKey || event.metaKey || event.altKey) return false;
  if (event.key === " ") choose([id], true);
  else if (event.key === "Enter") {
    if (!store.chosen.has(id)) choose([id]);
    // Only then is the field of the area just chosen there.
    queueMicrotask(() => /** @type {any} */ (beside.querySelector("[data-key=name]"))?.select());
  } else if (/^[a-z]$/i.test(event.key) && store.view === "drawing" && store.chosen.size) {
    assign([...store.chosen], event.key.toUpperCase());
  } else return false;
  return true;
}

let notedId = null;

/** The line under the drawing, for the eye: what the pointer or the focus is on, else what changed in the drawing. */
function noted(id) {
  notedId = id;
  const one = area(id ?? -1);
  const mix = one && mixOf(one.id);
  const said = one && [called(one), mix ? `mix ${mix.id} ${mix.name}` : one.target, one.narrow_mm !== null && `${mm(one.narrow_mm)} to ${mm(one.wide_mm)} wide`];
  caption.textContent = said ? said.filter(Boolean).join(" · ") : store.view === "drawing" ? (data("reading")?.said ?? []).join(" ") : "";
}

/** What waits for a decision, or what there is, at the name of each stage. */
function waits(view) {
  if (!store.open) return ["", ""];
  const [hints, far, found] = [hintCount(), outOfReach().length, runData()];
  const painting = data("painting");
  if (view === "drawing") return hints ? [String(hints), hints === 1 ? "hint" : "hints"] : ["", areas().length ? counted(areas().length, "area") : ""];
  if (view === "shelf") return far ? [String(far), far === 1 ? "colour out of reach" : "colours out of reach"] : ["", painting ? counted(painting.mixes.length, "mix", "mixes") : ""];
  if (view === "order") return ["", painting ? counted(painting.passes.length, "pass", "passes") : ""];
  if (view === "run") return ["", found ? `${counted(found.run.castings, "casting")}, ${duration(found.run.painter_min)}` : ""];
  return ["", sheets.current() ? counted(store.sheets.pages, "page") : ""];
}

function stages() {
  return h(
    "ol",
    {},
    Object.entries(NAMES).map(([view, name]) => {
      const [count, said] = waits(view);
      return h(
        "li",
        {},
        h(
          "a",
          { href: `#${view}`, "data-key": `stage-${view}`, "aria-current": view === store.view && store.open && "page", class: stale(STAGE[view]) && store.open ? "old" : "" },
          h("span", { class: "stage" }, name),
          h("span", { class: count ? "waits" : "has" }, count && h("b", {}, count), h("span", { class: "said" }, count ? ` ${said}` : said)),
        ),
      );
    }),
  );
}

function showHead() {
  $("title").textContent = store.open ? data("reading")?.name ?? store.job.figure?.name ?? "A new figure" : "The bench";
  document.title = `${$("title").textContent} · ${store.open ? NAMES[store.view] : "finishplan"}`;
  replace(head, store.open && stages());
  replace(
    $("steps"),
    store.open && button("Undo", () => step("undo"), { disabled: !store.canUndo, title: "Ctrl+Z", "data-key": "undo" }),
    store.open && button("Redo", () => step("redo"), { disabled: !store.canRedo, title: "Ctrl+Shift+Z", "data-key": "redo" }),
  );
}

function showNotice() {
  const said = store.notice;
  const away = () => {
    store.notice = null;
    changed();
  };
  const again = () => {
    const todo = said?.again;
    away();
    todo?.();
  };
  replace(
    notice,
    said && told(said, h("div", { class: "row" }, said.again && button("Make it now", again), !said.lost && button("Put away", away, { "data-key": "away" }))),
    store.open && anyProblem(),
  );
}

/** How the figure looks in a view. */
function look() {
  const view = store.view;
  const painting = data("painting");
  const drawn = { fills: null, marked: new Set(), chosen: store.chosen, border: store.border, numbers: true, mode: view === "drawing" ? store.mode : "look" };
  if (view === "shelf") return { ...drawn, marked: new Set(painting?.areas.filter((a) => outOfReach().some((m) => m.id === a.mix)).map((a) => a.id)) };
  if (!painting || view === "drawing") return drawn;
  if (view === "order") return { ...drawn, fills: order.fillsAfter(order.at()), marked: order.worked() };
  return { ...drawn, fills: order.fillsAfter(painting.passes.length), numbers: false };
}

function showBoard() {
  const reading = data("reading");
  const printing = store.open && store.view === "sheets";
  if (!store.open) {
    replace(board, start.board());
    return;
  }
  // Kept, not made anew: the drawing's shapes are many, and hold the focus.
  if (board.firstChild !== tools) board.replaceChildren(tools, frame, caption, below, pages);
  for (const [part, on] of [[tools, !printing && store.view === "drawing" && reading], [frame, !printing], [caption, !printing], [below, !printing], [pages, printing]]) part.hidden = !on;
  frame.style.setProperty("--zoom", String(store.zoom));
  frame.classList.toggle("stale", !printing && stale("reading") && !store.pending.length);
  if (reading) frame.style.setProperty("--sheet", store.view === "drawing" || store.view === "shelf" ? reading.paper ?? "#fff" : "#fff");
  // Areas lie right only on the picture of their own reading: one that is turned or straightened otherwise would be
  // off.
  if (reading && store.pictured === store.stages.reading.sheet) figure.show(reading, store.picture);
  else if (store.picture) figure.unread(store.picture);
  figure.paint(look());
  noted(notedId !== null && area(notedId) ? notedId : null);
  replace(tools, drawing.hands());
  replace(below, store.view === "order" && data("painting") && order.under(), store.view === "run" && run.under());
  replace(pages, printing && sheets.pages());
}

function show() {
  showHead();
  showNotice();
  document.body.dataset.view = store.open ? store.view : "start";
  showBoard();
  replace(beside, store.open ? VIEWS[store.view].beside() : start.beside());
  // After a mistake not again by itself: it would be told without end.
  if (store.view === "sheets" && store.open && !sheets.current() && !store.notice) sheets.make();
}

function follow() {
  const view = location.hash.slice(1);
  if (!(view in VIEWS)) return;
  if (store.view !== view) for (const one of [beside, board, document.documentElement]) one.scrollTop = 0;
  store.view = view;
  // Borders are seen in the drawing's view only.
  if (view !== "drawing") store.border = null;
  changed();
}

addEventListener("hashchange", follow);
addEventListener("keydown", (event) => {
  const typing = /** @type {any} */ (event.target).dataset?.typed; // a field half written has an undo of its own
  if (event.key === "Escape" && !typing) choose([]);
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || typing || !store.open) return;
  event.preventDefault();
  step(event.shiftKey ? "redo" : "undo");
});

subscribe(show);
start.listen();
follow();
anew().catch(tell);
listen();
