// Texts within pictures that stand out less than 4.5 to 1 from what is under them, with the ratio.
() => {
  const light = (v) => (v /= 255, v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  const of = (rgb) => { const [r, g, b] = rgb.match(/[\d.]+/g).map(Number).map(light); return .2126 * r + .7152 * g + .0722 * b; };
  const ratio = (a, b) => (Math.max(a, b) + .05) / (Math.min(a, b) + .05);
  const ground = (e) => {
    for (; e; e = e.parentElement) {
      const c = getComputedStyle(e).backgroundColor;
      if (!/, 0\)$|transparent/.test(c)) return c;
    }
    return "rgb(255, 255, 255)";
  };
  return [...document.querySelectorAll("svg text")].filter((t) => t.getBoundingClientRect().width).map((t) => {
    const box = t.getBoundingClientRect(), style = getComputedStyle(t);
    const x = box.left + box.width / 2, y = box.top + box.height / 2;
    const under = [...t.ownerSVGElement.querySelectorAll("rect, path")].filter((r) => {
      const b = r.getBoundingClientRect();
      return b.left <= x && x <= b.right && b.top <= y && y <= b.bottom && getComputedStyle(r).fill.startsWith("rgb(");
    }).at(-1);
    const halo = style.paintOrder.startsWith("stroke") && style.stroke.startsWith("rgb(") && style.stroke;
    const on = halo || (under ? getComputedStyle(under).fill : ground(t.ownerSVGElement.parentElement));
    return [t.textContent, style.fill, on, ratio(of(style.fill), of(on))];
  }).filter(([, , , r]) => r < 4.5).map((found) => found.join(" "));
}
