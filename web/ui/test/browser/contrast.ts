/** Runs in the page: each text whose contrast with what lies under it is under what WCAG 2.2 asks, by the styles as they are computed. */
export const contrastReport = `(() => {
  const parse = (c) => { const m = c.match(/[\\d.]+/g).map(Number); return { rgb: m.slice(0, 3), a: m[3] ?? 1 }; };
  const over = (top, under) => top.rgb.map((v, i) => v * top.a + under[i] * (1 - top.a));
  const lum = (rgb) => { const [r, g, b] = rgb.map((v) => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const ground = (e) => {
    const stack = [];
    for (let n = e; n; n = n.parentElement) stack.push(parse(getComputedStyle(n).backgroundColor));
    return stack.reverse().reduce((under, top) => over(top, under), [255, 255, 255]);
  };
  const opacity = (e) => { let o = 1; for (let n = e; n; n = n.parentElement) o *= parseFloat(getComputedStyle(n).opacity); return o; };
  const out = new Set();
  for (const e of document.querySelectorAll("body *")) {
    if (![...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim())) continue;
    const s = getComputedStyle(e), box = e.getBoundingClientRect();
    if (box.width < 2 || s.visibility === "hidden" || e.closest("#axe, script, style, svg, .unseen, :disabled")) continue;
    const under = ground(e);
    const ink = parse(s.color);
    const text = over({ rgb: ink.rgb, a: ink.a * opacity(e) }, under);
    const [a, b] = [lum(text), lum(under)].sort((x, y) => y - x);
    const ratio = (a + 0.05) / (b + 0.05);
    const px = parseFloat(s.fontSize), large = px >= 24 || (px >= 18.66 && Number(s.fontWeight) >= 700);
    if (ratio < (large ? 3 : 4.5)) out.add(ratio.toFixed(2) + " " + e.tagName + "." + e.className + " " + e.textContent.trim().slice(0, 30));
  }
  return [...out];
})()`;
