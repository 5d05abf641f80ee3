// The drawing's picture: the maker's own file at once, then as it was read, upright and with its sheet straightened.

import { changed, store } from "./store.js";

/** Which picture is on its way; "" while none is. */
let asked = "";

/** What a reading's picture hangs on. @param {any} reading @param {any} job */
export const sheetOf = (reading, job) => `${reading.kind}-${reading.size}-${job.figure?.drawing}`;

/** Lay a file of this machine under what will be read; one the browser cannot show is asked of the server. @param {Blob} file */
export function own(file) {
  swap(URL.createObjectURL(file), "own");
  const image = new Image();
  image.onerror = () => store.pictured === "own" && fetched("unread");
  image.src = store.picture;
}

/** Ask for the picture of a sheet; what is in sight stays until it is there. @param {string} sheet */
export async function fetched(sheet) {
  if (sheet === asked || sheet === store.pictured) return;
  asked = sheet;
  const answer = await fetch("/api/picture", { credentials: "same-origin" }).catch(() => null);
  const blob = answer?.ok ? await answer.blob() : null;
  // Another was asked for meanwhile: this one comes too late.
  if (asked !== sheet) return;
  asked = "";
  swap(blob ? URL.createObjectURL(blob) : "", sheet); // without its picture the areas alone are shown
  changed();
}

export function none() {
  asked = "";
  swap("", "");
}

function swap(url, sheet) {
  // The browser else keeps every picture in memory until the page is closed.
  if (store.picture) URL.revokeObjectURL(store.picture);
  store.picture = url;
  store.pictured = sheet;
}
