/**
 * Runs in the page: words of the board that are cut or lie on others. Each
 * text's own rectangles are measured against all that clips it, against the
 * edges of its lane and the page, and against the other texts of its lane or of
 * the head. A hand's breadth of rounding, 1.5 px, is forgiven; overlaps count
 * from a fifth of a line on.
 */
export const cutWords = `(() => {
  const out = new Set();
  const shown = (e) => e.checkVisibility({ visibilityProperty: true }) && !e.closest(".unseen, .skip, .tank .reach, svg");
  const texts = (root) => {
    const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT), list = [];
    for (let n = walk.nextNode(); n; n = walk.nextNode()) {
      const e = n.parentElement;
      if (!n.textContent.trim() || !shown(e)) continue;
      const range = document.createRange();
      range.selectNodeContents(n);
      const rects = [...range.getClientRects()].filter((r) => r.width > 0.5 && r.height > 0.5);
      if (rects.length) list.push({ e, text: n.textContent.trim(), rects });
    }
    return list;
  };
  const says = (t) => (t.e.closest("[data-unit]")?.querySelector("h2")?.textContent ?? "head") + ": " + t.e.className + " " + JSON.stringify(t.text.slice(0, 40));
  for (const part of document.querySelectorAll(".head, .watch, .lane, .turn, .bar")) {
    const all = texts(part), edge = part.getBoundingClientRect();
    for (const t of all) {
      for (const r of t.rects) {
        if (r.right > innerWidth + 1.5 || r.left < -1.5) out.add("beyond the page: " + says(t));
        if (r.right > edge.right + 1.5 || r.left < edge.left - 1.5 || r.bottom > edge.bottom + 3 || r.top < edge.top - 3) out.add("beyond its lane: " + says(t));
        for (let a = t.e; a && a !== part.parentElement; a = a.parentElement) {
          const s = getComputedStyle(a);
          if (s.overflowX === "visible" && s.overflowY === "visible") continue;
          const b = a.getBoundingClientRect();
          if (r.right > b.right + 1.5 || r.left < b.left - 1.5 || r.bottom > b.bottom + r.height * 0.2 || r.top < b.top - r.height * 0.2) out.add("cut by ." + a.className + ": " + says(t));
          if (s.textOverflow === "ellipsis" && a.scrollWidth > a.clientWidth + 1) out.add("dots: " + says(t));
        }
      }
    }
    const flat = all.flatMap((t) => t.rects.map((r) => ({ t, r })));
    flat.forEach((x, i) => flat.slice(i + 1).forEach((y) => {
      if (x.t === y.t) return;
      const w = Math.min(x.r.right, y.r.right) - Math.max(x.r.left, y.r.left), h = Math.min(x.r.bottom, y.r.bottom) - Math.max(x.r.top, y.r.top);
      if (w > 1.5 && h > Math.min(x.r.height, y.r.height) * 0.3) out.add("one on the other: " + says(x.t) + " and " + JSON.stringify(y.t.text.slice(0, 30)));
    }));
  }
  return [...out];
})()`;
