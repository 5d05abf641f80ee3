// Nothing on the bench yet: a picture is dropped, pasted or chosen, or an earlier figure opened.

import { button, h } from "./dom.js";
import * as seen from "./picture.js";
import { post, send, tell } from "./server.js";
import { changed, store } from "./store.js";

/** Send a picture; it is seen at once, from this machine's memory. @param {File | null | undefined} picture */
export function take(picture) {
  if (!picture) return;
  seen.own(picture);
  store.notice = null;
  store.sending = true;
  changed();
  send(picture)
    .catch((error) => {
      seen.none();
      tell(error);
    })
    .finally(() => {
      store.sending = false;
      changed();
    });
}

export function board() {
  if (store.sending) {
    return h("div", { class: "start" }, h("img", { class: "sending", src: store.picture, alt: "The drawing that is being taken in" }), h("p", { role: "status" }, "Taking the drawing in …"));
  }
  return h(
    "div",
    { class: "start" },
    h("h2", {}, "Lay a coloured drawing on the bench"),
    h("p", {}, "Drop it here, paste it, or choose a file: PNG, JPEG, TIFF, WebP, GIF, BMP or OpenRaster. It stays on this machine."),
    h(
      "div",
      { class: "field" },
      h("label", { for: "choose", class: "filelabel" }, "Choose a drawing"),
      h("input", { id: "choose", type: "file", accept: "image/*,.ora", "data-key": "choose", onchange: (event) => take(event.target.files[0]) }),
    ),
  );
}

export function beside() {
  return [
    h("h2", {}, "Earlier figures"),
    store.recent.length
      ? h("ul", { class: "recent" }, store.recent.map((r) => h("li", {}, button(r.name, () => open(r.id), { "data-key": `recent-${r.id}` }), h("span", { class: "quiet" }, ` in ${r.id}`))))
      : h("p", { class: "quiet" }, "None in this folder yet."),
    h("p", { class: "quiet path" }, `Figures lie in ${store.folder}, each in a folder of its own.`),
  ];
}

const open = (id) => post("/api/open", { id }).catch(tell);

/** Drop and paste, anywhere on the page while no figure is open. */
export function listen() {
  // Without this the browser would open the picture in the page's place.
  addEventListener("dragover", (event) => event.preventDefault());
  addEventListener("drop", (event) => {
    event.preventDefault();
    if (!store.open) take(event.dataTransfer?.files[0]);
  });
  addEventListener("paste", (event) => {
    const picture = [...(event.clipboardData?.files ?? [])].find((f) => f.type.startsWith("image/"));
    if (picture && !store.open) take(picture);
  });
}
